"""What the figures of a class mean in words, and what they do not allow to be said.

A remark is *sure* when the 95 % interval of its figure lies wholly on one side; the others are
worth a look and may be chance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from quizgen.reports.class_figures import RETAUGHT, Belief, ClassFigures
from quizgen.reports.question_figures import ENOUGH, QuestionFigures
from quizgen.reports.wording import percent, signed

LEAST = 5  # students, for anything to be said about a question
FAR_AHEAD = 0.25  # share of the better third by which a wrong option beats the key
LOW_RELIABILITY = 0.7  # under this, common practice has it, no decision rests on points alone


KINDS = ("key", "turned", "guessed", "drew", "idle")
"""What may be amiss, the gravest first: a wrong option beats the key; better students fail; fewer
right than by guessing; a wrong option draws the better ones; a wrong option draws nobody."""


@dataclass(frozen=True, kw_only=True)
class Check:
    """Something to look at in a question; `kind` is one of `KINDS`."""

    question: str  # its name
    kind: str
    what: str
    sure: bool


def warnings(figures: ClassFigures) -> tuple[str, ...]:
    """What to know before the figures are believed."""
    return tuple(_warnings(figures))


def _warnings(figures: ClassFigures) -> Iterator[str]:
    n = figures.students
    if not n:
        yield "No student has a complete result yet: there is nothing to work out."
        return
    if figures.small:
        yield (
            f"{n} students are few. Where there is no connection at all, a correlation still comes "
            f"out anywhere between −{figures.chance_correlation:.2f} and "
            f"+{figures.chance_correlation:.2f} in 95 of 100 classes of this size. Look at the "
            "intervals; no question gets a label."
        )
    whole = figures.reliabilities[0]
    if math.isnan(whole.alpha):
        yield "The points do not vary enough for a reliability."
    elif whole.alpha < LOW_RELIABILITY:
        yield (
            f"Reliability is {signed(whole.alpha).lstrip('+')}. A single student's points move by "
            f"about ±{whole.error:.1f} by chance alone: good enough to see what to teach again, "
            "not to decide about a person."
        )
    if figures.places:
        yield (
            "The forms ask alike questions in the same places, not the same ones. Figures for all "
            "forms together take them as equal."
        )
    if figures.left_out:
        yield (
            f"Left out because marks wait for a decision: {', '.join(figures.left_out[:20])}"
            f"{' and others' if len(figures.left_out) > 20 else ''}."
        )


def checks(figures: ClassFigures) -> tuple[Check, ...]:
    """Questions to look at, the sure ones first, then the grave ones."""
    found = [check for question in figures.questions for check in _checks(question)]
    return tuple(sorted(found, key=lambda c: (not c.sure, KINDS.index(c.kind))))


def _checks(q: QuestionFigures) -> Iterator[Check]:
    if q.withdrawn or q.students < LEAST:
        return
    wrong = [c for c in q.choices if c.letter and not c.right]
    right = [c for c in q.choices if c.letter and c.right]
    key = max((c.high for c in right), default=1.0)  # share of the better third
    rivals = [c for c in wrong if c.high > key]
    if rivals:
        rival = max(rivals, key=lambda c: c.high)
        yield Check(
            question=q.name, kind="key",
            sure=q.students >= ENOUGH and rival.high - key > FAR_AHEAD,
            what=f"The better third chose {rival.letter} ({percent(rival.high)}) more often than "
            f"the key ({percent(key)}). Is the key right?",
        )  # fmt: skip
    if q.r < 0:
        yield Check(
            question=q.name, kind="turned", sure=q.r_interval[1] < 0,
            what=_turned(q),
        )  # fmt: skip
    if wrong and len(right) == 1 and q.p_interval[1] < 1 / len(q.choices):
        yield Check(
            question=q.name, kind="guessed", sure=True,
            what=f"Fewer right answers ({percent(q.p)}) than guessing would bring.",
        )  # fmt: skip
    if idle := [c.letter for c in wrong if c.idle]:
        yield Check(
            question=q.name, kind="idle", sure=True,
            what=f"Hardly anybody chose {' or '.join(idle)}: it does not tempt.",
        )  # fmt: skip
    if not rivals and (suspect := [c.letter for c in wrong if c.suspect and not c.idle]):
        yield Check(
            question=q.name, kind="drew", sure=False,
            what=f"{' and '.join(suspect)} drew the better students. Can it be defended?",
        )  # fmt: skip


def reteach(figures: ClassFigures) -> tuple[Belief, ...]:
    """The mistaken ideas that are surely the most common, three at most.

    Shown once is no pattern.
    """
    return tuple(b for b in figures.beliefs if b.students > 1)[:RETAUGHT]


def _turned(q: QuestionFigures) -> str:
    low, high = q.r_interval
    figure = f"r {signed(q.r)}, {signed(low)} to {signed(high)}"
    if high < 0:
        return f"Who knows more gets it wrong more often ({figure}). Is the key right?"
    return f"The correlation with the rest is below 0 ({figure})."
