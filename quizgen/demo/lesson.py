"""One class in one week: the set is built, answered, graded, and its class entered."""

from __future__ import annotations

import csv
import io
import json
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import yaml

from quizgen.base.writing import write_whole
from quizgen.demo.learners import learners
from quizgen.demo.paper import scan_of
from quizgen.demo.term import Group, Term, Week
from quizgen.demo.terminal import Terminal
from quizgen.forms.handed_in import SUFFIX, Step, hand_in, write_handed_in
from quizgen.forms.problem_set import Form, ProblemSet, read_problem_set
from quizgen.forms.sheet import lay_out_sheet
from quizgen.publish.pack import read_pack

STORE = "grades.sqlite"
REPORTS = "coverage"  # folder of the reports over all classes
Answers = Mapping[str, Mapping[int, str]]
"""Student → question → answer as it would be typed."""


@dataclass(frozen=True)
class Lesson:
    """A class in a week, its students (id → name), and the folder `out` of the demonstration."""

    term: Term
    group: Group
    week: Week
    students: Mapping[str, str]
    instructor: str
    out: Path

    @property
    def name(self) -> str:
        """That of the set."""
        return f"{self.group.folder}-{self.week.number:02}"

    @property
    def folder(self) -> Path:
        """Where all of it goes."""
        return self.out / self.group.folder / f"week-{self.week.number:02}"

    @property
    def is_last(self) -> bool:
        """Whether the term ends with it."""
        return self.week.number == len(self.term.weeks)

    @property
    def printed(self) -> bool:
        """Whether pages are made."""
        return self.is_last or self.group.prints == "every"

    @property
    def set_file(self) -> Path:
        """The instructor's file."""
        return self.folder / f"{self.name}.instructor.json"

    @property
    def at(self) -> tuple[object, ...]:
        """Set and store, as words of a command."""
        return (self.set_file, "--store", self.out / STORE)


def hold(lesson: Lesson) -> str:
    """All of a lesson; returns its name. One job for a `Runner`."""
    terminal = Terminal()
    plan = write_plan(lesson)
    pages = () if lesson.printed else ("--no-pages",)
    terminal("set", "build", plan, "--out", lesson.folder, "--jobs", 1, *pages)
    problem_set = read_problem_set(lesson.set_file)
    answers = simulated(lesson, problem_set)
    files = handed_in(lesson, problem_set, answers)
    terminal("grade", "score", *lesson.at, "--who", lesson.instructor, *files)
    if lesson.group.hands_in == "sheets":
        look_at_doubts(lesson, answers, terminal)
    withdraw(lesson, terminal)
    terminal(
        "coverage", "assign", *lesson.at, "--class", lesson.group.name,
        "--term", lesson.term.name, "--course", lesson.term.course,
        "--instructor", lesson.instructor,
        "--on", lesson.term.day(lesson.group, lesson.week).isoformat(),
    )  # fmt: skip
    report(lesson, terminal)
    write_whole(lesson.folder / "commands.txt", terminal.transcript.encode())
    return lesson.name


def report(lesson: Lesson, terminal: Terminal) -> None:
    """Of a week with pages the class report, of the last one what students get too."""
    reports = lesson.folder / "reports"
    if lesson.printed:
        alone = () if lesson.is_last else ("--no-feedback",)
        terminal("grade", "report", *lesson.at, "--out", reports, *alone)
    if lesson.is_last:
        terminal("grade", "export", *lesson.at, "--csv", reports / "results.csv")


def write_plan(lesson: Lesson) -> Path:
    """Plan and roster, as an instructor would write them."""
    roster = lesson.folder.parent / "roster.csv"
    write_whole(roster, _csv([("id", "name"), *lesson.students.items()]))
    plan = {
        "format": 1, "name": lesson.name, "title": lesson.week.title,
        "week": f"Week {lesson.week.number}", "scenario": lesson.term.scenario,
        "instructor": lesson.instructor, "forms": 2 if lesson.is_last else 1,
        "roster": "../roster.csv", "circuits": list(lesson.week.circuits),
        "blueprint": {t: dict(levels) for t, levels in lesson.week.blueprint.items()},
        "secret": f"{lesson.term.secret} ({lesson.group.name})",
    }  # fmt: skip
    text = yaml.safe_dump(plan, sort_keys=False, allow_unicode=True, width=96)
    return write_whole(lesson.folder / f"{lesson.name}.yaml", text.encode())


def _csv(rows: Iterable[Sequence[str]]) -> bytes:
    """As somebody types it: a minus stays a minus, which what we write for spreadsheets avoids."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode()


def simulated(lesson: Lesson, problem_set: ProblemSet) -> Answers:
    """What those who were there answered."""
    group, term = lesson.group, lesson.term
    people = learners(
        [*lesson.students], f"{term.seed} {group.name}", level=group.level, spread=group.spread,
        weeks=len(term.weeks),
    )  # fmt: skip
    forms = _form_of(problem_set)
    found = {person.id: person.week(lesson.week.number, forms[person.id]) for person in people}
    return {student: answers for student, answers in found.items() if answers is not None}


def _form_of(problem_set: ProblemSet) -> dict[str, Form]:
    forms = {form.code: form for form in problem_set.forms}
    return {student.id: forms[student.form] for student in problem_set.students}


def handed_in(lesson: Lesson, problem_set: ProblemSet, answers: Answers) -> list[Path]:
    """The answers as files, in the way of the class."""
    ways = {"sheets": _on_sheets, "terminal": _from_terminal, "table": _in_a_table}
    return ways[lesson.group.hands_in](lesson, problem_set, answers)


def _on_sheets(lesson: Lesson, problem_set: ProblemSet, answers: Answers) -> list[Path]:
    forms = _form_of(problem_set)
    filled = [
        (page, lay_out_sheet(forms[s.id].items), forms[s.id].items, answers[s.id])
        for page, s in enumerate(problem_set.students)
        if s.id in answers
    ]
    rng = random.Random(f"{lesson.term.seed} {lesson.name} pencils")
    rng.shuffle(filled)  # as they lie on the pile
    sheets = lesson.folder / f"{lesson.name}.sheets.pdf"
    return [scan_of(sheets, filled, lesson.folder / "scans.pdf", rng)]


def _from_terminal(lesson: Lesson, problem_set: ProblemSet, answers: Answers) -> list[Path]:
    day = lesson.term.day(lesson.group, lesson.week).isoformat()
    forms, packs = _form_of(problem_set), _pack_sums(lesson, problem_set)
    files = []
    for student, given in answers.items():
        form = forms[student].code
        steps = tuple(
            Step(at=f"{day}T18:{number:02}:00Z", number=number, answer=answer)
            for number, answer in given.items()
        )
        record = hand_in(
            token=problem_set.token, form=form, student=student, pack=packs.get(form, ""),
            steps=steps,
        )  # fmt: skip
        files.append(write_handed_in(record, lesson.folder / "answers" / f"{student}{SUFFIX}"))
    return files


def _pack_sums(lesson: Lesson, problem_set: ProblemSet) -> dict[str, str]:
    """Checksums of the packs by form; there are none where no pages were made."""
    if not lesson.printed:
        return {}
    codes = [form.code for form in problem_set.forms]
    return {c: read_pack(lesson.folder / f"{lesson.name}-{c}.pack.json").checksum for c in codes}


def _in_a_table(lesson: Lesson, problem_set: ProblemSet, answers: Answers) -> list[Path]:
    numbers = range(1, max(len(form.items) for form in problem_set.forms) + 1)
    forms = _form_of(problem_set)
    rows = [("id", "form", *map(str, numbers))]
    for student, given in answers.items():
        typed = (given.get(number, "") or "-" for number in numbers)
        rows.append((student, forms[student].code, *typed))
    return [write_whole(lesson.folder / "answers.csv", _csv(rows))]


def withdraw(lesson: Lesson, terminal: Terminal) -> None:
    """Take back the questions that the term's file names; everybody is scored anew."""
    here = (lesson.group.name, lesson.week.number)
    for change in lesson.term.withdrawn:
        if (change.group, change.week) == here:
            item = ("--item", change.item, "--withdraw", "--why", change.why)
            terminal("grade", "amend", *lesson.at, *item, "--who", lesson.instructor)
            terminal("grade", "trail", *lesson.at)


def look_at_doubts(lesson: Lesson, answers: Answers, terminal: Terminal) -> None:
    """In the last week they wait on a page; before, the instructor decides by what was meant."""
    if lesson.is_last:
        terminal("grade", "review", *lesson.at, "--html", lesson.folder / "to-look-at.html")
        return
    open_ = json.loads(terminal("grade", "review", *lesson.at, "--json"))
    decided = [
        ("--decide", f"{doubt['id']}={answers[doubt['student']][doubt['question']] or '-'}")
        for doubt in open_
        if doubt["question"]
    ]
    if decided:
        words = [word for pair in decided for word in pair]
        terminal("grade", "review", *lesson.at, *words, "--who", lesson.instructor)
