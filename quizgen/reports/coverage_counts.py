"""Counting: what the sets of one class were about, and what its students made of it.

Everything that is counted has a key: a cell (topic and level), a competency, or a pair of fault and
instrument. A *place* of a set counts for a key when its question, in any form, is about it, so that
two forms of one set do not count twice. *Delivered* is a place of a set that anybody answered.
*Asked* are questions times students who handed in; doubtful marks and withdrawn questions are left
out until they are decided. A blank answer was asked, not answered, and is not right; a partly
right one is not right either: nobody has mastered what is half known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import attrgetter

import msgspec
import numpy as np
from numpy.typing import NDArray

from quizgen.reports.coverage_answers import (
    ANSWERED,
    COUNTED,
    DOUBTFUL,
    RIGHT,
    Answers,
    Columns,
    Key,
    Matters,
    Table,
    answers_of,
)
from quizgen.reports.mastery import BEHIND, Counts, Floats, Step, Truths, gathered, verdicts
from quizgen.store.classes import Taught

Stand = NDArray[np.int8]
TOGETHER = 500  # students whose answers are gone through at a time, of one class or of many


class Figures(msgspec.Struct, frozen=True):
    """The counts of one key. `last` is the day it was met last, "" for never.

    The four last fields are students; together all of the class. A department has a hundred
    thousand of these, and a struct is made ten times as fast as a frozen dataclass.
    """

    planned: int = 0
    delivered: int = 0
    asked: int = 0
    answered: int = 0
    right: int = 0
    last: str = ""
    mastered: int = 0
    likely: int = 0
    behind: int = 0
    too_little: int = 0

    @property
    def students(self) -> int:
        """Of the class."""
        return self.mastered + self.likely + self.behind + self.too_little


def together(parts: Iterable[Figures]) -> Figures:
    """The figures of several classes as one."""
    parts = list(parts)
    rows = map(_COUNTS, parts)
    sums = dict(zip(COUNTS, map(sum, zip(*rows, strict=True)), strict=False))
    return Figures(last=max((part.last for part in parts), default=""), **sums)


COUNTS = tuple(name for name in Figures.__struct_fields__ if name != "last")
_COUNTS = attrgetter(*COUNTS)


@dataclass(frozen=True, kw_only=True)
class ClassCounts:
    """What is counted of a class.

    `given` are the lessons that somebody handed in. `places` are the delivered places of keys that
    are counted no further (pairs). `asked` and `right` are lessons x students, `behind` says who
    (row) is behind in which of the `cells`.
    """

    answers: Answers
    given: list[int]
    figures: dict[Key, Figures]
    places: dict[Key, int]
    asked: Counts
    right: Counts
    cells: tuple[Key, ...]
    behind: Truths
    pending: int

    @property
    def students(self) -> tuple[str, ...]:
        """Of the class, and all who handed in one of its sets."""
        return self.answers.students


def count_classes(
    classes: Iterable[Taught], counted: Columns, met: Columns, cut: float
) -> Iterator[tuple[Taught, ClassCounts]]:
    """All counts of each class; lessons are in the order of time.

    Small classes are gone through together: what has to be done in the order of time takes as many
    steps for one student as for a thousand.
    """
    matters = Matters(counted, met)
    for group in _groups(classes):
        answers = [answers_of(taught, matters) for taught in group]
        keys, pairs = counted.table(), met.table()
        for taught, mine, stand in zip(group, answers, _stands(answers, keys, cut), strict=True):
            yield taught, _count(taught, mine, keys, pairs, stand)


def _groups(classes: Iterable[Taught]) -> Iterator[list[Taught]]:
    group: list[Taught] = []
    students = 0
    for taught in classes:
        size = max(len(taught.students), *(len(k.tally.students) for k in taught.lessons), 0)
        if group and students + size > TOGETHER:
            yield group
            group, students = [], 0
        group.append(taught)
        students += size
    if group:
        yield group


def _stands(group: Sequence[Answers], keys: Table, cut: float) -> Iterator[Stand]:
    """The verdict on each student and key, class by class: students x keys."""
    marks, question = _side_by_side(group)
    columns = keys.of[np.concatenate([answers.matter for answers in group])]
    guess = np.concatenate([answers.guess for answers in group])
    width = len(keys.keys) + 1  # of a student's pairs; the last one is for none
    found = np.empty((marks.shape[1], width), dtype=np.int8)
    for first in range(0, len(found), TOGETHER):
        here = slice(first, first + TOGETHER)
        steps = _steps(marks[:, here], question[:, here], columns, guess, width)
        evidence = gathered(steps, found[here].size)
        found[here] = verdicts(evidence, cut).reshape(-1, width)
    start = 0
    for answers in group:
        yield found[start : start + len(answers.students), :-1]
        start += len(answers.students)


def _side_by_side(group: Sequence[Answers]) -> tuple[NDArray[np.uint8], NDArray[np.int32]]:
    """Marks and questions of several classes; questions are numbered through."""
    if len(group) == 1:
        return group[0].marks, group[0].question
    shape = (max(len(a.marks) for a in group), sum(len(a.students) for a in group))
    marks, question = np.zeros(shape, dtype=np.uint8), np.zeros(shape, dtype=np.int32)
    start = questions = 0
    for answers in group:
        here = slice(len(answers.marks)), slice(start, start + len(answers.students))
        marks[here], question[here] = answers.marks, answers.question + questions
        start += len(answers.students)
        questions += len(answers.matter)
    return marks, question


def _steps(
    marks: NDArray[np.uint8], question: NDArray[np.int32], columns: Counts, guess: Floats,
    width: int,
) -> Iterator[Step]:  # fmt: skip
    """Turn by turn the answers that count; `columns` and `guess` are by question."""
    for letters, asked in zip(marks, question, strict=True):
        here = np.flatnonzero(COUNTED[letters])
        if len(here):
            those = asked[here]
            yield columns[those] + (here * width)[:, None], RIGHT[letters[here]], guess[those]


def _count(
    taught: Taught, answers: Answers, keys: Table, pairs: Table, stand: Stand
) -> ClassCounts:
    cells = [i for i, key in enumerate(keys.keys) if key[0] == "cell"]
    given = [i for i, lesson in enumerate(taught.lessons) if lesson.tally.students]
    met = _places(answers, pairs)[given].sum(axis=0)
    return ClassCounts(
        answers=answers, given=given, figures=_figures(taught, answers, keys, stand, given),
        places={key: n for key, n in zip(pairs.keys, met.tolist(), strict=True) if n},
        asked=answers.by_lesson(COUNTED), right=answers.by_lesson(RIGHT),
        cells=tuple(keys.keys[i] for i in cells), behind=stand[:, cells] == BEHIND,
        pending=int(answers.by_question(DOUBTFUL).sum()),
    )  # fmt: skip


def _places(answers: Answers, table: Table) -> Counts:
    """Lessons x keys: how many places there are, in any form, about what counts for a key."""
    most = int(answers.place.max(initial=-1)) + 1
    there = np.zeros((len(answers.handed_in), most, len(table.keys) + 1), dtype=bool)
    there[answers.lesson[:, None], answers.place[:, None], table.of[answers.matter]] = True
    return np.asarray(there[:, :, :-1].sum(axis=1), dtype=np.int64)


def _figures(
    taught: Taught, answers: Answers, keys: Table, stand: Stand, given: list[int]
) -> dict[Key, Figures]:
    """Of the keys that a set of the class is about."""
    places = _places(answers, keys)
    delivered = places[given]
    days = ["", *(taught.lessons[i].day for i in given)]
    # of each key the last set that was handed in; 0 where there is none
    last = np.where(delivered > 0, np.arange(1, len(days))[:, None], 0).max(axis=0, initial=0)
    columns = keys.of[answers.matter]
    asked, answered, right = (
        np.bincount(columns.ravel(), np.repeat(by_question, columns.shape[1]), len(keys.keys) + 1)
        for by_question in map(answers.by_question, (COUNTED, ANSWERED, RIGHT))
    )  # fmt: skip
    found = map(
        Figures, places.sum(axis=0).tolist(), delivered.sum(axis=0).tolist(),
        *(counts[:-1].astype(np.int64).tolist() for counts in (asked, answered, right)),
        [days[day] for day in last.tolist()],
        *((stand == verdict).sum(axis=0).tolist() for verdict in range(4)),
    )  # fmt: skip
    return {key: figures for key, figures in zip(keys.keys, found, strict=True) if figures.planned}
