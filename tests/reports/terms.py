"""Invented terms: classes, sets with questions about this and that, simulated answers.

Nobody's answers: who knows the matter of a question is drawn. The recount of what coverage counts
shares no code with it: it goes question by question through the documents and the results.
"""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet
from quizgen.forms.roster import Student
from quizgen.forms.slots import Slot
from quizgen.grading.responses import Response, Source, StudentResponses
from quizgen.items.item import LEVELS, Item
from quizgen.store.classes import SchoolClass, assign
from quizgen.store.contents import graded, stored_set, stored_sets
from quizgen.store.database import Store
from quizgen.store.gradebook import record
from tests.grading import graded as invented

SUBJECTS = (
    ("lamps", "shared-ground", "open-after-load", "voltmeter", "explain-readings"),
    ("motors", "relay-control", "open-before-load", "test-lamp", "choose-test"),
    ("lamps", "resistance-before-load", "voltmeter", "explain-readings"),
    ("flasher", "short-across-load", "ohmmeter", "senses", "explain-complaint"),
    ("reversing-motor", "current-path"),
)


@dataclass(frozen=True)
class Week:
    """One set of a class: its questions as (subjects, level), and who hands in."""

    school_class: int
    questions: tuple[tuple[int, int], ...]
    handed_in: tuple[int, ...]
    day: str = "2026-09-07"
    seed: int = 0


def question(name: str, about: tuple[int, int]) -> Item:
    """Key B of A to C."""
    subjects = SUBJECTS[about[0] % len(SUBJECTS)]
    return replace(
        invented.one(name), level=LEVELS[about[1] % 5], topics=subjects[:1], subjects=subjects
    )


def a_set(number: int, week: Week, students: Sequence[Student]) -> ProblemSet:
    """Forms A and B; the questions of B stand in the reverse order."""
    orders = {"A": week.questions, "B": week.questions[::-1]}
    forms = tuple(
        Form(code=code, items=tuple(question(f"{code}{i}", q) for i, q in enumerate(order)))
        for code, order in orders.items()
    )
    slots = tuple(
        Slot(number=n, family="divider", kind=i.kind, topic=i.topics[0], level=i.level)
        for n, i in enumerate(forms[0].items, 1)
    )
    return ProblemSet(
        format=FILE_FORMAT, name=f"set-{number}", token=f"set{number:05}", title="Invented",
        week="", scenario="brindlemere", circuits=("divider",), slots=slots, forms=forms,
        students=tuple(students),
    )  # fmt: skip


def people(school_class: int, count: int) -> tuple[Student, ...]:
    """The students of a class, forms in turn."""
    return tuple(
        Student(id=f"C{school_class}-{n:03}", name=f"Student {n}", form="AB"[n % 2])
        for n in range(count)
    )


def answers(week: Week, problem_set: ProblemSet) -> list[StudentResponses]:
    """Simulated answers; a tenth is left blank, one in thirty is doubtful."""
    rng = random.Random(week.seed)
    found = []
    for n in week.handed_in:
        student = problem_set.students[n]
        ability = random.Random(f"{student.id}").random()
        given = []
        for number in range(1, len(week.questions) + 1):
            letter = "B" if rng.random() < 0.25 + 0.7 * ability else rng.choice("AAC")
            state = rng.choices(("answered", "blank", "doubtful"), (87, 10, 3))[0]
            given.append(Response(
                item=number, value=() if state == "blank" else (letter,), state=state,  # type: ignore[arg-type]
                doubt="faint" if state == "doubtful" else "",
            ))  # fmt: skip
        found.append(StudentResponses(
            student=student.id, form=student.form, responses=tuple(given),
            source=Source(file="simulated.csv", digest=f"{problem_set.token}"),
        ))  # fmt: skip
    return found


def keep(store: Store, weeks: Sequence[Week], size: int) -> None:
    """Assign and grade the sets of a term."""
    for number, week in enumerate(weeks):
        problem_set = a_set(number, week, people(week.school_class, size))
        name = SchoolClass(name=f"Class {week.school_class}", course="Faults", term="autumn")
        teacher = ("R. Adeyemi", "M. Lindqvist")[week.school_class % 2]
        assign(store, problem_set, name, instructor=teacher, day=week.day)
        if week.handed_in:
            record(store, problem_set, answers(week, problem_set), "simulation")


def recount(store: Store) -> dict[tuple[str, str], dict[str, int]]:
    """Planned, delivered, asked, answered and right of every cell over all sets."""
    cells: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for token in stored_sets(store):
        problem_set, results = stored_set(store, token), graded(store, token)
        for place in range(len(problem_set.slots)):
            here = {
                (subject, form.items[place].level)
                for form in problem_set.forms
                for subject in form.items[place].subjects
            }
            for cell in here:
                cells[cell]["planned"] += 1
                cells[cell]["delivered"] += 1 if results else 0
        for result in results:
            form = next(f for f in problem_set.forms if f.code == result.given.form)
            for item, mark in zip(form.items, result.result.marks, strict=True):
                if mark.verdict in ("doubtful", "withdrawn"):
                    continue
                for subject in item.subjects:
                    counts = cells[subject, item.level]
                    counts["asked"] += 1
                    counts["answered"] += mark.verdict != "blank"
                    counts["right"] += mark.verdict == "right"
    names = ("planned", "delivered", "asked", "answered", "right")
    return {cell: {name: counts[name] for name in names} for cell, counts in cells.items()}
