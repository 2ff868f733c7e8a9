"""What one student gets back: points and how sure they are, each miss explained, what is next.

The reasons are those of the answer key for *this* student's choice. Nothing here praises, scolds
or compares with others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from quizgen.base.proportion import wilson
from quizgen.forms.problem_set import ProblemSet
from quizgen.forms.sheet import LETTERS
from quizgen.grading.keys import Key, Keys, form_of
from quizgen.grading.responses import Response
from quizgen.grading.score import Mark, Verdict
from quizgen.grading.slips import Slip, slips_of
from quizgen.items.item import Item
from quizgen.publish.view import Heading
from quizgen.reports.question_figures import key_text, topic_at
from quizgen.reports.wording import (
    answer_words,
    belief_name,
    heading_of,
    percent,
    plain,
    points_words,
)
from quizgen.store.contents import Graded

SIGNS: dict[Verdict, str] = {
    "right": "✓", "partly": "½", "wrong": "✗", "blank": "–", "doubtful": "?", "withdrawn": "·",
}  # fmt: skip
WORDS: dict[Verdict, str] = {
    "right": "right", "partly": "partly right", "wrong": "wrong", "blank": "no answer",
    "doubtful": "being looked at", "withdrawn": "withdrawn, does not count",
}  # fmt: skip
MOST_NEXT = 3
MISSES: tuple[Verdict, ...] = ("wrong", "partly", "blank")


@dataclass(frozen=True, kw_only=True)
class Told:
    """One part of an answer: its letter and text, the reasons, the mistaken idea's name."""

    letter: str
    text: str
    reasons: tuple[str, ...]
    belief: str = ""
    missed: bool = False


@dataclass(frozen=True, kw_only=True)
class Miss:
    """A question that brought less than a point, or is being looked at."""

    number: int
    machine: str
    question: str
    verdict: str
    points: str
    given: str
    key: str
    told: tuple[Told, ...]  # about what was chosen or left out
    right: tuple[Told, ...]  # the right options, explained
    solution: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Practice:
    """What to practise next: a topic at a level, and where it was missed."""

    topic: str  # as the drill calls it
    name: str
    level: str
    questions: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Feedback:
    """A student's feedback sheet. `strip` is number, sign and words of every question."""

    heading: Heading
    student: str
    name: str
    form: str
    points: str
    out_of: int
    share: str
    low: str
    high: str
    pending: int
    withdrawn: int
    strip: tuple[tuple[int, str, str], ...]
    misses: tuple[Miss, ...]
    practice: tuple[Practice, ...]


def feedback_of(problem_set: ProblemSet, keys: Keys, graded: Graded) -> Feedback:
    """The sheet for one student's results."""
    result = graded.result
    form = form_of(problem_set, result.form)
    low, high = wilson(result.points, result.out_of)
    names = problem_set.student_names
    return Feedback(
        heading=heading_of(problem_set), student=result.student,
        name=names.get(result.student, ""), form=form.code,
        points=points_words(result.points), out_of=result.out_of, share=percent(result.share),
        low=percent(low), high=percent(high), pending=result.pending,
        withdrawn=len(result.marks) - result.out_of,
        strip=tuple((m.item, SIGNS[m.verdict], WORDS[m.verdict]) for m in result.marks),
        misses=tuple(
            _miss(form.items[m.item - 1], keys[form.code, m.item], r, m)
            for m, r in zip(result.marks, graded.given.responses, strict=True)
            if m.verdict in (*MISSES, "doubtful")
        ),
        practice=tuple(_practice(problem_set, graded)),
    )  # fmt: skip


def _miss(item: Item, key: Key, response: Response, mark: Mark) -> Miss:
    options = dict(zip(LETTERS, item.options, strict=False))
    slips = slips_of(item, key, response)
    told = tuple(_told(slip, options[slip.letter].text if slip.letter else "") for slip in slips)
    shown = {slip.letter for slip in slips if slip.missed}
    undecided = mark.verdict == "doubtful"
    best = key.accepted[0] if key.accepted and item.response != "order" else ()
    right = tuple(
        Told(letter=letter, text=options[letter].text, reasons=options[letter].rationale)
        for letter in best
        if letter not in shown and letter not in response.value
    )
    return Miss(
        number=mark.item, machine=item.machine, question=item.question,
        verdict=WORDS[mark.verdict], points=points_words(mark.points),
        given="" if undecided else answer_words(response.value, item),
        key="" if undecided else key_text(key, item), told=told,
        right=() if undecided else right, solution=() if undecided else item.solution,
    )  # fmt: skip


def _told(slip: Slip, text: str) -> Told:
    return Told(
        letter=slip.letter, text=text, reasons=slip.reasons, missed=slip.missed,
        belief=belief_name(slip.misconception) if slip.misconception else "",
    )  # fmt: skip


def _practice(problem_set: ProblemSet, graded: Graded) -> Iterator[Practice]:
    """Topics and levels that cost most points, at most `MOST_NEXT`, the costliest first."""
    lost: Counter[tuple[str, str]] = Counter()
    where: dict[tuple[str, str], list[int]] = {}
    items = form_of(problem_set, graded.result.form).items
    for mark in graded.result.marks:
        if mark.verdict not in MISSES:
            continue
        item = items[mark.item - 1]
        cell = topic_at(problem_set, mark.item, item), item.level
        lost[cell] += round((1 - mark.points) * 1000)  # whole numbers sort alike everywhere
        where.setdefault(cell, []).append(mark.item)
    for cell, _ in lost.most_common(MOST_NEXT):
        topic, level = cell
        yield Practice(topic=topic, name=plain(topic), level=level, questions=tuple(where[cell]))
