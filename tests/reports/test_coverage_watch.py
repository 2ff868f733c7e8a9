"""Verdicts, whom and what to look at: by other code, question by question, student by student."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import pytest
from scipy import stats

from quizgen.base.proportion import wilson
from quizgen.reports.coverage_answers import Columns, Key
from quizgen.reports.coverage_counts import count_classes
from quizgen.reports.coverage_watch import at_risk, to_replace
from quizgen.store.classes import Lesson, SchoolClass, Taught
from quizgen.store.tallies import Tally

CUT = 0.6
SIZES = {"A": 6, "B": 4}


def spoilt(rng: random.Random, marks: list[list[str]]) -> None:
    """Some questions are withdrawn, mastered by all, keyed wrongly, or of little use."""
    for place in range(len(marks[0])):
        fate = rng.random()
        for mine in marks:
            knows = mine[:3].count("1") >= 2
            if fate < 0.15:
                mine[place] = "x"
            elif fate < 0.3:
                mine[place] = "1"
            elif fate < 0.5 and place > 2:
                mine[place] = "0" if knows else "1"
            elif fate < 0.65:
                mine[place] = rng.choice("0000001")


def a_class(seed: int, about: tuple[str, ...] = ("read|lamps",) * 10) -> Taught:
    """Eighty students, five sets of two forms of different length; some miss the last two."""
    rng = random.Random(seed)
    people = [f"S-{n:02}" for n in range(80)]
    lessons = []
    for week in range(5):
        there = [s for n, s in enumerate(people) if week < 3 or n % 10]
        marks = {form: [rng.choices("1p0-?", (6 - i % 5, 1, i % 5, 1, 1), k=size)
                        for i, _ in enumerate(there[f::2])]
                 for f, (form, size) in enumerate(SIZES.items())}  # fmt: skip
        for those in marks.values():
            spoilt(rng, those)
        tally = Tally(
            forms=SIZES, about=about, ways=(3,) * 10,
            students=tuple(there[0::2] + there[1::2]),
            taken=("A",) * len(marks["A"]) + ("B",) * len(marks["B"]),
            marks=tuple("".join(mine) for form in marks.values() for mine in form),
        )  # fmt: skip
        lessons.append(Lesson(token=str(week), name=f"set-{week}", instructor="",
                              day=f"2026-09-{week + 10}", tally=tally))  # fmt: skip
    return Taught(school_class=SchoolClass(name="C"), students=dict.fromkeys(people, ""),
                  lessons=tuple(lessons))  # fmt: skip


def keys_of(subjects: tuple[str, ...], level: str) -> list[Key]:
    """A cell for each subject."""
    return [("cell", subject, level) for subject in subjects]


def verdict(answers: Sequence[bool]) -> str:
    """On one student and cell, question by question: Corbett and Anderson's chances, Wilson."""
    known = 0.3
    for right in answers:
        yes, no = (0.9, 1 / 3) if right else (0.1, 2 / 3)
        after = known * yes / (known * yes + (1 - known) * no)
        known = after + (1 - after) * 0.2
    low, high = wilson(sum(answers), len(answers))
    if high < CUT:
        return "behind"
    if known < 0.95:
        return "too_little"
    return "mastered" if low >= CUT else "likely"


def test_classes_that_are_counted_together_are_each_counted_right() -> None:
    """Two classes whose questions are about other things: verdicts student by student."""
    every = [a_class(1, ("read|lamps", "read|fuses|lamps") * 5),
             a_class(2, ("read|motors|fuses",) * 3 + ("read|lamps",) * 7)]  # fmt: skip
    for taught, counts in count_classes(every, Columns(keys_of), Columns(lambda s, v: ()), CUT):
        given: dict[tuple[str, str], list[bool]] = {}
        for tally in (lesson.tally for lesson in taught.lessons):
            for student, form, marks in zip(tally.students, tally.taken, tally.marks, strict=True):
                start = 0 if form == "A" else SIZES["A"]
                for place, mark in enumerate(marks):
                    for subject in tally.about[start + place].split("|")[1:]:
                        if mark in "1p0-":
                            given.setdefault((student, subject), []).append(mark == "1")
        for (_, subject, _), figures in counts.figures.items():
            found = Counter(verdict(given.get((s, subject), [])) for s in taught.students)
            assert len(found) >= 2
            assert found == Counter({v: n for v in ("mastered", "likely", "behind", "too_little")
                                     if (n := getattr(figures, v))})  # fmt: skip
        assert {subject for _, subject, _ in counts.figures} == {s for _, s in given}


def why(column: Sequence[str], rights: Sequence[int]) -> str:
    """Which rule a question of three options breaks; `rights` are right answers of each student."""
    if set(column) == {"x"}:
        return "withdrawn"
    kept = [(m == "1", r - (m == "1")) for m, r in zip(column, rights, strict=True) if m in "1p0-"]
    right, rest = np.array(kept, dtype=float).T
    if wilson(right.sum(), len(right))[1] < 1 / 3:
        return "fewer right"
    if len(right) >= 20 and right.all():
        return "everybody"
    if len(right) >= 30 and np.ptp(right) and np.ptp(rest):
        interval = stats.pearsonr(right, rest).confidence_interval(0.95)
        if interval.high < 0:
            return "the better"
    return ""


def expected(taught: Taught) -> Iterator[tuple[str, str, int, str]]:
    """Set, form, number and reason of what should go."""
    for lesson in taught.lessons:
        taken = zip(lesson.tally.taken, lesson.tally.marks, strict=True)
        by_form = {form: [m for f, m in taken if f == form] for form in ("A",)}
        taken = zip(lesson.tally.taken, lesson.tally.marks, strict=True)
        by_form["B"] = [m for f, m in taken if f == "B"]
        for form, rows in by_form.items():
            for place in range(SIZES[form]):
                found = why([m[place] for m in rows], [m.count("1") for m in rows])
                if found:
                    yield lesson.name, form, place + 1, found


@pytest.mark.parametrize("seed", range(4))
def test_questions_to_replace_are_those_that_break_a_rule(seed: int) -> None:
    """Correlation and its interval by scipy (Fisher's z), one question after the other."""
    taught = a_class(seed)
    ((_, counts),) = count_classes([taught], *(Columns(lambda s, v: ()) for _ in range(2)), CUT)
    found = [(r.set, r.form, r.number, r.why) for r in to_replace(taught, counts)]
    wanted = list(expected(taught))
    assert len({reason for *_, reason in wanted}) >= 3
    assert [place[:3] for place in found] == [place[:3] for place in wanted]
    assert all(f[3].startswith(w[3]) for f, w in zip(found, wanted, strict=True))


def test_students_at_risk_are_those_with_a_reason() -> None:
    """Missed the last two sets, or Wilson's upper end over the last four below the cut."""
    taught = a_class(9)
    ((_, counts),) = count_classes([taught], *(Columns(lambda s, v: ()) for _ in range(2)), CUT)
    wanted = {}
    for student in taught.students:
        mine = [
            dict(zip(k.tally.students, k.tally.marks, strict=True)).get(student)
            for k in taught.lessons
        ]
        text = "".join(filter(None, mine[-4:]))
        right, asked = text.count("1"), sum(text.count(m) for m in "1p0-")
        reasons = ["Handed in none of the last 2"] if mine[-2:] == [None, None] else []
        if asked and wilson(right, asked)[1] < CUT:
            reasons.append(f"{right} of {asked} right")
        if reasons:
            wanted[student] = reasons
    found = {a.student: a.evidence for a in at_risk(taught, counts, CUT)}
    assert len(wanted) > 8
    assert set(found) == set(wanted)
    for student, evidence in found.items():
        assert all(e.startswith(w) for e, w in zip(evidence, wanted[student], strict=True))
