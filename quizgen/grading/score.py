"""Points for answers.

Every question is worth one point.

- *One* letter: 1 for an accepted one, else 0.
- *Several*: (right ones chosen − wrong ones chosen) / number of right ones, never under 0. Who
  ticks all gets no more than who ticks by chance.
- *Order*: Kendall's rank correlation with the right order, never under 0: (pairs in the right
  order − pairs in the wrong one) / all pairs. An order given at random is worth 0 on average
  before the floor. A place left empty makes its pairs count for nothing.
  Source: M. G. Kendall, A new measure of rank correlation, Biometrika 30 (1938), 81-93.
- A *number*: 1 within the accepted range, ends included, else 0.

With `Rules(part_credit=False)` the points of *several* and *order* are 1 for a perfect answer,
else 0. Of alternative keys the one that gives most counts. A doubtful answer scores 0 until it is
decided; a withdrawn question counts neither for nor against anybody.

That right minus wrong leaves nothing to be won by ticking everything is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from quizgen.grading.keys import Key, Keys
from quizgen.grading.responses import Letters, Response, StudentResponses, figure_of

Verdict = Literal["right", "partly", "wrong", "blank", "doubtful", "withdrawn"]
DIGITS = 6  # points are rounded to so many decimals, so that equal means equal everywhere


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What an instructor can choose about scoring."""

    part_credit: bool = True


@dataclass(frozen=True, kw_only=True)
class Mark:
    """The points of one answer, from 0 to 1."""

    item: int  # number of the question
    verdict: Verdict
    points: float


@dataclass(frozen=True, kw_only=True)
class Result:
    """What one student's answers are worth."""

    student: str
    form: str
    marks: tuple[Mark, ...]

    @property
    def points(self) -> float:
        """All points."""
        return round(math.fsum(mark.points for mark in self.marks), DIGITS)

    @property
    def out_of(self) -> int:
        """The most that could be had: questions that count."""
        return sum(mark.verdict != "withdrawn" for mark in self.marks)

    @property
    def pending(self) -> int:
        """Doubtful answers, each of which may still bring a point."""
        return sum(mark.verdict == "doubtful" for mark in self.marks)

    @property
    def share(self) -> float:
        """Points as a share of `out_of`; 0 when no question counts."""
        return self.points / self.out_of if self.out_of else 0.0


def score(given: StudentResponses, keys: Keys, rules: Rules) -> Result:
    """The marks for a student's answers, in the order of the questions."""
    marks = tuple(mark(r, keys[given.form, r.item], rules) for r in given.responses)
    return Result(student=given.student, form=given.form, marks=marks)


def mark(response: Response, key: Key, rules: Rules) -> Mark:
    """The mark for one answer."""
    if key.withdrawn:
        return Mark(item=response.item, verdict="withdrawn", points=0.0)
    if response.state != "answered":
        return Mark(item=response.item, verdict=response.state, points=0.0)
    points = worth(response.value, key)
    if not rules.part_credit and points < 1.0:
        points = 0.0
    verdict: Verdict = "right" if points == 1.0 else "partly" if points else "wrong"
    return Mark(item=response.item, verdict=verdict, points=points)


def worth(value: Letters | str, key: Key) -> float:
    """Points for an answer with part credit, from 0 to 1.

    Letters for a question that asks for a number, or the other way round, are worth nothing.
    """
    if isinstance(value, str):
        return float(any(low <= figure_of(value) <= high for low, high in _widened(key)))
    if key.response == "one":
        return float(value in key.accepted)
    way = _in_order if key.response == "order" else _chosen
    best = max((way(value, right) for right in key.accepted), default=0.0)
    return round(max(best, 0.0), DIGITS)


def _widened(key: Key) -> list[tuple[float, float]]:
    """Ranges a hair wider, so that 11.7 lies in a range that ends at 11.7 in binary."""
    return [(low - 1e-9 * max(1, abs(low)), high + 1e-9 * max(1, abs(high)))
            for low, high in key.ranges]  # fmt: skip


def _chosen(value: Letters, right: Letters) -> float:
    hits = len(set(value) & set(right))
    return (hits - (len(set(value)) - hits)) / len(right)


def _in_order(value: Letters, right: Letters) -> float:
    place = {letter: i for i, letter in enumerate(value) if letter}
    pairs = list(combinations(right, 2))
    if not pairs:
        return float(value == right)
    known = [(a, b) for a, b in pairs if a in place and b in place]
    return sum(1 if place[a] < place[b] else -1 for a, b in known) / len(pairs)
