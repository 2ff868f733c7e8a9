"""What the students of a class answered, as arrays: a row for each turn, a column for each student.

Turns are the places of the class's sets, one set after the other in the order of time. A department
has millions of answers in a year; all that is done with each of them is done to arrays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, chain

import numpy as np
from numpy.typing import NDArray

from quizgen.reports.mastery import Counts, Floats, Truths
from quizgen.store.classes import Taught
from quizgen.store.tallies import MARKS, Tally, level_and_subjects

Key = tuple[str, str, str]  # sort, and two names
KeysOf = Callable[[tuple[str, ...], str], Iterable[Key]]  # of subjects and level

NOTHING = " "  # in the place of a letter for who was asked nothing
LETTERS = NOTHING + "".join(MARKS.values())


def _among(letters: str) -> Truths:
    return np.array([letter in letters for letter in LETTERS])


# of the place of each letter in LETTERS
COUNTED, ANSWERED, RIGHT, DOUBTFUL, WITHDRAWN, GIVEN = map(
    _among, ("1p0-", "1p0", "1", "?", "x", "1p0-?x")
)
_PLACE = np.zeros(128, dtype=np.uint8)
_PLACE[[ord(letter) for letter in LETTERS]] = np.arange(len(LETTERS))


@dataclass(frozen=True, kw_only=True)
class Table:
    """`of` says for each matter (row) which of `keys` it counts for; rows are filled up with the
    number of keys, which stands for none.
    """

    keys: tuple[Key, ...]
    of: Counts


class Columns:
    """Keys in the order in which they came up, and which of them each matter counts for."""

    def __init__(self, keys_of: KeysOf) -> None:
        self._keys_of = keys_of
        self._place: dict[Key, int] = {}
        self._of: list[list[int]] = []

    def add(self, level: str, subjects: tuple[str, ...]) -> None:
        """The next matter."""
        keys = dict.fromkeys(self._keys_of(subjects, level))
        self._of.append([self._place.setdefault(key, len(self._place)) for key in keys])

    def table(self) -> Table:
        """As far as matters are known by now."""
        most = max((len(mine) for mine in self._of), default=0)
        of = np.full((len(self._of), most), len(self._place))
        for matter, mine in enumerate(self._of):
            of[matter, : len(mine)] = mine
        return Table(keys=tuple(self._place), of=of)


class Matters(dict[str, int]):
    """Numbers for what questions are about; what is asked for first gets the next.

    Each of the tables gets to know all of them.
    """

    def __init__(self, *tables: Columns) -> None:
        super().__init__()
        self._tables = tables

    def __missing__(self, matter: str) -> int:
        for table in self._tables:
            table.add(*level_and_subjects(matter))
        return self.setdefault(matter, len(self))


@dataclass(frozen=True, kw_only=True)
class Answers:
    """The answers of a class to sets of `width` places.

    `marks` are places in LETTERS, `question` says which question it was; turns x students, a
    lesson's turns one after the other. `lesson`, `form`, `place` in it, `matter` and `guess` are by
    question; `handed_in` is lessons x students.
    """

    students: tuple[str, ...]
    width: int
    marks: NDArray[np.uint8]
    question: NDArray[np.int32]
    lesson: Counts
    form: tuple[str, ...]
    place: Counts
    matter: Counts
    guess: Floats
    handed_in: Truths

    @cached_property
    def _marked(self) -> Counts:
        """Questions x LETTERS: how many students have which."""
        there = self.marks > 0
        cell = self.question[there] * len(LETTERS) + self.marks[there]
        counts = np.bincount(cell, minlength=len(self.matter) * len(LETTERS))
        return counts.reshape(-1, len(LETTERS))

    def by_question(self, letters: Truths) -> Counts:
        """How many students have one of the letters."""
        return self._marked @ letters

    def by_lesson(self, letters: Truths) -> Counts:
        """Lessons x students: how many places have one of the letters."""
        found = letters[self.marks].reshape(len(self.handed_in), self.width, len(self.students))
        return np.asarray(found.sum(axis=1), dtype=np.int64)


def answers_of(taught: Taught, matters: Matters) -> Answers:
    """The answers of a class; its lessons are in the order of time."""
    tallies = [lesson.tally for lesson in taught.lessons]
    people = tuple(dict.fromkeys([*taught.students, *(s for y in tallies for s in y.students)]))
    width = max(map(len, chain.from_iterable(y.marks for y in tallies)), default=1)
    shape = len(tallies) * width, len(people)
    marks, question = np.zeros(shape, dtype=np.uint8), np.zeros(shape, dtype=np.int32)
    handed_in = np.zeros((len(tallies), len(people)), dtype=bool)
    sizes = [count for y in tallies for count in y.forms.values()]
    lesson, column, first = _who(tallies, people)
    turns = lesson * width + np.arange(width)[:, None]
    marks[turns, column] = _letters(tallies, width)
    question[turns, column] = first + np.arange(width)[:, None]
    question[marks == 0] = 0
    handed_in[lesson, column] = True
    return Answers(
        students=people, width=width, marks=marks, question=question, handed_in=handed_in,
        lesson=np.repeat(np.arange(len(tallies)), [len(y.about) for y in tallies]),
        form=tuple(f for y in tallies for form, count in y.forms.items() for f in [form] * count),
        place=_array(chain.from_iterable(map(range, sizes))),
        matter=_array(map(matters.__getitem__, chain.from_iterable(y.about for y in tallies))),
        guess=1.0 / _array(chain.from_iterable(y.ways for y in tallies)),
    )  # fmt: skip


def _array(numbers: Iterable[int]) -> Counts:
    return np.array(list(numbers), dtype=np.int64)


def _who(tallies: Sequence[Tally], people: Sequence[str]) -> tuple[Counts, Counts, Counts]:
    """Of all that was handed in: the lesson, whose it is, the number of its first question."""
    column = {student: i for i, student in enumerate(people)}
    starts, before = [], 0
    for tally in tallies:
        ends = accumulate(tally.forms.values(), initial=before)
        start = dict(zip(tally.forms, ends, strict=False))
        starts += [start[form] for form in tally.taken]
        before += len(tally.about)
    lesson = np.repeat(np.arange(len(tallies)), [len(y.students) for y in tallies])
    return lesson, _array([column[s] for y in tallies for s in y.students]), _array(starts)


def _letters(tallies: Iterable[Tally], width: int) -> NDArray[np.uint8]:
    """Places x what was handed in, as places in LETTERS."""
    text = "".join([marks.ljust(width, NOTHING) for y in tallies for marks in y.marks])
    return _PLACE[np.frombuffer(text.encode("ascii"), dtype=np.uint8)].reshape(-1, width).T
