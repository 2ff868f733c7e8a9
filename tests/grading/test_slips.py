"""A wrong answer is taken apart into what can be talked about."""

from __future__ import annotations

import pytest

from quizgen.grading.keys import Amendment, keys_of
from quizgen.grading.responses import Response
from quizgen.grading.slips import could_show, slips_of
from tests.grading import graded

SET = graded.the_set()


def said(number: int, value: str, *changes: Amendment) -> list[tuple[str, str, bool]]:
    """Letter, mistaken idea, missed: of an answer to form A."""
    letters = tuple(value) if value.isalpha() else value
    response = Response(item=number, value=letters, state="answered" if value else "blank")
    item, key = SET.forms[0].items[number - 1], keys_of(SET, changes)["A", number]
    return [(s.letter, s.misconception, s.missed) for s in slips_of(item, key, response)]


@pytest.mark.parametrize(
    ("number", "value", "expected"),
    [
        (1, "B", []),
        (1, "A", [("A", "stops-early", False)]),
        (1, "", []),
        (2, "AC", []),
        (2, "AB", [("B", "branches-mixed-up", False), ("C", "", True)]),
        (2, "D", [("D", "dead-only", False), ("A", "", True), ("C", "", True)]),
        (3, "DBAC", []),
        (4, "11.9", []),
        (4, "0", [("", "ground-side-forgotten", False)]),
        (4, "0.05", [("", "ground-side-forgotten", False)]),
        (4, "5", []),
    ],
)
def test_what_is_wrong_part_by_part(
    number: int, value: str, expected: list[tuple[str, str, bool]]
) -> None:
    """Wrong ones chosen, right ones left out, known wrong figures; nothing where nothing is."""
    assert said(number, value) == expected


def test_what_was_made_right_is_no_slip() -> None:
    """A changed key also changes what is explained; a withdrawn question explains nothing."""
    made_right = Amendment(form="A", number=1, change="key", texts=("A", "B"), why="x", who="y")
    assert said(1, "A", made_right) == []
    item = SET.forms[0].items[0]
    assert could_show(item, keys_of(SET)["A", 1]) == {"stops-early", "load-blamed"}
    assert could_show(item, keys_of(SET, [made_right])["A", 1]) == {"load-blamed"}
    gone = Amendment(form="A", number=1, change="withdraw", why="x", who="y")
    assert said(1, "A", gone) == []
    assert could_show(item, keys_of(SET, [gone])["A", 1]) == frozenset()
    assert could_show(graded.number(), keys_of(SET)["A", 4]) == {"ground-side-forgotten"}
