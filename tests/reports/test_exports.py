"""Exports: right figures, no formulas, the tables of the standard."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.cells import csv_text, safe_cell
from quizgen.base.errors import InputError
from quizgen.forms.roster import Student
from quizgen.grading.keys import Amendment, keys_of
from quizgen.grading.responses import Response
from quizgen.grading.score import Rules, score
from quizgen.reports.oneroster import FILES, Place, oneroster_zip
from quizgen.reports.results_csv import results_csv
from quizgen.store.contents import Graded
from tests.grading import graded

PLACE = Place(school="school-1", klass="class-7", session="term-2", today="2026-03-09")
GIVEN = [
    graded.answered("B", "A", "CABD", "-0.3", student="S-001"),
    graded.answered("A", "", "C B D".replace(" ", ""), "", student="S-002", form="B"),
]


def everything(*changes: Amendment, problem_set: graded.ProblemSet | None = None) -> list[Graded]:
    """Two students' results."""
    keys = keys_of(problem_set or graded.the_set(), changes)
    return [
        Graded(given=g, result=score(g, keys, Rules()), at="2026-03-02T18:00:00Z") for g in GIVEN
    ]


def rows(text: str) -> list[dict[str, str]]:
    """A CSV text by its header."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def tables(content: bytes) -> dict[str, list[dict[str, str]]]:
    """The tables of an archive."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: rows(archive.read(name).decode("utf-8")) for name in archive.namelist()}


@given(st.text())
def test_no_text_begins_like_a_formula(text: str) -> None:
    """OWASP's list (= + - @ tab, line ends), also behind blanks; other text is left alone."""
    cell = safe_cell(text)
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert cell in (text, f"'{text}")


@pytest.mark.parametrize(
    "text", ["=1", "+1", "-1", "@x", "\t=1", "\r=1", "\n=1", " =1", "\u00a0=1", "\uff1d1", "  @x"]
)
def test_each_way_to_begin_a_formula_is_stopped(text: str) -> None:
    """Plain, behind blanks of both sorts, in full width."""
    assert safe_cell(text) == f"'{text}"


@given(st.floats(-1e6, 1e6))
def test_numbers_of_ours_stay_numbers(value: float) -> None:
    """Negative ones too, and without an apostrophe or an exponent."""
    assert float(safe_cell(value)) == pytest.approx(value, abs=1e-6)


def test_a_formula_in_a_name_does_not_run() -> None:
    """In every export a name like =HYPERLINK(...) is text; quotes and line ends survive."""
    evil = '=HYPERLINK("http://x";"mark")\r\n@b'
    people = (Student(id="S-001", name=evil, form="A"), Student(id="S-002", name="Bo", form="B"))
    week = graded.the_set(students=people)
    table = rows(results_csv(week, everything(problem_set=week)))
    assert table[0]["name"] == f"'{evil}"
    # a reader that knows no quotes still meets no cell that begins with the formula
    assert ",=" not in csv_text([["x", "=1+1"]])


def test_the_table_of_results() -> None:
    """A row for each student of the roster; answers and points by question; nobody is left out."""
    table = rows(results_csv(graded.the_set(), everything()))
    assert [row["id"] for row in table] == ["S-001", "S-002", "S-003", "S-004"]
    first = table[0]
    assert (first["points"], first["out_of"], first["share"]) == ("2.5", "4", "0.625")
    assert (first["answer 2"], first["points 2"]) == ("A", "0.5")
    assert (first["answer 4"], first["points 4"]) == ("−0.3 V", "0")
    assert table[2]["points"] == ""


def test_who_left_the_roster_stays_in_the_exports() -> None:
    """Answers that were graded are not lost with a line of the roster."""
    shorter = graded.the_set(students=graded.STUDENTS[1:])
    assert [row["id"] for row in rows(results_csv(shorter, everything()))][-1] == "S-001"
    found = tables(oneroster_zip(shorter, everything(), PLACE))
    assert found["results.csv"][-1]["studentSourcedId"] == "S-001"


def test_the_table_with_decimal_commas() -> None:
    """The same cells; a semicolon between them, a comma in figures and not in texts."""
    text = results_csv(graded.the_set(), everything(), decimal_comma=True)
    table = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";"))
    plain = rows(results_csv(graded.the_set(), everything()))
    assert table[0]["share"] == "0,625"
    assert table[0]["answer 4"] == plain[0]["answer 4"]
    assert [row["id"] for row in table] == [row["id"] for row in plain]


def test_the_archive_has_the_tables_of_the_standard() -> None:
    """Manifest of all files of the CSV binding, ours in bulk, none without rows; no stray table."""
    found = tables(oneroster_zip(graded.the_set(), everything(), PLACE))
    manifest = {row["propertyName"]: row["value"] for row in found["manifest.csv"]}
    assert manifest["manifest.version"] == "1.0"
    assert manifest["oneroster.version"] == "1.2"
    bulk = {name for name in FILES if manifest[f"file.{name}"] == "bulk"}
    assert {f"{name}.csv" for name in bulk} == set(found) - {"manifest.csv"}
    assert {manifest[f"file.{name}"] for name in FILES} == {"bulk", "absent"}
    for name in bulk:
        for row in found[f"{name}.csv"]:
            assert row["sourcedId"]
            assert row["status"] == row["dateLastModified"] == ""


def test_results_refer_to_their_line_item_and_students() -> None:
    """Points, status, day; who handed nothing in is missing, not 0."""
    found = tables(oneroster_zip(graded.the_set(), everything(), PLACE))
    (line,) = found["lineItems.csv"]
    assert (line["resultValueMin"], line["resultValueMax"]) == ("0", "4")
    assert line["schoolSourcedId"] == "school-1"
    assert line["academicSessionSourcedId"] == "term-2"
    assert line["categorySourcedId"] == found["categories.csv"][0]["sourcedId"]
    results = found["results.csv"]
    assert {r["lineItemSourcedId"] for r in results} == {line["sourcedId"]}
    assert [(r["studentSourcedId"], r["scoreStatus"], r["score"], r["missing"]) for r in results][
        1:3
    ] == [("S-002", "fully graded", "0.5", "false"), ("S-003", "not submitted", "", "true")]
    assert results[0]["scoreDate"] == "2026-03-02"
    objectives = found["resultLearningObjectiveIds.csv"]
    assert {o["resultSourcedId"] for o in objectives} <= {r["sourcedId"] for r in results}
    assert (objectives[0]["learningObjectiveId"], objectives[0]["score"]) == ("lamps", "62.5")


def test_what_is_undecided_is_partially_graded() -> None:
    """A doubtful mark keeps a result from being final."""
    doubt = Response(item=1, state="doubtful", doubt="faint")
    sheet = GIVEN[0]
    unclear = type(sheet)(**{**vars(sheet), "responses": (doubt, *sheet.responses[1:])})
    keys = keys_of(graded.the_set())
    found = tables(
        oneroster_zip(
            graded.the_set(), [Graded(given=unclear, result=score(unclear, keys, Rules()))], PLACE
        )
    )
    first = found["results.csv"][0]
    assert (first["scoreStatus"], first["inProgress"]) == ("partially graded", "true")


def test_forms_of_unequal_worth_go_out_in_per_cent() -> None:
    """A question withdrawn in form A alone: 1.5 of 3 is 50, and the line item ends at 100."""
    gone = Amendment(form="A", number=3, change="withdraw", why="x", who="y")
    found = tables(oneroster_zip(graded.the_set(), everything(gone), PLACE))
    assert found["lineItems.csv"][0]["resultValueMax"] == "100"
    assert found["results.csv"][0]["score"] == "50"


def test_the_same_results_give_the_same_bytes() -> None:
    """Nothing of the clock gets in."""
    first, second = (oneroster_zip(graded.the_set(), everything(), PLACE) for _ in range(2))
    assert first == second


def test_an_id_that_is_a_formula_is_refused() -> None:
    """An altered id would belong to nobody."""
    people = (Student(id="=1", name="Bo", form="A"),)
    with pytest.raises(InputError, match="begins like a formula"):
        oneroster_zip(graded.the_set(students=people), [], PLACE)
