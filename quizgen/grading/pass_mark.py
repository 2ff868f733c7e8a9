"""Doubts that make the difference between passing and failing come first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from quizgen.grading.keys import Keys
from quizgen.grading.responses import StudentResponses
from quizgen.grading.score import Result, Rules, score
from quizgen.grading.settling import Doubt


def decisive_first(
    doubts: Iterable[Doubt], students: Iterable[StudentResponses], keys: Keys, rules: Rules,
    pass_share: float,
) -> tuple[Doubt, ...]:  # fmt: skip
    """The doubts, those that can flip pass and fail marked and in front, the others as they came.

    `pass_share` is the share of all points that passes.
    """
    open_at = {g.student for g in students if _is_open(score(g, keys, rules), pass_share)}
    marked = [
        replace(doubt, decides=doubt.ask == "answer" and doubt.student in open_at)
        for doubt in doubts
    ]
    return tuple(sorted(marked, key=_rank))


def _rank(doubt: Doubt) -> int:
    """Whole pages first: they may bring doubts of their own."""
    return 0 if doubt.ask != "answer" else 1 if doubt.decides else 2


def _is_open(result: Result, pass_share: float) -> bool:
    """Whether the answers in doubt decide: fails without them, would pass with all of them."""
    least = pass_share * result.out_of
    return result.points < least <= result.points + result.pending
