"""From items to pages: the student's half and the instructor's half are kept apart."""

from __future__ import annotations

import dataclasses
import random
from dataclasses import dataclass

import pytest

from quizgen.items.item import (
    Item,
    Number,
    Observed,
    Option,
    Origin,
    Proof,
    Reading,
    Refutation,
    WrongNumber,
)
from quizgen.publish.from_items import answer_key_of, workbook_of
from quizgen.publish.html import key_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from tests.publish.samples import HEADING, OPTIONS, QUESTION, STEM, drawing

READ = (("K1 terminal 87", 12.2), ("M1 terminal 2", 11.9))


@dataclass(frozen=True)
class Form:
    """A form with some items."""

    code: str
    items: tuple[Item, ...]


def item(number: int = 1, key: int = 1) -> Item:
    """An item whose option at `key` is the key; hidden texts carry the word "hidden"."""
    return Item(
        id=f"hidden-id-{number}",
        kind="hidden-kind",
        level="interpret",
        topics=("hidden-topic",),
        family="hidden-family",
        key_kind="hidden-kind",
        machine="Orchard sprayer, 12 V",
        stem=STEM,
        question=QUESTION,
        readings=tuple(
            Reading(
                instrument="voltmeter", red_node="hidden-node", black_node="hidden-node",
                red=red, black="chassis", state="ignition on", shown=f"{volts} V", volts=volts,
            )
            for red, volts in READ
        ),
        options=tuple(
            Option(
                claim=f"hidden-claim-{n}", text=text, is_key=n == key,
                rationale=(f"hidden reason {n}",), misconception="hidden belief" if n else "",
                refuted_by=None if n == key else refutation(n),
            )
            for n, text in enumerate(OPTIONS)
        ),
        origin=Origin(
            template="hidden-template", parameters=(), positions=(), fault="hidden-fault"
        ),
        proof=Proof(
            claims=61, faults=140, margin_volts=0.32, refutations=(),
            observed=(Observed(part="M1", level="off"),), same_part=("hidden-twin",),
        ),
    )  # fmt: skip


def refutation(n: int) -> Refutation:
    """Ruled out by an observation (option 0), by one value (2), by a range (3 and others)."""
    if n == 0:
        return Refutation(claim="", reading=-1, low=0, high=0, found="K1 clicks", instead="silent")
    return Refutation(
        claim="", reading=n % 2, low=-0.04, high=0.0 if n == 2 else 3.21, found="12.2 V"
    )


def test_a_workbook_shows_no_word_of_the_instructors_half() -> None:
    """No item id, reason, claim, belief, fault or node reaches the student's page or its file."""
    book = workbook_of(HEADING, Form("A", (item(),)), lambda _: drawing())
    html = workbook_html(book, PageOptions())
    assert "hidden" not in html
    assert b"hidden" not in pdf_bytes(html)
    assert "hidden" in key_html(answer_key_of(HEADING, [Form("A", (item(),))]), PageOptions())


def test_moving_the_key_does_not_change_the_workbook() -> None:
    """The workbook's bytes are the same whichever option is the key."""
    printed = {
        pdf_bytes(
            workbook_html(
                workbook_of(HEADING, Form("A", (item(key=k),)), lambda _: None), PageOptions()
            )
        )
        for k in range(4)
    }
    assert len(printed) == 1


@pytest.mark.parametrize("seed", range(5))
def test_key_and_workbook_agree_on_letters(seed: int) -> None:
    """The key's letter is the letter under which the workbook prints the right option."""
    rng = random.Random(seed)
    keys = [rng.randrange(4) for _ in range(6)]
    form = Form("B", tuple(item(n, key) for n, key in enumerate(keys)))
    book = workbook_of(HEADING, form, lambda _: None)
    key = answer_key_of(HEADING, [form])
    for problem, answer, right in zip(book.problems, key.forms[0].answers, keys, strict=True):
        assert problem.number == answer.number
        shown = {choice.letter: choice.text for choice in problem.choices}
        assert shown[answer.key] == OPTIONS[right]
        assert [c.letter for c in answer.choices if c.is_key] == [answer.key]


def test_the_figures_name_place_finding_and_what_would_be() -> None:
    """Observation, single value and range each read as a technician would write them."""
    answer = answer_key_of(HEADING, [Form("A", (item(),))]).forms[0].answers[0]
    assert [choice.figures for choice in answer.choices] == [
        "Seen or heard: K1 clicks; would be: silent.",
        "Fits every reading.",
        "K1 terminal 87: found 12.2 V, would be 0.0 V.",
        "M1 terminal 2: found 12.2 V, would be 0.0 to 3.2 V.",
    ]
    assert "61 possible causes in 140 variants" in answer.proof
    assert "1 more would fit" in answer.proof


def test_a_known_misconception_is_called_by_its_name() -> None:
    """The key prints what the wording file calls a misconception, not its short name."""
    wrong = dataclasses.replace(item().options[0], misconception="load-blamed")
    shown = dataclasses.replace(item(), options=(wrong, *item().options[1:]))
    answer = answer_key_of(HEADING, [Form("A", (shown,))]).forms[0].answers[0]
    assert answer.choices[0].misconception == "blames the load"


def test_an_item_without_proof_partner_needs_no_figure() -> None:
    """A form whose items have no drawing prints without one."""
    bare = dataclasses.replace(item(), readings=())
    book = workbook_of(HEADING, Form("A", (bare,)), lambda _: None)
    assert book.problems[0].figure is None
    assert book.problems[0].readings is None
    assert pdf_bytes(workbook_html(book, PageOptions()))[:4] == b"%PDF"


# --- other ways to answer ------------------------------------------------------------------


def several() -> Item:
    """Options 0 and 2 are right."""
    made = item(key=0)
    options = tuple(dataclasses.replace(o, is_key=n in (0, 2)) for n, o in enumerate(made.options))
    return dataclasses.replace(made, response="several", options=options)


def ordering() -> Item:
    """The right order is the third, the first, the fourth, the second."""
    return dataclasses.replace(
        item(), response="order", order=(2, 0, 3, 1), solution=("The hidden way.",)
    )


def numerical() -> Item:
    """11.9 V, and 0.1 either way."""
    number = Number(
        quantity="hidden-quantity", value=11.9, low=11.8, high=12.0, unit="V", decimals=1,
        wrong=(WrongNumber(value=-0.4, misconception="hidden idea", rationale=("Hidden slip.",)),),
    )  # fmt: skip
    return dataclasses.replace(
        item(), response="number", options=(), number=number, solution=("The hidden way.",)
    )


def test_each_way_to_answer_has_its_key() -> None:
    """Letters for several, letters in order, a figure with what is taken for right."""
    form = Form("A", (several(), ordering(), numerical()))
    answers = answer_key_of(HEADING, [form]).forms[0].answers
    assert [answer.key for answer in answers] == ["A C", "C A D B", "11.9 V"]
    assert answers[2].accepted == "11.8 to 12.0 V"
    assert [m.figure for m in answers[2].mistakes] == ["−0.4 V"]
    html = key_html(answer_key_of(HEADING, [form]), PageOptions())
    assert "The hidden way." in html
    assert "Hidden slip." in html


def test_a_workbook_says_how_to_answer_and_hides_the_rest() -> None:
    """Squares for several, boxes for an order, a line with the unit for a figure; no key."""
    form = Form("A", (item(), several(), ordering(), numerical()))
    html = workbook_html(workbook_of(HEADING, form, lambda _: None), PageOptions())
    assert "hidden" not in html.lower()
    assert "11.9 V" not in html.split("Answer:")[1]
    assert html.count('class="box"') == len(OPTIONS)
    assert html.count('class="blank"') == len(OPTIONS)
    assert html.count('class="blank wide"') == 1
    for words in ("mark it.", "mark each one", "into the boxes", "on the line"):
        assert words in html
