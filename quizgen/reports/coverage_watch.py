"""Whom and what to look at: students at risk with the evidence, questions that need replacing.

A student is at risk who handed in neither of the last two sets, whose share of right answers over
the last four sets is surely below the cut (the upper end of its Wilson interval is), or who is
behind in several cells. The limits are common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from quizgen.base.proportion import wilson
from quizgen.items.topics import topic_name
from quizgen.reports.coverage_answers import COUNTED, GIVEN, RIGHT, WITHDRAWN, Key
from quizgen.reports.coverage_counts import ClassCounts
from quizgen.reports.mastery import Counts, Floats, Truths, bounds
from quizgen.reports.statistics import correlation_interval
from quizgen.reports.wording import belief_name, percent
from quizgen.store.classes import Taught

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
    handed = counts.answers.handed_in[counts.given]
    asked, right = (of[counts.given][-RECENT:].sum(axis=0) for of in (counts.asked, counts.right))
    some = handed[-MISSED:].any(axis=0) if len(handed) >= MISSED else np.ones(handed.shape[1])
    missed = np.asarray(some) == 0
    _, fair = bounds(cut, int(asked.max(initial=0)))
    weak = right < fair[asked]
    behind = counts.behind.sum(axis=1)
    met = sum(sort == "cell" for sort, _, _ in counts.figures)
    many = behind >= max(BEHIND_IN, BEHIND_SHARE * met)
    found = []
    for i in np.flatnonzero(missed | weak | many).tolist():
        student, why = counts.students[i], []
        if missed[i]:
            why.append(_missed(handed[:, i]))
        if weak[i]:
            sets = int(handed[-RECENT:, i].sum())
            why.append(f"{right[i]} of {asked[i]} right in the last {sets} sets handed in: "
                       f"surely below {percent(cut)}.")  # fmt: skip
        if many[i]:
            keys = sorted(counts.cells[cell] for cell in np.flatnonzero(counts.behind[i]))
            why.append(f"Behind in {len(keys)} cells: {_cells(keys)}.")
        why += _ideas(taught, student)
        if student not in taught.left:
            found.append(AtRisk(
                student=student, name=taught.students.get(student, ""), evidence=tuple(why),
                weight=len(why) * 100 + int(behind[i]),
            ))  # fmt: skip
    return tuple(sorted(found, key=lambda a: (-a.weight, a.student)))


def _missed(handed: Truths) -> str:
    gap = int(np.argmax(handed[::-1])) if handed.any() else len(handed)
    return f"Handed in none of the last {gap} sets."


def _cells(keys: Sequence[Key]) -> str:
    named = [f"{topic_name(topic)} x {level}" for _, topic, level in keys[:NAMED]]
    more = f" and {len(keys) - NAMED} more" if len(keys) > NAMED else ""
    return ", ".join(named) + more


def _ideas(taught: Taught, student: str) -> Iterator[str]:
    """The mistaken ideas that a student shows again and again."""
    shown: dict[str, int] = defaultdict(int)
    for lesson in taught.lessons:
        for belief, times in lesson.tally.slips.get(student, {}).items():
            shown[belief] += times
    if ideas := [(n, b) for b, n in shown.items() if n >= REPEATED]:
        named = sorted(ideas, key=lambda pair: (-pair[0], pair[1]))[:NAMED]
        told = ", ".join(f"{belief_name(b)} ({n} times)" for n, b in named)
        yield f"Mistaken ideas that come back: {told}."


def to_replace(taught: Taught, counts: ClassCounts) -> tuple[Replace, ...]:
    """Questions that need replacing, set by set."""
    answers = counts.answers
    n, hits = answers.by_question(COUNTED), answers.by_question(RIGHT)
    out = answers.by_question(WITHDRAWN)
    withdrawn = (out > 0) & (out == answers.by_question(GIVEN))
    below = hits < answers.guess * n  # above, the interval's upper end is above guessing too
    everybody = (hits == n) & (n >= ENOUGH)
    enough = n >= FOR_CORRELATION
    r = np.where(enough, _correlations(counts, n, hits), 0.0) if enough.any() else np.zeros(len(n))
    found = []
    for i in np.flatnonzero(withdrawn | below | everybody | (r < 0)).tolist():
        why = _why(withdrawn[i], int(n[i]), int(hits[i]), float(answers.guess[i]), float(r[i]))
        if why:
            lesson = taught.lessons[answers.lesson[i]]
            found.append(Replace(
                set=lesson.name, form=answers.form[i], number=int(answers.place[i]) + 1,
                students=int(n[i]), right=int(hits[i]), why=why,
            ))  # fmt: skip
    return tuple(found)


def _correlations(counts: ClassCounts, n: Counts, hits: Counts) -> Floats:
    """Of each question: being right there with how many of the others of the set are right.

    From sums of whole numbers: with x (0 or 1) for being right and y for the others,
    r = (n Σxy − Σx Σy) / √((n Σx² − (Σx)²)(n Σy² − (Σy)²)). nan where one of both does not vary.
    """
    answers = counts.answers
    asked, right = COUNTED[answers.marks], RIGHT[answers.marks]
    others = (np.repeat(counts.right, answers.width, axis=0) - right)[asked]
    which, hit = answers.question[asked], right[asked]
    y, yy, xy = (
        np.bincount(which, weights, len(n)) for weights in (others, others**2, others * hit)
    )
    spread = (n * hits - hits**2) * (n * yy - y**2)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.clip((n * xy - hits * y) / np.sqrt(spread), -1.0, 1.0)


def _why(withdrawn: bool, n: int, hits: int, guess: float, r: float) -> str:
    """ "" for a question that may stay."""
    if withdrawn:
        return "withdrawn after it was printed"
    if n and wilson(hits, n)[1] < guess:
        return f"fewer right than by guessing ({percent(guess)}): look at its key"
    if n >= ENOUGH and hits == n:
        return "everybody right: it tells nobody from anybody"
    if n >= FOR_CORRELATION and correlation_interval(r, n)[1] < 0:
        return "the better students miss it: look at its key and wording"
    return ""
