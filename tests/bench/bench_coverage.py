"""How long reports on a large department take from its store, and how much memory.

    python tests/bench/bench_coverage.py [--students 10000] [--weeks 40] [--size 25]
        [--store postgresql://user@host/name]

Fills a store with classes of `size`, a set of two forms of 20 questions for each class and week,
with documents, submissions, results and tallies, then runs the commands in processes of their own.
Answers are simulated: nobody's. Rows are written in bulk; the program tallies one set as well, and
the bench stops if it finds anything else.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import msgspec
from sqlalchemy import insert

sys.path.insert(0, str(Path(__file__).parents[2]))

from quizgen.forms.problem_set import Form, ProblemSet, write_problem_set
from quizgen.forms.roster import Student
from quizgen.forms.slots import Slot
from quizgen.grading.keys import keys_of
from quizgen.items.item import LEVELS, Item
from quizgen.items.topics import topic_map
from quizgen.store import tables as t
from quizgen.store.classes import SchoolClass
from quizgen.store.contents import graded, stored_set
from quizgen.store.database import Store, open_store
from quizgen.store.identity import questions_digest
from quizgen.store.tallies import Tally, matter_of, read_tally, tally_of, ways_of
from tests.grading import graded as invented

QUESTIONS = 20
POOL = 2800  # questions about different things: circuits x kinds x a handful of faults
START = date(2025, 9, 1)
VERDICTS = {"B": "right", "A": "wrong", "C": "wrong", "": "blank"}
LETTERS = {"B": "1", "A": "0", "C": "0", "": "-"}
IDEAS = {"A": "stops-early", "C": "load-blamed"}  # of the options of `invented.one`


def pool(rng: random.Random) -> list[Item]:
    """Questions with five topics each."""
    groups = ("circuits", "circuits", "faults", "instruments", "reasoning")
    by_group = [[x.id for x in topic_map().values() if x.group == g] for g in groups]
    found = []
    for n in range(POOL):
        subjects = tuple(dict.fromkeys(rng.choice(topics) for topics in by_group))
        found.append(replace(invented.one(f"q{n}"), level=rng.choice(LEVELS),
                             topics=subjects[:1], subjects=subjects))  # fmt: skip
    return found


@dataclass(frozen=True)
class Week:
    """A class's set, who handed it in, and for each a letter for each question, or ""."""

    problem_set: ProblemSet
    students: tuple[Student, ...]
    answers: list[list[str]]


def a_week(
    rng: random.Random, items: Sequence[Item], name: str, students: tuple[Student, ...]
) -> Week:
    """Some know a third of it, some nearly all; one in sixteen does not hand in."""
    forms = tuple(Form(code=c, items=tuple(rng.choices(items, k=QUESTIONS))) for c in "AB")
    slots = tuple(
        Slot(number=n, family="divider", kind=i.kind, topic=i.topics[0], level=i.level)
        for n, i in enumerate(forms[0].items, 1)
    )
    problem_set = replace(
        invented.the_set([invented.one()]), name=name, token=name, slots=slots, forms=forms,
        students=students,
    )  # fmt: skip
    there = tuple(s for s in students if rng.random() < 15 / 16)
    answers = [
        [x.strip("-") for x in rng.choices("BAC-", ability(student), k=QUESTIONS)]
        for student in there
    ]
    return Week(problem_set, there, answers)


def ability(student: Student) -> tuple[float, ...]:
    """How likely the student is to pick the key, the wrong options, nothing; in per cent."""
    knows = 35 + 60 * random.Random(student.id).random()
    return knows, (95 - knows) * 2 / 3, (95 - knows) / 3, 5


def a_tally(week: Week) -> Tally:
    """The tally, put together from the letters."""
    students, items = week.students, week.problem_set.forms
    every = [item for form in items for item in form.items]
    shown = Counter(x for letters in week.answers for x in letters)
    asked = QUESTIONS * len(students)
    slips = {
        student.id: {IDEAS[x]: letters.count(x) for x in "CA" if x in letters}
        for student, letters in zip(students, week.answers, strict=True)
        if {"A", "C"} & set(letters)
    }
    return Tally(
        forms={form.code: QUESTIONS for form in items},
        about=tuple(matter_of(item.level, item.subjects) for item in every),
        ways=tuple(ways_of(item) for item in every),
        students=tuple(s.id for s in students), taken=tuple(s.form for s in students),
        marks=tuple("".join(LETTERS[x] for x in letters) for letters in week.answers),
        beliefs={IDEAS[x]: (shown[x], asked) for x in "CA"}, slips=slips,
    )  # fmt: skip


def set_rows(week: Week, day: str) -> dict[str, object]:
    """The row of a set."""
    this = week.problem_set
    return {
        "token": this.token, "name": this.name, "digest": questions_digest(this),
        "document": msgspec.json.encode(this).decode(), "part_credit": True,
        "added_at": f"{day}T00:00:00Z",
    }  # fmt: skip


def answer_rows(week: Week, day: str) -> Iterator[tuple[dict[str, object], dict[str, object]]]:
    """Submission and result of each student."""
    token = week.problem_set.token
    for student, letters in zip(week.students, week.answers, strict=True):
        key = f"{token}-{student.id}"
        submission = {
            "id": key, "token": token, "student": student.id, "form": student.form,
            "answers": msgspec.json.encode(letters).decode(), "file": "simulated.csv",
            "file_digest": "5", "place": 0, "who": "bench", "at": f"{day}T00:00:00Z",
        }  # fmt: skip
        marks = msgspec.json.encode([VERDICTS[x] for x in letters]).decode()
        yield submission, {
            "token": token, "student": student.id, "submission": key,
            "points": float(letters.count("B")), "out_of": QUESTIONS, "pending": 0, "marks": marks,
        }  # fmt: skip


def fill(store: Store, students: int, weeks: int, size: int) -> ProblemSet:
    """Everything, class by class; returns one of the sets."""
    rng = random.Random(1)
    items = pool(rng)
    for first in range(0, students, size):
        group = SchoolClass(name=f"Class {first // size}", course="Faults", term="year")
        people = tuple(
            Student(id=f"S-{n:05}", name=f"Student {n}", form="AB"[n % 2])
            for n in range(first, min(first + size, students))
        )
        rows: dict[str, list[dict[str, object]]] = {name: [] for name in t.metadata.tables}
        for number in range(weeks):
            day = (START + timedelta(weeks=number)).isoformat()
            week = a_week(rng, items, f"set-{first:05}-{number:02}", people)
            token = week.problem_set.token
            rows["problem_set"].append(set_rows(week, day))
            rows["lesson"].append({"token": token, "class_id": group.id, "instructor": "nobody",
                                   "day": day, "at": day})  # fmt: skip
            content = msgspec.json.encode(a_tally(week)).decode()
            rows["tally"].append({"token": token, "content": content})
            for submission, result in answer_rows(week, day):
                rows["submission"].append(submission)
                rows["result"].append(result)
        rows["school_class"] = [{"id": group.id, **vars(group)}]
        rows["enrolment"] = [
            {"class_id": group.id, "student": s.id, "name": s.name} for s in people
        ]
        with store.writing() as connection:
            for name in ("problem_set", "submission", "result", "school_class", "lesson",
                         "enrolment", "tally"):  # fmt: skip
                connection.execute(insert(t.metadata.tables[name]), rows[name])
    check(store, week)
    return week.problem_set


def check(store: Store, week: Week) -> None:
    """The program's own tally of a set is the one that was written."""
    token = week.problem_set.token
    counted = tally_of(stored_set(store, token), keys_of(week.problem_set), graded(store, token))
    with store.reading() as connection:
        content = connection.scalar(t.tally.select().with_only_columns(t.tally.c.content)
                                    .where(t.tally.c.token == token))  # fmt: skip
    assert read_tally(str(content)) == counted, "the simulated tally is not the program's"


def run(*command: str) -> None:
    """Run a command of the program and print what it took."""
    clock = time.perf_counter()
    child = os.spawnv(os.P_NOWAIT, sys.executable, [sys.executable, "-m", "quizgen", *command])
    _, status, used = os.wait4(child, 0)
    clock = time.perf_counter() - clock
    spent = used.ru_utime + used.ru_stime
    print(f"{' '.join(command[:3])}: {spent:.1f} s of a core, {clock:.1f} s on the clock, "
          f"{used.ru_maxrss / 1024:.0f} MB at most", "" if status == 0 else "FAILED",
          file=sys.stderr)  # fmt: skip


def main() -> None:
    """Fill, report, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--students", type=int, default=10_000)
    parser.add_argument("--weeks", type=int, default=40)
    parser.add_argument("--size", type=int, default=25)
    parser.add_argument("--store", default="")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        where = chosen.store or str(Path(folder) / "grades.sqlite")
        store, clock = open_store(where), time.perf_counter()
        one = fill(store, chosen.students, chosen.weeks, chosen.size)
        store.close()
        print(f"filled in {time.perf_counter() - clock:.0f} s", file=sys.stderr)
        set_file = write_problem_set(one, Path(folder) / "set.json")
        given = ("--store", where)
        on = ("--on", (START + timedelta(weeks=chosen.weeks)).isoformat())
        run("coverage", "show", *given, *on)
        run("coverage", "show", "--json", *given, *on)
        run("coverage", "write", "--out", folder, *given, *on)
        run("grade", "report", str(set_file), "--no-feedback", "--out", folder, *given)


if __name__ == "__main__":
    main()
