"""One question in figures: difficulty, discrimination, what each option was chosen for.

An option is *idle* when fewer than 5 % choose it (Tarrant, Ware and Mohammed 2009,
doi 10.1186/1472-6920-9-40); one that the better students prefer is *suspect*. There they count any
correlation above 0; here it has to be more than one standard error, 1/√n, or every other question
would stand out by chance. With few students both happen by chance, so neither is said of fewer
than 20.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from quizgen.base.proportion import wilson
from quizgen.forms.problem_set import ProblemSet
from quizgen.forms.sheet import LETTERS
from quizgen.grading.keys import Key, Keys, item_at
from quizgen.items.item import Item
from quizgen.reports.statistics import (
    Points,
    correlation,
    correlation_interval,
    group_weights,
    upper_minus_lower,
)
from quizgen.store.contents import Graded

Interval = tuple[float, float]
IDLE = 0.05  # share of the students
ENOUGH = 20  # students, for an option to be called idle or suspect
FOR_LABELS = 30
THIRD = 1 / 3
EBEL = ((0.40, "very good"), (0.30, "reasonably good"), (0.20, "marginal"), (-1.0, "poor"))
"""D of at least → label. Ebel 1965, Measuring educational achievement; quoted by others."""
COMMON = 6  # figures or orders that are listed


@dataclass(frozen=True, kw_only=True)
class Choice:
    """An option, or an order or figure that was given: how many chose it, who.

    `r` is the correlation of choosing it with the points on the other questions; `low` and `high`
    are the shares of the weaker and the better third that chose it.
    """

    letter: str
    text: str
    right: bool
    count: int
    share: float
    r: float
    low: float
    high: float
    misconception: str = ""
    idle: bool = False
    suspect: bool = False


@dataclass(frozen=True, kw_only=True)
class QuestionFigures:
    """A question of `form`, or for "" the questions in one place of all forms."""

    form: str
    number: int
    topic: str
    level: str
    kind: str
    item: str  # id
    text: str  # the question asked
    key: str
    withdrawn: bool
    students: int
    p: float
    p_interval: Interval
    r: float
    r_interval: Interval
    d: float
    label: str = ""
    blank: int = 0
    choices: tuple[Choice, ...] = ()

    @property
    def name(self) -> str:
        """ "A/3", or "3" for a place."""
        return f"{self.form}/{self.number}" if self.form else str(self.number)


def points_of(group: Sequence[Graded]) -> Points:
    """Students by questions; nan where a question is withdrawn for that student's form."""
    rows = [[np.nan if m.verdict == "withdrawn" else m.points for m in g.result.marks]
            for g in group]  # fmt: skip
    return np.array(rows, dtype=np.float64).reshape(len(rows), -1)


def question_figures(
    problem_set: ProblemSet, keys: Keys, group: Sequence[Graded], form: str
) -> Iterator[QuestionFigures]:
    """The figures of every question of `form`, answered by `group`; "" takes forms together."""
    if not group:
        return
    points = points_of(group)
    total = np.nansum(points, axis=1)
    # of a total that leaves some questions out, the share is what compares
    counted = (~np.isnan(points)).sum(axis=1)
    for place in range(points.shape[1]):
        column = points[:, place]
        there = ~np.isnan(column)
        rest = (total - np.nan_to_num(column)) / np.maximum(counted - there, 1)
        share = total / np.maximum(counted, 1)
        yield _figures(problem_set, keys, group, form, place + 1, column, rest, share)


def _figures(
    problem_set: ProblemSet, keys: Keys, group: Sequence[Graded], form: str, number: int,
    column: Points, rest: Points, share: Points,
) -> QuestionFigures:  # fmt: skip
    """`rest` and `share`: points on the other questions and on all, as shares, by student."""
    code = form or group[0].given.form
    item, key = item_at(problem_set, (code, number)), keys[code, number]
    there = ~np.isnan(column)
    seen, others = column[there], rest[there]
    n = len(seen)
    p = float(seen.mean()) if n else math.nan
    r = correlation(seen, others) if n > 1 else math.nan
    d = upper_minus_lower(seen, share[there]) if n else math.nan
    chosen = tuple(_choices(item, key, group, number, rest)) if form and n else ()
    return QuestionFigures(
        form=form, number=number, topic=topic_at(problem_set, number, item), level=item.level,
        kind=item.kind, item=item.id if form else "", text=item.question if form else "",
        key=key_text(key, item) if form else "", withdrawn=not n, students=n, p=p,
        p_interval=wilson(p * n, n) if n else (math.nan, math.nan), r=r,
        r_interval=correlation_interval(r, n), d=d, label=_label(d) if n >= FOR_LABELS else "",
        blank=sum(g.given.responses[number - 1].state == "blank" for g in group),
        choices=chosen,
    )  # fmt: skip


def _label(d: float) -> str:
    return next(label for least, label in EBEL if round(d, 2) >= least)


def topic_at(problem_set: ProblemSet, number: int, item: Item) -> str:
    """What the plan wanted in that place; without a plan, what the question is about first."""
    slots = problem_set.slots
    return slots[number - 1].topic if number <= len(slots) else item.topics[0]


def key_text(key: Key, item: Item) -> str:
    """What is right, in short; alternatives with "or"."""
    if key.ranges:
        unit = item.number.unit if item.number else ""
        ranges = (f"{low:.6g} to {high:.6g} {unit}".strip() for low, high in key.ranges)
        return " or ".join(ranges).replace("-", "−")
    return " or ".join(" ".join(letters) for letters in key.accepted)


def _choices(
    item: Item, key: Key, group: Sequence[Graded], number: int, rest: Points
) -> Iterator[Choice]:
    """Every option of one or several; the most common figures or orders of the others."""
    values = [g.given.responses[number - 1].value for g in group]
    high, low = group_weights(rest.round(9), THIRD)
    if item.response in ("one", "several"):
        right = {letter for letters in key.accepted for letter in letters}
        for letter, option in zip(LETTERS, item.options, strict=False):
            picked = np.array([float(letter in value) for value in values])
            yield _choice(
                letter, option.text, letter in right, picked, rest, high, low,
                option.misconception,
            )  # fmt: skip
        return
    unit = item.number.unit if item.number else ""
    marks = [g.result.marks[number - 1] for g in group]
    right_ones = {v for v, mark in zip(values, marks, strict=True) if mark.verdict == "right"}
    for value, _ in Counter(v for v in values if v).most_common(COMMON):
        shown = f"{value} {unit}".strip() if isinstance(value, str) else " ".join(
            letter or "–" for letter in value)  # fmt: skip
        picked = np.array([float(v == value) for v in values])
        yield _choice("", shown, value in right_ones, picked, rest, high, low, "")


def _choice(
    letter: str, text: str, right: bool, picked: Points, rest: Points, high: Points, low: Points,
    misconception: str,
) -> Choice:  # fmt: skip
    n = len(picked)
    r = correlation(picked, rest) if n > 1 else math.nan
    share = float(picked.mean())
    wrong_option = bool(letter) and not right and n >= ENOUGH
    return Choice(
        letter=letter, text=text, right=right, count=int(picked.sum()), share=share, r=r,
        low=float(low @ picked / low.sum()), high=float(high @ picked / high.sum()),
        misconception=misconception, idle=wrong_option and share < IDLE,
        suspect=wrong_option and r > 1 / math.sqrt(n),
    )  # fmt: skip
