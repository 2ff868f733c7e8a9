"""Marks of several rows to one answer: what makes none goes to a person."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.forms.sheet import MINUS
from quizgen.grading.answer_text import answer_text
from quizgen.grading.marks import RowMarks
from quizgen.grading.sheet_answers import response_of
from tests.grading import graded


def rows(*answers: str, doubts: dict[int, str] | None = None) -> list[RowMarks]:
    """Rows whose filled circles are the letters of each text; `doubts` by row."""
    said = doubts or {}
    return [
        RowMarks(item=1, place=n, marks=(), answer=tuple(text), doubt=said.get(n, ""))
        for n, text in enumerate(answers)
    ]


def test_one_letter() -> None:
    """Filled, empty, and in doubt with what it most likely is."""
    assert response_of(rows("B"), graded.one(), 1).value == ("B",)
    assert response_of(rows(""), graded.one(), 1).state == "blank"
    doubtful = response_of(rows("B", doubts={0: "C unclear"}), graded.one(), 1)
    assert (doubtful.state, doubtful.value, doubtful.doubt) == ("doubtful", ("B",), "C unclear")
    two = response_of(rows("BC", doubts={0: "B and C are filled"}), graded.one(), 1)
    assert (two.state, two.value) == ("doubtful", "")


def test_several_letters() -> None:
    """All that are filled, sorted."""
    assert response_of(rows("CA"), graded.several(), 1).value == ("A", "C")


@pytest.mark.parametrize(
    ("letters", "state", "doubt"),
    [
        ("CABD", "answered", ""),
        ("....", "blank", ""),
        ("CA.D", "doubtful", "no letter at 3"),
        ("CACD", "doubtful", "C is there twice"),
    ],
)
def test_an_order_is_whole_or_in_doubt(letters: str, state: str, doubt: str) -> None:
    """A gap or a letter at two places is nothing to score unseen."""
    given_rows = rows(*(letter.strip(".") for letter in letters))
    response = response_of(given_rows, graded.order(), 1)
    assert response.state == state
    assert doubt in response.doubt


@pytest.mark.parametrize(
    ("columns", "value", "state"),
    [
        ("..11.9", "11.9", "answered"),
        ("-..0.4", "-0.4", "answered"),
        (".012.0", "12", "answered"),
        ("......", "", "blank"),
        (".1.1.9", "", "doubtful"),  # a gap between digits
        ("..11..", "", "doubtful"),  # no decimal
        ("-.....", "", "doubtful"),  # a sign alone
        (".....5", "", "doubtful"),  # nothing in front of the point
    ],
)
def test_a_figure_is_whole_or_in_doubt(columns: str, value: str, state: str) -> None:
    """Empty columns in front are usual, others are not; sign, 3 digits, point, 1 digit."""
    cells = [columns[0].replace("-", MINUS), *columns[1:4], columns[5]]
    made = rows(*(cell.strip(".") for cell in cells))
    response = response_of(made, graded.number(), 1)
    assert (response.value, response.state) == (value, state)


def test_a_doubtful_digit_says_which_row() -> None:
    """Two digits filled in a column."""
    made = rows("", "", "1", "12", "9", doubts={3: "1 and 2 are filled"})
    response = response_of(made, graded.number(), 1)
    assert response.state == "doubtful"
    assert response.doubt == "row 4: 1 and 2 are filled"


@given(st.integers(0, 9999), st.booleans())
def test_every_figure_that_can_be_filled_in_comes_back(tenths: int, negative: bool) -> None:
    """Digits of any number of the range, with leading circles left empty."""
    value = tenths / 10
    whole, decimal = f"{value:.1f}".split(".")
    filled = [*whole.rjust(3), decimal]
    made = rows(MINUS if negative else "", *(cell.strip() for cell in filled))
    response = response_of(made, graded.number(), 1)
    assert isinstance(response.value, str)
    assert float(response.value) == (-value if negative else value)


def test_the_likely_order_keeps_its_gap() -> None:
    """In doubt for another reason, it is shown as somebody would type it."""
    made = rows("C", "A", "", "D", doubts={2: "B unclear"})
    assert response_of(made, graded.order(), 1).doubt == "row 3: B unclear"
    whole = rows("C", "A", "B", "D", doubts={2: "marks beside A"})
    assert answer_text(response_of(whole, graded.order(), 1)) == "C A B D"
