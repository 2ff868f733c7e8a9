"""The term from top to bottom: lessons in any order, then its end, then the index page."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from itertools import accumulate, pairwise
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.base.spread import Runner
from quizgen.base.writing import write_whole
from quizgen.demo.index import index_page
from quizgen.demo.lesson import REPORTS, STORE, Lesson, hold
from quizgen.demo.term import Term
from quizgen.demo.terminal import Terminal
from quizgen.scenario.scenario import Scenario, find_scenario
from quizgen.store.database import open_store

Asked = tuple[str, ...]
"""The words of a command."""


def clear(term: Term, out: Path) -> None:
    """Remove what an older demonstration of the term left in `out`, and nothing else."""
    for folder in (*(group.folder for group in term.groups), REPORTS):
        shutil.rmtree(out / folder, ignore_errors=True)
    for name in (STORE, "index.html"):
        (out / name).unlink(missing_ok=True)


def run_term(term: Term, out: Path, runner: Runner, progress: Callable[[str], None]) -> Path:
    """Everything into the folder `out`; returns the index page.

    Raises InputError when the folder holds an older demonstration, or the term asks for an
    instructor that there is not; what a command raises.
    """
    if (out / STORE).exists():
        raise InputError(f"{out}: holds a demonstration; say --again, or name another folder")
    scenario = find_scenario(term.scenario)
    lessons = [*lessons_of(term, scenario, out)]
    out.mkdir(parents=True, exist_ok=True)
    open_store(str(out / STORE), new=True).close()  # made once, before several processes want it
    began = time.monotonic()
    for done, (_, name) in enumerate(runner.map(hold, lessons), 1):
        progress(f"{done} of {len(lessons)} lessons: {name}, {time.monotonic() - began:.0f} s")
    ends = [*end_of(term, out)]
    printed = dict(runner.map(asked, ends))
    transcript = "".join(printed[number] for number in range(len(ends)))
    write_whole(out / REPORTS / "commands.txt", transcript.encode())
    return write_whole(out / "index.html", index_page(term, scenario, lessons, out).encode())


def lessons_of(term: Term, scenario: Scenario, out: Path) -> Iterator[Lesson]:
    """Every class in every week, the last week first, since it takes longest."""
    instructors = scenario.instructors
    people = scenario.people("student", sum(g.students for g in term.groups), term.seed)
    bounds = pairwise((0, *accumulate(g.students for g in term.groups)))
    for group, (first, last) in zip(term.groups, bounds, strict=True):
        if group.instructor > len(instructors):
            raise InputError(f"{group.name}: {scenario.name} has {len(instructors)} instructors")
        students = {person.id: person.name for person in people[first:last]}
        teacher = instructors[group.instructor - 1].name
        for week in reversed(term.weeks):
            yield Lesson(term, group, week, students, teacher, out)


def end_of(term: Term, out: Path) -> Iterator[Asked]:
    """What the coordinator asks for: coverage, term reports, next week's plans."""
    at = ("--store", str(out / STORE), "--on", term.ends.isoformat())
    to = ("--out", str(out / REPORTS))
    yield ("coverage", "write", *at, *to)  # the longest first
    for group in term.groups:
        yield ("coverage", "term", "--class", group.name, "--term", term.name, *at, *to)
    yield ("coverage", "show", *at)
    after = len(term.weeks) + 1
    for group in term.groups:
        name, week = f"{group.folder}-{after}", f"Week {after}"
        yield ("coverage", "suggest", name, "--class", group.name, "--week", week, *to, *at)


def asked(words: Asked) -> str:
    """One command and what it printed. One job for a `Runner`."""
    terminal = Terminal()
    terminal(*words)
    return terminal.transcript
