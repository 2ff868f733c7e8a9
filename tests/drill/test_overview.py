"""How practice stands, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from quizgen.drill.overview import CUT, WINDOW, Overview, overview, overview_page
from quizgen.drill.page import Style, lines_of
from quizgen.drill.record import Line
from quizgen.drill.schedule import Skill, cards_of

NOW = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
LAMPS, FUSES = Skill("lamps", "read"), Skill("fuses", "predict")


def lines(skill: Skill, results: Sequence[bool | None], hints: int = 0) -> list[Line]:
    """One line for each result, a minute apart, the last one now; None is skipped."""
    return [
        Line(
            number=n, at=NOW - timedelta(minutes=len(results) - n), skill=skill, kind="k",
            circuit="c", item="i", right=right, hints=hints,
        )
        for n, right in enumerate(results)
    ]  # fmt: skip


def view(*parts: list[Line], now: datetime = NOW) -> Overview:
    """The overview after all these lines."""
    every = sorted((line for part in parts for line in part), key=lambda line: line.at)
    return overview(every, cards_of(a for line in every if (a := line.answered)), now)


@pytest.mark.parametrize(
    ("right", "wrong", "verdict"),
    [(8, 0, "unsure"), (9, 0, "strong"), (0, 1, "unsure"), (0, 2, "weak"), (14, 6, "unsure"),
     (19, 1, "strong"), (6, 9, "weak")],
)  # fmt: skip
def test_the_whole_range_decides(right: int, wrong: int, verdict: str) -> None:
    """Wilson 95 %, by scipy: 8/8 from .676, 9/9 from .701, 0/1 to .793, 0/2 to .658,
    14/20 .481 to .855, 19/20 from .764, 6/15 to .643; strong and weak are told at .7."""
    assert CUT == 0.7
    (topic,) = view(lines(LAMPS, [False] * wrong + [True] * right)).topics
    assert (topic.right, topic.total) == (right, right + wrong)
    assert topic.verdict == verdict


def test_right_with_a_hint_does_not_count_as_right() -> None:
    """Nor does a skipped question count at all."""
    found = view(lines(LAMPS, [True] * 9, hints=1), lines(FUSES, [None, True]))
    assert [(t.name, t.right, t.total) for t in found.topics] == [("lamps", 0, 9), ("fuses", 1, 1)]
    assert (found.answered, found.right, found.skipped) == (10, 1, 1)


def test_old_mistakes_are_forgotten() -> None:
    """Only the last answers to each skill count."""
    (topic,) = view(lines(LAMPS, [False] * 30 + [True] * WINDOW)).topics
    assert (topic.right, topic.total) == (WINDOW, WINDOW)


def test_what_is_due_and_what_comes_next() -> None:
    """A minute after a mistake the skill is due; before that its time is told."""
    early = view(lines(LAMPS, [False]), now=NOW - timedelta(seconds=30))
    assert early.due == ()
    assert early.next is not None
    assert early.next[1] == LAMPS
    assert view(lines(LAMPS, [False]), now=NOW + timedelta(minutes=1)).due == (LAMPS,)


@pytest.mark.parametrize("by_skill", [False, True])
def test_the_page_fits_and_says_the_weakest_first(by_skill: bool) -> None:
    """80 columns; each name with its count, range and verdict in words."""
    found = view(lines(LAMPS, [True] * 9), lines(FUSES, [False, False]))
    said = lines_of(overview_page(found, by_skill), Style(80))
    assert max(map(len, said)) <= 80
    rows = [line for line in said if " of " in line and "%" in line and "to" in line][:2]
    assert [row.split()[0].rstrip(",") for row in rows] == ["fuses", "lamps"]
    assert "needs practice" in " ".join(said)
    assert "strong" in rows[1]
