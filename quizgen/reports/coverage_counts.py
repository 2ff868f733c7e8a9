"""Counting: what the sets of one class were about, and what its students made of it.

Everything that is counted has a key: a cell (topic and level), a competency, or a pair of fault and
instrument. A *place* of a set counts for a key when its question, in any form, is about it, so that
two forms of one set do not count twice. *Delivered* is a place of a set that anybody answered.
*Asked* are questions times students who handed in; doubtful marks and withdrawn questions are left
out until they are decided. A blank answer was asked, not answered, and is not right; a partly
right one is not right either: nobody has mastered what is half known.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from quizgen.reports.mastery import BEHIND, TOO_LITTLE, Counts, Floats, traced, verdicts
from quizgen.store.classes import Lesson, Taught
from quizgen.store.tallies import Question, Tally

Key = tuple[str, str, str]  # sort, and two names
KeysOf = Callable[[Question], tuple[Key, ...]]

BLOCK = 1000  # students at a time, so that memory does not grow with the class

# of each letter that a tally has for an answer
COUNTED, ANSWERED, RIGHT = np.zeros((3, 256), dtype=bool)
COUNTED[[ord(c) for c in "1p0-"]] = True
ANSWERED[[ord(c) for c in "1p0"]] = True
RIGHT[ord("1")] = True


@dataclass(frozen=True, kw_only=True)
class Figures:
    """The counts of one key. `last` is the day it was met last, "" for never.

    The four last fields are students; together all of the class.
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
    sums = {name: 0 for name in Figures.__dataclass_fields__ if name != "last"}
    last = ""
    for part in parts:
        last = max(last, part.last)
        for name in sums:
            sums[name] += getattr(part, name)
    return Figures(last=last, **sums)


@dataclass(frozen=True, kw_only=True)
class ClassCounts:
    """`places` are the delivered places of keys that are counted no further (pairs).

    `shares` has for each student and each lesson how many questions counted, how many were
    right, and 1 where something was handed in; `behind` how many cells a student is behind in.
    """

    students: tuple[str, ...]
    figures: dict[Key, Figures]
    places: dict[Key, int]
    shares: Counts  # students x lessons x 3
    behind: dict[str, tuple[Key, ...]]
    slips: dict[str, Counter[str]]
    pending: int


@dataclass
class _Events:
    """One entry for each answer and key that it says something about, in the order of time."""

    pair: list[Counts] = field(default_factory=list)
    right: list[NDArray[np.bool_]] = field(default_factory=list)
    guess: list[Floats] = field(default_factory=list)


def count_class(taught: Taught, keys_of: KeysOf, places_of: KeysOf, cut: float) -> ClassCounts:
    """All counts of a class; its lessons are in the order of time."""
    tallies = [lesson.tally for lesson in taught.lessons]
    keys = list(dict.fromkeys(k for y in tallies for q in y.questions for k in keys_of(q)))
    column = {key: i for i, key in enumerate(keys)}
    people = tuple(dict.fromkeys([*taught.students, *(s for y in tallies for s in y.students)]))
    sums = np.zeros((3, len(keys)), dtype=np.int64)  # asked, answered, right
    shares = np.zeros((len(people), len(tallies), 3), dtype=np.int64)
    stand = np.zeros((len(people), len(keys)), dtype=np.int64)
    pending = 0
    for start in range(0, len(people), BLOCK):
        block = slice(start, start + BLOCK)
        row = {student: i for i, student in enumerate(people[block])}
        events = _Events()
        for number, tally in enumerate(tallies):
            for questions, rows, marks in by_form(tally, row):
                pending += int((marks == ord("?")).sum())
                shares[block][rows, number, 0] = COUNTED[marks].sum(axis=1)
                shares[block][rows, number, 1] = RIGHT[marks].sum(axis=1)
                shares[block][rows, number, 2] = 1
                _add(events, sums, questions, rows, marks, keys_of, column)
        stand[block] = _stand(events, len(row), len(keys), cut)
    met, pairs = _places(taught.lessons, keys_of), _places(taught.lessons, places_of)
    return ClassCounts(
        students=people, figures=dict(_figures(keys, sums, stand, met)),
        places={key: delivered for key, (_, delivered, _) in pairs.items() if delivered},
        shares=shares, behind=_behind(people, keys, stand), slips=_slips(tallies), pending=pending,
    )  # fmt: skip


def _slips(tallies: Iterable[Tally]) -> dict[str, Counter[str]]:
    """Student → mistaken idea → how often it was shown."""
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for tally in tallies:
        for place, belief, times in tally.slips:
            found[tally.students[place]][belief] += times
    return found


def by_form(
    tally: Tally, row: dict[str, int]
) -> Iterator[tuple[list[Question], Counts, NDArray[np.uint8]]]:
    """Form by form: its questions, the numbers of students in `row`, their marks as letters."""
    groups: dict[str, list[int]] = defaultdict(list)
    for place, (student, form) in enumerate(zip(tally.students, tally.forms, strict=True)):
        if student in row:
            groups[form].append(place)
    for form, places in groups.items():
        questions = [q for q in tally.questions if q.form == form]
        text = "".join(tally.marks[place] for place in places)
        marks = np.frombuffer(text.encode("ascii"), dtype=np.uint8)
        rows = np.array([row[tally.students[place]] for place in places])
        yield questions, rows, marks.reshape(len(places), len(questions))


def _add(
    events: _Events, sums: Counts, questions: list[Question], rows: Counts,
    marks: NDArray[np.uint8], keys_of: KeysOf, column: dict[Key, int],
) -> None:  # fmt: skip
    """Count the answers to one form."""
    pairs = [(n, column[key]) for n, q in enumerate(questions) for key in keys_of(q)]
    if not pairs:
        return
    place, key = np.array(pairs).T
    seen = marks[:, place]
    for total, table in zip(sums, (COUNTED, ANSWERED, RIGHT), strict=True):
        np.add.at(total, key, table[seen].sum(axis=0))
    counted = COUNTED[seen]
    guess = np.array([q.guess for q in questions])[place]
    # row by row, so that a student's answers stay in the order of the form
    events.pair.append((rows[:, None] * len(column) + key)[counted])
    events.right.append(RIGHT[seen][counted])
    events.guess.append(np.broadcast_to(guess, seen.shape)[counted])


def _stand(events: _Events, students: int, keys: int, cut: float) -> Counts:
    """The verdict on each student and key, students by keys."""
    size = students * keys
    if not events.pair:
        return np.full((students, keys), TOO_LITTLE)
    pair, right = np.concatenate(events.pair), np.concatenate(events.right)
    known = traced(pair, right, np.concatenate(events.guess), size)
    total = np.bincount(pair, minlength=size)
    hits = np.bincount(pair[right], minlength=size)
    return verdicts(hits, total, known, cut).reshape(students, keys)


def _places(lessons: Iterable[Lesson], keys_of: KeysOf) -> dict[Key, tuple[int, int, str]]:
    """Key → places planned, places delivered, the day it was met last."""
    found: dict[Key, tuple[int, int, str]] = {}
    for lesson in lessons:
        given = bool(lesson.tally.students)
        there = {(q.number, key) for q in lesson.tally.questions for key in keys_of(q)}
        for key, count in Counter(key for _, key in there).items():
            planned, delivered, last = found.get(key, (0, 0, ""))
            day = max(last, lesson.day) if given else last
            found[key] = planned + count, delivered + count * given, day
    return found


def _figures(
    keys: list[Key], sums: Counts, stand: Counts, met: dict[Key, tuple[int, int, str]]
) -> Iterator[tuple[Key, Figures]]:
    of = [(stand == verdict).sum(axis=0) for verdict in range(4)]
    for i, key in enumerate(keys):
        planned, delivered, last = met[key]
        asked, answered, right = (int(n) for n in sums[:, i])
        mastered, likely, behind, too_little = (int(n[i]) for n in of)
        yield key, Figures(
            planned=planned, delivered=delivered, asked=asked, answered=answered, right=right,
            last=last, mastered=mastered, likely=likely, behind=behind, too_little=too_little,
        )  # fmt: skip


def _behind(people: tuple[str, ...], keys: list[Key], stand: Counts) -> dict[str, tuple[Key, ...]]:
    found: dict[str, list[Key]] = defaultdict(list)
    for student, key in np.argwhere(stand == BEHIND):
        if keys[key][0] == "cell":
            found[people[student]].append(keys[key])
    return {student: tuple(those) for student, those in found.items()}
