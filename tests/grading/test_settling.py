"""Pages and decisions together: who answered what, and what waits for a person."""

from __future__ import annotations

import random

import pytest

from quizgen.base.errors import InputError
from quizgen.grading.keys import keys_of
from quizgen.grading.pass_mark import decisive_first
from quizgen.grading.score import Rules
from quizgen.grading.settling import Doubt, check_verdict, settle
from quizgen.grading.sheet_reading import SheetReading
from tests.grading.graded import the_set
from tests.grading.sheets import answers, reading

SET = the_set()


def only_doubt(*pages: SheetReading, decisions: dict[str, str] | None = None) -> Doubt:
    """The one thing that is open."""
    (doubt,) = settle(pages, decisions or {}, SET).doubts
    return doubt


def test_a_clear_sheet_needs_nobody() -> None:
    """Student, form and answers as read, nothing open."""
    settled = settle([reading("p1")], {}, SET)
    assert settled.doubts == ()
    (given,) = settled.students
    assert (given.student, given.form) == ("S-001", "A")
    assert [r.value for r in given.responses] == [("B",), ("A", "C"), tuple("CABD"), "11.9"]


@pytest.mark.parametrize(
    ("page", "reason"),
    [
        (reading("p", problem="one corner marker cannot be seen"), "corner marker"),
        (reading("p", code="", forms="AB"), "QR code cannot be read"),
        (reading("p", code="https://example.org"), "not one of an answer sheet"),
        (reading("p", token="ffff0000", forms=""), "another set"),
        (reading("p", form="Z", forms=""), "no form Z"),
        (reading("p", student=""), "without a number"),
        (reading("p", student="S-999"), "no student S-999"),
        (reading("p", student="S-002"), "has form B by the roster"),
        (reading("p", responses=answers("B", "", "", "")), "3 of 4 questions are blank"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_page_waits_for_a_person(page: SheetReading, reason: str) -> None:
    """Nothing is scored, one question is asked, and setting the page aside answers it."""
    settled = settle([page], {}, SET)
    assert settled.students == ()
    (doubt,) = settled.doubts
    assert reason in doubt.reason
    aside = settle([page], {doubt.subject: check_verdict(doubt, "ignore", SET)}, SET)
    assert (aside.students, aside.doubts) == ((), ())


def test_a_person_says_whose_sheet_it_is() -> None:
    """Student and form; only forms whose circles stand like this are offered."""
    page = reading("p", code="", forms="B")
    doubt = only_doubt(page)
    assert doubt.choices[0] == "S-002 B"  # whose form it is by the roster comes first
    assert "S-001 A" not in doubt.choices
    with pytest.raises(InputError, match="none of"):
        check_verdict(doubt, "S-001 A", SET)
    settled = settle([page], {doubt.subject: check_verdict(doubt, "s-002", SET)}, SET)
    assert [(g.student, g.form) for g in settled.students] == [("S-002", "B")]


def test_two_sheets_of_a_student() -> None:
    """Which one counts is asked; neither is scored before; the same answers twice are no matter."""
    first, second = reading("p1"), reading("p2", responses=answers("C", "AC", "CABD", "11.9"))
    doubt = only_doubt(first, second)
    assert settle([first, second], {}, SET).students == ()
    assert doubt.figures == "they differ at question 1"
    chosen = settle([first, second], {doubt.subject: check_verdict(doubt, "2", SET)}, SET)
    assert chosen.students[0].responses[0].value == ("C",)
    neither = settle([first, second], {doubt.subject: "none"}, SET)
    assert (neither.students, neither.doubts) == ((), ())
    twice = settle([first, reading("p3", file="again.pdf")], {}, SET)
    assert len(twice.students) == 1
    assert "same answers twice" in twice.remarks[0]
    third = reading("p4", responses=answers("A", "", "CABD", "11.9"))
    assert only_doubt(first, second, third, decisions={doubt.subject: "p2"}).ask == "twice"


def test_a_doubtful_answer_is_pending_until_it_is_decided() -> None:
    """It has its likely value; the decision is an answer as typed, checked against the question."""
    page = reading("p", responses=answers("B?", "AC", "CABD", "11.9"))
    doubt = only_doubt(page)
    assert (doubt.item, doubt.candidate, doubt.reason) == (1, "B", "C unclear")
    assert settle([page], {}, SET).students[0].responses[0].state == "doubtful"
    for typed, value, state in (("c", ("C",), "answered"), ("-", "", "blank")):
        verdict = check_verdict(doubt, typed, SET)
        settled = settle([page], {doubt.subject: verdict}, SET)
        response = settled.students[0].responses[0]
        assert (response.value, response.state, settled.doubts) == (value, state, ())
    for wrong in ("E", "A B", "1", "ignore"):
        with pytest.raises(InputError):
            check_verdict(doubt, wrong, SET)


def test_a_decision_holds_when_the_page_comes_again_elsewhere() -> None:
    """Another file, another place in it: the page is the same."""
    page = reading("p", responses=answers("B?", "AC", "CABD", "11.9"))
    decisions = {only_doubt(page).subject: "C"}
    again = reading("p", responses=page.forms[0].responses, file="other.pdf", place=7)
    assert settle([again], decisions, SET).students[0].responses[0].value == ("C",)


def test_the_order_of_pages_changes_nothing() -> None:
    """Readings shuffled give the same answers and questions."""
    pages = [
        reading("p1"), reading("p2", student="S-003", responses=answers("B?", "A", "CABD", "1")),
        reading("p3", student="S-002", form="B", place=3), reading("p4", code="", forms="AB"),
        reading("p5", responses=answers("A", "A", "CABD", "2"), place=9),
        reading("p6", student="", place=5), reading("p7", problem="too blurred", place=6),
    ]  # fmt: skip
    expected = settle(pages, {}, SET)
    assert len(expected.doubts) == 5
    for seed in range(5):
        random.Random(seed).shuffle(pages)
        assert settle(pages, {}, SET) == expected


def test_what_decides_between_pass_and_fail_comes_first() -> None:
    """S-003 has 2 of 4 points and one answer open: 60 % hang on it. S-001 has passed already."""
    safe = reading("p1", responses=answers("B", "AC", "CABD", "0?"))
    close = reading("p2", student="S-003", responses=answers("B?", "AC", "CABD", "50"), place=2)
    page = reading("p3", problem="too blurred", place=3)
    settled = settle([safe, close, page], {}, SET)
    keys = keys_of(SET)
    doubts = decisive_first(settled.doubts, settled.students, keys, Rules(), 0.6)
    assert [(d.student, d.decides) for d in doubts] == [
        ("", False), ("S-003", True), ("S-001", False)
    ]  # fmt: skip
