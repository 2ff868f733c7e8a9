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
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.reports.mastery import BEHIND, TOO_LITTLE, Counts, Floats, traced, verdicts
from quizgen.store.classes import Lesson, Taught
from quizgen.store.tallies import Question, Tally

Key = tuple[str, str, str]  # sort, and two names
KeysOf = Callable[[Question], tuple[Key, ...]]

BLOCK = 2**16  # pairs of student and key at a time: memory does not grow with the class

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


@dataclass(frozen=True, kw_only=True)
class _Answers:
    """What students (`rows`) gave to one form. The question at `place[i]` counts for `key[i]`."""

    lesson: int
    rows: Counts
    marks: NDArray[np.uint8]  # students x questions
    place: Counts
    key: Counts
    guess: Floats  # by question


def count_class(taught: Taught, keys_of: KeysOf, places_of: KeysOf, cut: float) -> ClassCounts:
    """All counts of a class; its lessons are in the order of time."""
    tallies = [lesson.tally for lesson in taught.lessons]
    about = [[keys_of(q) for q in tally.questions] for tally in tallies]
    keys = list(dict.fromkeys(k for each in about for those in each for k in those))
    people = tuple(dict.fromkeys([*taught.students, *(s for y in tallies for s in y.students)]))
    answers = _answers(tallies, about, people, keys)
    shares = np.zeros((len(people), len(tallies), 3), dtype=np.int64)
    sums = np.zeros((3, len(keys)))  # asked, answered, right
    for these in answers:
        shares[these.rows, these.lesson, 0] = COUNTED[these.marks].sum(axis=1)
        shares[these.rows, these.lesson, 1] = RIGHT[these.marks].sum(axis=1)
        shares[these.rows, these.lesson, 2] = 1
        for i, table in enumerate((COUNTED, ANSWERED, RIGHT)):
            by_question = table[these.marks].sum(axis=0)[these.place]
            sums[i] += np.bincount(these.key, by_question, minlength=len(keys))
    stand = _stand(answers, len(people), len(keys), cut)
    met = _places(taught.lessons, about)
    pairs = _places(taught.lessons, [[places_of(q) for q in y.questions] for y in tallies])
    return ClassCounts(
        students=people, figures=dict(_figures(keys, sums.astype(np.int64), stand, met)),
        places={key: delivered for key, (_, delivered, _) in pairs.items() if delivered},
        shares=shares, behind=_behind(people, keys, stand), slips=_slips(tallies),
        pending=sum(int((these.marks == ord("?")).sum()) for these in answers),
    )  # fmt: skip


def _answers(
    tallies: Sequence[Tally], about: Sequence[Sequence[tuple[Key, ...]]],
    people: Sequence[str], keys: Sequence[Key],
) -> list[_Answers]:  # fmt: skip
    row = {student: i for i, student in enumerate(people)}
    column = {key: i for i, key in enumerate(keys)}
    columns: dict[tuple[Key, ...], Counts] = {}
    found = []
    for lesson, tally in enumerate(tallies):
        for places, rows, marks in by_form(tally, row):
            topics = [about[lesson][place] for place in places]
            for those in topics:
                if those not in columns:
                    columns[those] = np.array([column[key] for key in those], dtype=np.int64)
            found.append(_Answers(
                lesson=lesson, rows=rows, marks=marks,
                key=np.concatenate([columns[those] for those in topics]),
                place=np.repeat(np.arange(len(topics)), [len(those) for those in topics]),
                guess=np.array([tally.questions[place].guess for place in places]),
            ))  # fmt: skip
    return found


def _slips(tallies: Iterable[Tally]) -> dict[str, Counter[str]]:
    """Student → mistaken idea → how often it was shown."""
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for tally in tallies:
        for place, belief, times in tally.slips:
            found[tally.students[place]][belief] += times
    return found


def by_form(
    tally: Tally, row: dict[str, int]
) -> Iterator[tuple[list[int], Counts, NDArray[np.uint8]]]:
    """Form by form: places of its questions, numbers of students in `row`, marks as letters."""
    groups: dict[str, list[int]] = defaultdict(list)
    for place, (student, form) in enumerate(zip(tally.students, tally.forms, strict=True)):
        if student in row:
            groups[form].append(place)
    for form, places in groups.items():
        questions = [i for i, q in enumerate(tally.questions) if q.form == form]
        text = "".join(tally.marks[place] for place in places)
        marks = np.frombuffer(text.encode("ascii"), dtype=np.uint8)
        rows = np.array([row[tally.students[place]] for place in places])
        yield questions, rows, marks.reshape(len(places), len(questions))


def _stand(answers: Sequence[_Answers], students: int, keys: int, cut: float) -> Counts:
    """The verdict on each student and key, students by keys."""
    found = np.full((students, keys), TOO_LITTLE)
    block = max(1, BLOCK // max(keys, 1))
    for first in range(0, students, block):
        here = found[first : first + block]
        events = [e for these in answers if (e := _events(these, first, len(here), keys))]
        if events:
            pair, right, guess = (np.concatenate(part) for part in zip(*events, strict=True))
            total = np.bincount(pair, minlength=here.size)
            hits = np.bincount(pair[right], minlength=here.size)
            known = traced(pair, right, guess, here.size)
            here[:] = verdicts(hits, total, known, cut).reshape(here.shape)
    return found


def _events(
    these: _Answers, first: int, students: int, keys: int
) -> tuple[Counts, NDArray[np.bool_], Floats] | None:
    """An entry for each answer of so many students and each key, each student's in their order."""
    mine = (these.rows >= first) & (these.rows < first + students)
    if not mine.any():
        return None
    seen = these.marks[mine][:, these.place]
    counted = COUNTED[seen]
    pair = (these.rows[mine] - first)[:, None] * keys + these.key
    guess = np.broadcast_to(these.guess[these.place], seen.shape)
    return pair[counted], RIGHT[seen][counted], guess[counted]


def _places(
    lessons: Iterable[Lesson], about: Iterable[Sequence[tuple[Key, ...]]]
) -> dict[Key, tuple[int, int, str]]:
    """Key → places planned, places delivered, the day it was met last."""
    found: dict[Key, tuple[int, int, str]] = {}
    for lesson, topics in zip(lessons, about, strict=True):
        given = bool(lesson.tally.students)
        pairs = zip(lesson.tally.questions, topics, strict=True)
        there = {(q.number, key) for q, those in pairs for key in those}
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
