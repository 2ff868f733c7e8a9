"""A set's results as coverage counts them: small, and kept beside the results they follow from.

A year of a department is thousands of sets, each a document of half a megabyte with proofs. A tally
keeps what each question was about and one letter for each answer, and is written in the same
transaction as the results. Its fields are flat lists, which are read many times as fast as a record
for each question. A store that was graded by an older program has none for its older sets; theirs
are worked out when they are asked for.

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

from collections import Counter, defaultdict
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
SEPARATOR = "|"
TYPED = 20  # ways to write a figure, one of them right; an assumption, no source


@dataclass(frozen=True, kw_only=True)
class Tally:
    """`forms` says how many questions each form has. `about` (a matter, see `matter_of`) and `ways`
    (who knows nothing is right once in so many) have an entry for each question, form after form.

    `students`, `taken` (the student's form) and `marks` (a letter for each question) run in
    parallel. `beliefs` are mistaken ideas with how many answers showed them of how many that could
    have; `slips` says of each student who showed any how often which.
    """

    forms: dict[str, int]
    about: tuple[str, ...]
    ways: tuple[int, ...]
    students: tuple[str, ...] = ()
    taken: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    beliefs: dict[str, tuple[int, int]] = field(default_factory=dict)
    slips: dict[str, dict[str, int]] = field(default_factory=dict)


def tally_of(problem_set: ProblemSet, keys: Keys, everything: Iterable[Graded]) -> Tally:
    """The tally of a set's results, students by id."""
    group = sorted(everything, key=lambda g: g.given.student)
    beliefs, slips = _mistaken(problem_set, keys, group)
    items = [item for form in problem_set.forms for item in form.items]
    return Tally(
        forms={form.code: len(form.items) for form in problem_set.forms},
        about=tuple(matter_of(item.level, item.subjects or item.topics) for item in items),
        ways=tuple(ways_of(item) for item in items),
        students=tuple(g.given.student for g in group),
        taken=tuple(g.result.form for g in group),
        marks=tuple("".join(MARKS[m.verdict] for m in g.result.marks) for g in group),
        beliefs=beliefs, slips=slips,
    )  # fmt: skip


def matter_of(level: str, subjects: Iterable[str]) -> str:
    """What a question is about, in one text.

    >>> matter_of("interpret", ("lamps", "voltmeter"))
    'interpret|lamps|voltmeter'
    """
    return SEPARATOR.join((level, *subjects))


def level_and_subjects(matter: str) -> tuple[str, tuple[str, ...]]:
    """The parts of such a text."""
    level, *subjects = matter.split(SEPARATOR)
    return level, tuple(subjects)


def ways_of(item: Item) -> int:
    """How many ways to answer there are, for who knows nothing all as likely."""
    if item.response == "number":
        return TYPED
    options = len(item.options)
    ways: int = {"several": 2**options - 1, "order": factorial(options)}.get(item.response, options)
    return max(ways, 1)


def _mistaken(
    problem_set: ProblemSet, keys: Keys, group: Iterable[Graded]
) -> tuple[dict[str, tuple[int, int]], dict[str, dict[str, int]]]:
    """Mistaken ideas of all answers that were given, and who showed them."""
    known: dict[object, tuple[str, ...]] = {}
    shown: Counter[str] = Counter()
    asked: Counter[tuple[str, int]] = Counter()
    slips: dict[str, Counter[str]] = defaultdict(Counter)
    for graded in group:
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
                slips[graded.given.student][belief] += 1
    chances = chances_of(problem_set, keys, asked)
    beliefs = {b: (shown[b], chances[b]) for b in sorted(chances | shown) if b}
    return beliefs, {student: dict(sorted(mine.items())) for student, mine in slips.items()}


_READER = msgspec.json.Decoder(Tally)


def keep_tally(
    connection: Connection, problem_set: ProblemSet, keys: Keys, everything: Iterable[Graded]
) -> None:
    """Write the tally of a set, inside the transaction that changes its results."""
    content = msgspec.json.encode(tally_of(problem_set, keys, everything)).decode()
    connection.execute(delete(t.tally).where(t.tally.c.token == problem_set.token))
    connection.execute(insert(t.tally).values(token=problem_set.token, content=content))


def read_tally(content: str) -> Tally:
    """The tally in such a text."""
    return _READER.decode(content)
