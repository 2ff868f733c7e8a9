"""A set's results as coverage counts them: small, and kept beside the results they follow from.

A term of a department is hundreds of sets, each a document of a megabyte with proofs. A tally keeps
what each question was about and one letter for each answer, and is written in the same transaction
as the results. A store that was graded by an older program has none for its older sets; theirs are
worked out when they are asked for.

====  ======================================================
mark  meaning
====  ======================================================
1     right
p     partly right
0     wrong
\\-    left blank
?     doubtful, waits for a decision: not counted
x     withdrawn: not counted
====  ======================================================
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import factorial

import msgspec
from sqlalchemy import Connection, delete, insert

from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import Keys, item_at
from quizgen.grading.score import Verdict
from quizgen.grading.slips import chances_of, slips_of
from quizgen.items.item import Item
from quizgen.store import tables as t
from quizgen.store.contents import Graded

MARKS: dict[Verdict, str] = {
    "right": "1", "partly": "p", "wrong": "0", "blank": "-", "doubtful": "?", "withdrawn": "x",
}  # fmt: skip
TYPED = 0.05  # chance to hit a figure that has to be written; an assumption, no source


@dataclass(frozen=True, kw_only=True)
class Question:
    """What a question of a form is about; `guess` is the chance of who knows nothing."""

    form: str
    number: int
    level: str
    guess: float
    subjects: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Tally:
    """`students`, `forms` and `marks` run in parallel, a letter of `marks` for each question.

    `beliefs` are mistaken ideas with how many answers showed them of how many that could have;
    `slips` says how often a student (by place in `students`) showed which.
    """

    questions: tuple[Question, ...]
    students: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    beliefs: dict[str, tuple[int, int]] = field(default_factory=dict)
    slips: tuple[tuple[int, str, int], ...] = ()


def tally_of(problem_set: ProblemSet, keys: Keys, everything: Iterable[Graded]) -> Tally:
    """The tally of a set's results, students by id."""
    group = sorted(everything, key=lambda g: g.given.student)
    beliefs, slips = _mistaken(problem_set, keys, group)
    return Tally(
        questions=tuple(
            Question(
                form=form.code, number=number, level=item.level, guess=guess_of(item),
                subjects=item.subjects or item.topics,
            )
            for form in problem_set.forms
            for number, item in enumerate(form.items, 1)
        ),
        students=tuple(g.given.student for g in group),
        forms=tuple(g.result.form for g in group),
        marks=tuple("".join(MARKS[m.verdict] for m in g.result.marks) for g in group),
        beliefs=beliefs, slips=slips,
    )  # fmt: skip


def guess_of(item: Item) -> float:
    """The chance to answer right without knowing anything, every answer equally likely."""
    if item.response == "number":
        return TYPED
    options = len(item.options)
    ways: int = {"several": 2**options - 1, "order": factorial(options)}.get(item.response, options)
    return 1.0 / max(ways, 1)


def _mistaken(
    problem_set: ProblemSet, keys: Keys, group: Iterable[Graded]
) -> tuple[dict[str, tuple[int, int]], tuple[tuple[int, str, int], ...]]:
    """Mistaken ideas of all answers that were given, and those of each student."""
    known: dict[object, tuple[str, ...]] = {}
    shown: Counter[str] = Counter()
    asked: Counter[tuple[str, int]] = Counter()
    slips: Counter[tuple[int, str]] = Counter()
    for place, graded in enumerate(group):
        for response, mark in zip(graded.given.responses, graded.result.marks, strict=True):
            if mark.verdict in ("doubtful", "withdrawn"):
                continue
            question = graded.result.form, response.item
            asked[question] += 1
            if mark.verdict == "right":
                continue
            seen = (question, response.value)
            if seen not in known:
                found = slips_of(item_at(problem_set, question), keys[question], response)
                known[seen] = tuple({slip.misconception for slip in found} - {""})
            for belief in known[seen]:
                shown[belief] += 1
                slips[place, belief] += 1
    chances = chances_of(problem_set, keys, asked)
    beliefs = {b: (shown[b], chances[b]) for b in sorted(chances | shown) if b}
    return beliefs, tuple((place, b, n) for (place, b), n in sorted(slips.items()))


def keep_tally(
    connection: Connection, problem_set: ProblemSet, keys: Keys, everything: Iterable[Graded]
) -> None:
    """Write the tally of a set, inside the transaction that changes its results."""
    content = msgspec.json.encode(tally_of(problem_set, keys, everything)).decode()
    connection.execute(delete(t.tally).where(t.tally.c.token == problem_set.token))
    connection.execute(insert(t.tally).values(token=problem_set.token, content=content))


def read_tally(content: str) -> Tally:
    """The tally in such a text."""
    return msgspec.json.decode(content, type=Tally)
