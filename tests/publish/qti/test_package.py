"""QTI packages: complete, well-formed, and read back into the same questions, keys and reasons."""

from __future__ import annotations

import dataclasses
import itertools
from pathlib import Path
from xml.etree import ElementTree

import pytest

from quizgen.cli.main import run
from quizgen.forms.problem_set import Form, ProblemSet, write_problem_set
from quizgen.items.item import Item
from quizgen.publish.qti import DIALECTS, package_of
from quizgen.publish.view import Figure
from tests.publish.qti.reader import Package, Question, all_of, attribute, read, text
from tests.publish.samples import drawing
from tests.publish.test_from_items import item, numerical, ordering, several
from tests.publish.test_leaks import problem_set

ITEMS = (item(), several(), ordering(), numerical())
FIGURES = {ITEMS[0].id: drawing()}


def made(*forms: Form) -> ProblemSet:
    """A set of these forms."""
    return dataclasses.replace(problem_set(0), forms=forms)


def draw(one: Item) -> Figure | None:
    """Every item but the last has the same figure."""
    return None if one.number else drawing()


@pytest.fixture(params=list(DIALECTS))
def package(request: pytest.FixtureRequest) -> Package:
    """Two forms with all ways to answer, in each version of the standard."""
    forms = (Form(code="A", items=ITEMS), Form(code="B", items=ITEMS[::-1]))
    return read(package_of(made(*forms), draw, DIALECTS[request.param]))


def test_the_manifest_lists_each_file_once_and_every_reference_leads_somewhere(
    package: Package,
) -> None:
    """Identifiers are unique over the package; hrefs and dependencies resolve."""
    identifiers = [attribute(e, "identifier") for e in all_of(package.manifest, "resource")]
    assert len(set(identifiers)) == len(identifiers)
    listed = [attribute(e, "href") for e in all_of(package.manifest, "file")]
    assert sorted(listed) == sorted(set(package.files) - {"imsmanifest.xml"})
    needed = [attribute(e, "identifierref") for e in all_of(package.manifest, "dependency")]
    assert needed
    assert set(needed) <= set(identifiers)
    assert all(len(resource) for resource in package.resources.values())


def test_pictures_are_where_the_items_look_for_them(package: Package) -> None:
    """Relative to the item's own file; each has its text alternative."""
    for path, data in package.files.items():
        if not path.startswith("items/"):
            continue
        for picture in all_of(ElementTree.fromstring(data), "img"):
            assert picture.get("src", "").removeprefix("../") in package.files
            assert picture.get("alt") == drawing().alternative
    assert sum(path.endswith(".svg") for path in package.files) == 1  # shared by all


def test_a_reader_gets_the_same_questions(package: Package) -> None:
    """Stem, readings, question and options, in the order of each form."""
    for form, items in (("A", ITEMS), ("B", ITEMS[::-1])):
        for found, one in zip(package.test(form), items, strict=True):
            shown = text(found.body)
            assert " ".join(one.stem) in shown
            assert one.question in shown
            assert all(reading.shown in shown for reading in one.readings)
            assert list(found.choices.values()) == [option.text for option in one.options]


def test_a_reader_gets_the_same_keys(package: Package) -> None:
    """One letter, several, an order, a number."""
    keys = [found.keys for found in package.test("A")]
    assert keys == [["B"], ["A", "C"], ["C", "A", "D", "B"], ["11.9"]]


def test_each_option_is_answered_by_its_own_rationale(package: Package) -> None:
    """Whatever is chosen, what is said is why that option is right or wrong."""
    one, many, order, number = package.test("A")
    for letter, option in zip("ABCD", ITEMS[0].options, strict=False):
        score, (said,) = one.outcome(letter)
        assert score == float(option.is_key)
        assert all(reason in said for reason in option.rationale)
    assert len(many.outcome(["A", "D"])[1]) == 2
    assert order.outcome(list("CADB"))[1] == ["The hidden way."]
    assert any("Hidden slip." in said for said in number.outcome("-0.4")[1])


def test_scores_follow_the_published_rules(package: Package) -> None:
    """Right minus wrong over the number of right ones; a perfect order; the accepted range."""
    _, many, order, number = package.test("A")
    for count in range(5):
        for chosen in itertools.combinations("ABCD", count):
            hits = len({"A", "C"} & set(chosen))
            due = max((hits - (count - hits)) / 2, 0.0)
            assert many.outcome(list(chosen))[0] == pytest.approx(due, abs=1e-5)
    right = [o for o in itertools.permutations("ABCD") if order.outcome(list(o))[0] == 1.0]
    assert right == [tuple("CADB")]
    given = ("11.7", "11.8", "11.9", "12.0", "12.1", "-11.9")
    assert [number.outcome(n)[0] for n in given] == [0.0, 1.0, 1.0, 1.0, 0.0, 0.0]


def test_version_3_has_its_own_names_and_version_2_none_of_them() -> None:
    """Prefix and hyphens in 3.0, camel case in 2.1; HTML keeps its names in both."""
    for version, dialect in DIALECTS.items():
        files = read(package_of(made(Form(code="A", items=ITEMS)), draw, dialect)).files
        names = {
            e.tag.rpartition("}")[2]
            for path, data in files.items()
            if path.startswith(("items/", "test-"))
            for e in ElementTree.fromstring(data).iter()
        }
        qti = names - {"p", "img", "table", "thead", "tbody", "tr", "th", "td", "div"}
        assert all(name.startswith("qti-") for name in qti) == (version == "3.0")
        assert all(name == name.lower() for name in names) == (version == "3.0")


def test_the_same_set_gives_the_same_bytes() -> None:
    """Nothing of the moment is in the package."""
    forms = made(Form(code="A", items=ITEMS))
    first, second = (package_of(forms, draw, DIALECTS["2.1"]) for _ in range(2))
    assert first == second


def test_letters_that_xml_cannot_hold_do_no_harm() -> None:
    """Control characters go; <, &, quotes and other scripts stay."""
    stem = ('A \x00<b>\x1b & "c" שרה — 𝄞',)
    odd = dataclasses.replace(item(), stem=stem)
    found = read(package_of(made(Form(code="A", items=(odd,))), draw, DIALECTS["3.0"]))
    assert 'A <b> & "c" שרה — 𝄞' in text(found.test("A")[0].body)


XSD = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" elementFormDefault="qualified"
 targetNamespace="http://www.imsglobal.org/xsd/imsqti_v2p1">
 <xs:element name="assessmentTest"><xs:complexType><xs:sequence>
  <xs:any maxOccurs="unbounded" processContents="skip"/></xs:sequence>
  <xs:anyAttribute processContents="skip"/></xs:complexType></xs:element>
 {item}
</xs:schema>"""
ITEM_RULE = """<xs:element name="assessmentItem"><xs:complexType><xs:sequence>
  <xs:any maxOccurs="unbounded" processContents="skip"/></xs:sequence>
  <xs:anyAttribute processContents="skip"/></xs:complexType></xs:element>"""


def test_a_package_is_held_against_the_schema_of_the_user(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Fine with rules that it keeps; a line for each breach and exit code 3 otherwise."""
    named = dataclasses.replace(problem_set(0), scenario="brindlemere")
    path = write_problem_set(named, tmp_path / "s.json")
    schema = tmp_path / "rules.xsd"
    for rule, code in ((ITEM_RULE, 0), ("", 3)):
        schema.write_text(XSD.format(item=rule))
        assert run(["set", "export", str(path), "--schema", str(schema)]) == code
    assert "items/item-A-01.xml, line 2: " in capsys.readouterr().out
    schema.write_text("<no schema")
    assert run(["set", "export", str(path), "--schema", str(schema)]) == 2
    assert "is no XML schema that can be used" in capsys.readouterr().err


def test_a_question_of_the_reader_is_really_run() -> None:
    """The reader fails on a rule that it does not know, so that none is passed over."""
    rules = '<setOutcomeValue identifier="SCORE"><guess/></setOutcomeValue>'
    odd = f"<a><responseProcessing>{rules}</responseProcessing></a>"
    with pytest.raises(KeyError):
        Question(ElementTree.fromstring(odd)).outcome("A")
