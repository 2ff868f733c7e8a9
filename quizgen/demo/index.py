"""The page that leads to everything the demonstration made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from quizgen.demo.lesson import REPORTS, Lesson
from quizgen.demo.term import Group, Term
from quizgen.publish.html import render
from quizgen.publish.page_options import PageOptions
from quizgen.publish.view import Heading
from quizgen.scenario.scenario import Scenario

HOW = {
    "sheets": "Answers come on paper sheets that are scanned.",
    "terminal": "Answers come as files from the terminal.",
    "table": "Answers come as a table that somebody typed.",
}
# what the files of a lesson are called, by the end of their names, column by column
COLUMNS = (
    ("For the class", (
        ("-A.workbook.pdf", "workbook A"),
        ("-A.workbook.html", "in a browser"),
        ("-B.workbook.pdf", "workbook B"),
        ("-B.workbook.html", "in a browser"),
        (".sheets.pdf", "answer sheets"),
    )),
    ("For the instructor", (
        (".key.pdf", "key"),
        (".key.html", "in a browser"),
        (".yaml", "plan"),
        (".instructor.json", "data"),
        ("commands.txt", "commands"),
    )),
    ("Handed in", (
        ("scans.pdf", "scanned sheets"),
        ("to-look-at.html", "sheets to look at"),
        ("answers.csv", "typed table"),
        ("answers", "answer files"),
    )),
    ("Reports", (
        (".class.pdf", "class"),
        (".class.html", "in a browser"),
        ("feedback", "feedback"),
        ("results.csv", "results"),
    )),
)  # fmt: skip
TERM_FILES = (
    ("coverage.html", "Coverage of all classes, for a browser"),
    ("coverage.pdf", "The same to print"),
    ("coverage.csv", "Its figures as a table"),
    (".term.pdf", "Term report to sign"),
    (".yaml", "Suggested plan for the week after"),
    ("commands.txt", "The commands that made these, and what they printed"),
)


@dataclass(frozen=True)
class Link:
    """An address, as seen from the page, and what it is called."""

    address: str
    name: str


@dataclass(frozen=True)
class WeekRow:
    """One week of a class."""

    number: int
    day: str
    title: str
    columns: tuple[tuple[str, tuple[Link, ...]], ...]


@dataclass(frozen=True)
class ClassPart:
    """A class with its weeks."""

    name: str
    about: str
    weeks: tuple[WeekRow, ...]


def index_page(term: Term, scenario: Scenario, lessons: Sequence[Lesson], out: Path) -> str:
    """The page as one HTML file without a script."""
    heading = Heading(
        college=scenario.college, course=term.course, title="A term with quizgen",
        week=term.name, instructor="", language=scenario.language,
    )  # fmt: skip
    classes = tuple(_class_part(group, lessons, out) for group in term.groups)
    values: dict[str, object] = {
        "heading": heading, "classes": classes, "reports": tuple(_term_links(out)),
        "first": tuple(_first_links(lessons, out)), "columns": [name for name, _ in COLUMNS],
    }  # fmt: skip
    return render("demo.html.j2", values, PageOptions(), screen=True)


def _class_part(group: Group, lessons: Sequence[Lesson], out: Path) -> ClassPart:
    mine = sorted((x for x in lessons if x.group == group), key=lambda x: x.week.number)
    pages = "" if group.prints == "every" else (
        " Pages were made for the last week; for another, build its plan."
    )  # fmt: skip
    return ClassPart(
        name=group.name,
        about=f"{mine[0].instructor} teaches {group.students} students. "
        f"{HOW[group.hands_in]}{pages}",
        weeks=tuple(
            WeekRow(
                x.week.number, f"{x.term.day(group, x.week):%d %B %Y}".lstrip("0"), x.week.title,
                tuple(_lesson_columns(x, out)),
            )
            for x in mine
        ),
    )  # fmt: skip


def _first_links(lessons: Sequence[Lesson], out: Path) -> Iterator[Link]:
    """What to open first: one of each, of the first class's last week."""
    best = max(lessons, key=lambda x: (x.printed, x.week.number, x.group == lessons[0].group))
    columns = dict(_lesson_columns(best, out))
    yield from (x for x in columns["For the class"] if x.name == "workbook A")
    yield from (x for x in columns["For the instructor"] if x.name == "key")
    yield from columns["Handed in"][:1]
    sheets = sorted((best.folder / "reports").glob("*.feedback/*.html"))
    if sheets:
        yield Link(sheets[0].relative_to(out).as_posix(), "a student's feedback")
    yield from (replace(x, name="class report") for x in columns["Reports"] if x.name == "class")


def _lesson_columns(lesson: Lesson, out: Path) -> Iterator[tuple[str, tuple[Link, ...]]]:
    places = (lesson.folder, lesson.folder / "reports")
    there = [path for place in places if place.is_dir() for path in sorted(place.iterdir())]
    for column, endings in COLUMNS:
        yield (
            column,
            tuple(
                Link(path.relative_to(out).as_posix() + ("/" if path.is_dir() else ""), name)
                for ending, name in endings
                for path in there
                if path.name.endswith(ending)
            ),
        )


def _term_links(out: Path) -> Iterator[Link]:
    """Every report of the term, each once."""
    left = sorted((out / REPORTS).iterdir())
    for ending, name in TERM_FILES:
        for path in [p for p in left if p.name.endswith(ending)]:
            left.remove(path)
            about = path.name.removesuffix(ending).replace("_", " ").replace("-", " ")
            shown = f"{name}: {about}" if ending in (".term.pdf", ".yaml") else name
            yield Link(path.relative_to(out).as_posix(), shown)
