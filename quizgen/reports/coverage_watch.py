"""Whom and what to look at: students at risk with the evidence, questions that need replacing.

A student is at risk who handed in neither of the last two sets, whose share of right answers over
the last four sets is surely below the cut (the upper end of its Wilson interval is), or who is
behind in several cells. The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.base.proportion import wilson
from quizgen.items.topics import topic_name
from quizgen.reports.coverage_counts import COUNTED, RIGHT, ClassCounts, Key, by_form
from quizgen.reports.mastery import Counts
from quizgen.reports.statistics import correlation, correlation_interval
from quizgen.reports.wording import belief_name, percent
from quizgen.store.classes import Lesson, Taught
from quizgen.store.tallies import Question

MISSED, RECENT = 2, 4  # sets
BEHIND_IN, BEHIND_SHARE = 3, 0.1  # cells at least, of all that the class has met
REPEATED = 3  # times that a mistaken idea is shown before it is named
NAMED = 3  # cells and ideas that the evidence lists
ENOUGH, FOR_CORRELATION = 20, 30  # students


@dataclass(frozen=True, kw_only=True)
class AtRisk:
    """A student and why, in sentences; `weight` puts the most urgent first."""

    student: str
    name: str
    evidence: tuple[str, ...]
    weight: int


@dataclass(frozen=True, kw_only=True)
class Replace:
    """A question that should not be used again as it is, and why."""

    set: str
    form: str
    number: int
    students: int
    right: int
    why: str


def at_risk(taught: Taught, counts: ClassCounts, cut: float) -> tuple[AtRisk, ...]:
    """Students at risk, the most urgent first."""
    given = [i for i, lesson in enumerate(taught.lessons) if lesson.tally.students]
    cells = sum(sort == "cell" for sort, _, _ in counts.figures)
    found = []
    for row, student in enumerate(counts.students):
        shares = counts.shares[row, given]
        why = [*_missed(shares[:, 2]), *_weak(shares[-RECENT:], cut)]
        behind = counts.behind.get(student, ())
        if len(behind) >= max(BEHIND_IN, BEHIND_SHARE * cells):
            why.append(f"Behind in {len(behind)} cells: {_cells(behind)}.")
        if not why or student in taught.left:
            continue
        ideas = [(n, b) for b, n in counts.slips.get(student, {}).items() if n >= REPEATED]
        if ideas:
            named = sorted(ideas, key=lambda pair: (-pair[0], pair[1]))[:NAMED]
            told = ", ".join(f"{belief_name(b)} ({n} times)" for n, b in named)
            why.append(f"Mistaken ideas that come back: {told}.")
        found.append(AtRisk(
            student=student, name=taught.students.get(student, ""), evidence=tuple(why),
            weight=len(why) * 100 + len(behind),
        ))  # fmt: skip
    return tuple(sorted(found, key=lambda a: (-a.weight, a.student)))


def _missed(handed: Counts) -> Iterator[str]:
    if len(handed) >= MISSED and not handed[-MISSED:].any():
        gap = int(np.argmax(handed[::-1] > 0)) if handed.any() else len(handed)
        yield f"Handed in none of the last {gap} sets."


def _weak(shares: Counts, cut: float) -> Iterator[str]:
    counted, right = int(shares[:, 0].sum()), int(shares[:, 1].sum())
    if counted and wilson(right, counted)[1] < cut:
        sets = int(shares[:, 2].sum())
        yield (
            f"{right} of {counted} right in the last {sets} sets handed in: "
            f"surely below {percent(cut)}."
        )


def _cells(keys: Sequence[Key]) -> str:
    named = [f"{topic_name(topic)} x {level}" for _, topic, level in keys]
    more = f" and {len(named) - NAMED} more" if len(named) > NAMED else ""
    return ", ".join(named[:NAMED]) + more


def to_replace(lessons: Sequence[Lesson]) -> tuple[Replace, ...]:
    """Questions that need replacing, set by set."""
    found: list[Replace] = []
    for lesson in lessons:
        everybody = {student: i for i, student in enumerate(lesson.tally.students)}
        for places, _, marks in by_form(lesson.tally, everybody):
            questions = [lesson.tally.questions[place] for place in places]
            found += _of_form(lesson.name, questions, marks)
    return tuple(found)


def _of_form(
    name: str, questions: Sequence[Question], marks: NDArray[np.uint8]
) -> Iterator[Replace]:
    counted, right = COUNTED[marks], RIGHT[marks]
    n, hits = counted.sum(axis=0), right.sum(axis=0)
    guess = np.array([q.guess for q in questions])
    # where the share is above guessing the interval's upper end is too: no need to work it out
    look = (hits < guess * n) | (n == 0) | ((hits == n) & (n >= ENOUGH)) | (n >= FOR_CORRELATION)
    for i in np.flatnonzero(look).tolist():
        there = counted[:, i]
        rest = right[there].sum(axis=1) - right[there, i]
        if why := _why(questions[i], marks[:, i], right[there, i], rest):
            yield Replace(
                set=name, form=questions[i].form, number=questions[i].number,
                students=int(n[i]), right=int(hits[i]), why=why,
            )  # fmt: skip


def _why(
    question: Question, marks: NDArray[np.uint8], right: NDArray[np.bool_], rest: Counts
) -> str:
    """ "" for a question that may stay. `right` and `rest` leave out what does not count."""
    if (marks == ord("x")).all():
        return "withdrawn after it was printed"
    n, hits = len(right), int(right.sum())
    if n and wilson(hits, n)[1] < question.guess:
        return f"fewer right than by guessing ({percent(question.guess)}): look at its key"
    if n >= ENOUGH and hits == n:
        return "everybody right: it tells nobody from anybody"
    if n >= FOR_CORRELATION:
        r = correlation(right.astype(np.float64), rest.astype(np.float64))
        if correlation_interval(r, n)[1] < 0:
            return "the better students miss it: look at its key and wording"
    return ""
