"""How long the coverage report of a large department takes, and how much memory.

    python tests/bench/bench_coverage.py [--students 10000] [--weeks 40] [--size 25]
        [--store postgresql://user@host/name]

Answers are simulated: nobody's. Documents of the sets are filled up to a usual size, since a report
that read them would be slow by that alone. Tallies are written as grading writes them.
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

import msgspec
from sqlalchemy import insert

sys.path.insert(0, str(Path(__file__).parents[2]))

from quizgen.items.item import LEVELS
from quizgen.items.topics import topic_map
from quizgen.reports.competencies import read_competencies, shipped_mapping
from quizgen.reports.coverage import Wanted, coverage
from quizgen.store import tables as t
from quizgen.store.classes import SchoolClass
from quizgen.store.database import Store, open_store
from quizgen.store.tallies import Question, Tally

QUESTIONS = 10
DOCUMENT = "{}" + " " * 150_000
START = date(2025, 9, 1)


def matters(rng: random.Random) -> list[tuple[str, tuple[str, ...]]]:
    """Levels with five topics: as many as there are circuits, kinds and a handful of faults."""
    groups = ("circuits", "circuits", "faults", "instruments", "reasoning")
    by_group = [[x.id for x in topic_map().values() if x.group == g] for g in groups]
    return [(rng.choice(LEVELS), tuple(dict.fromkeys(rng.choice(g) for g in by_group)))
            for _ in range(25 * 14 * 8)]  # fmt: skip


def a_tally(rng: random.Random, about: list[tuple[str, tuple[str, ...]]],
            students: list[str]) -> Tally:  # fmt: skip
    """Two forms, seven in ten right."""
    asked = [rng.choice(about) for _ in range(2 * QUESTIONS)]
    questions = tuple(
        Question(form="AB"[i // QUESTIONS], number=i % QUESTIONS + 1, level=level, guess=1 / 3,
                 subjects=subjects)
        for i, (level, subjects) in enumerate(asked)
    )  # fmt: skip
    marks = tuple("".join(rng.choices("1p0-", (70, 5, 20, 5), k=QUESTIONS)) for _ in students)
    return Tally(
        questions=questions, students=tuple(students), marks=marks,
        forms=tuple("AB"[i % 2] for i in range(len(students))),
        beliefs={"stops-early": (20, 200), "load-blamed": (10, 200)},
        slips=tuple((i, "stops-early", 1) for i in range(0, len(students), 3)),
    )  # fmt: skip


def fill(store: Store, students: int, weeks: int, size: int) -> None:
    """Classes of `size`, a set for each in each week."""
    rng = random.Random(1)
    about = matters(rng)
    for first in range(0, students, size):
        group = SchoolClass(name=f"Class {first // size}", course="Faults", term="year")
        people = [f"S-{n:05}" for n in range(first, min(first + size, students))]
        sets, lessons, tallies = [], [], []
        for week in range(weeks):
            token, day = f"{first:05}-{week:02}", (START + timedelta(weeks=week)).isoformat()
            sets.append({"token": token, "name": token, "digest": "", "document": DOCUMENT,
                         "part_credit": True, "added_at": f"{day}T00:00:00Z"})  # fmt: skip
            lessons.append({"token": token, "class_id": group.id, "instructor": "nobody",
                            "day": day, "at": day})  # fmt: skip
            content = msgspec.json.encode(a_tally(rng, about, people)).decode()
            tallies.append({"token": token, "content": content})
        with store.writing() as connection:
            connection.execute(insert(t.school_class).values(
                id=group.id, name=group.name, course=group.course, term=group.term))  # fmt: skip
            connection.execute(insert(t.enrolment), [
                {"class_id": group.id, "student": s, "name": s} for s in people])  # fmt: skip
            connection.execute(insert(t.problem_set), sets)
            connection.execute(insert(t.lesson), lessons)
            connection.execute(insert(t.tally), tallies)


def main() -> None:
    """Fill, report, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--students", type=int, default=10_000)
    parser.add_argument("--weeks", type=int, default=40)
    parser.add_argument("--size", type=int, default=25)
    parser.add_argument("--store", default="")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(chosen.store or str(Path(folder) / "grades.sqlite"))
        fill(store, chosen.students, chosen.weeks, chosen.size)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        elements = read_competencies(shipped_mapping())
        clock, spent = time.perf_counter(), time.process_time()
        report = coverage(store, Wanted(day=START + timedelta(weeks=chosen.weeks)), elements)
        clock, spent = time.perf_counter() - clock, time.process_time() - spent
        store.close()
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    asked = sum(s.asked for c in report.classes for s in c.sets)
    print(f"{chosen.students} students, {chosen.weeks} weeks, {len(report.classes)} classes, "
          f"{asked} answers: {spent:.2f} s of a core, {clock:.2f} s on the clock, "
          f"{before:.0f} MB before, {after:.0f} MB at most")  # fmt: skip


if __name__ == "__main__":
    main()
