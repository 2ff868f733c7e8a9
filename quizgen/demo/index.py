"""The page that leads to everything the demonstration made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizgen.demo.lesson import Lesson
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
# what a file is called, by the end of its name; the first that fits
LESSON_FILES = (
    (".yaml", "plan"),
    ("-A.workbook.pdf", "workbook A"),
    ("-B.workbook.pdf", "workbook B"),
    ("-A.workbook.html", "A for a browser"),
    ("-B.workbook.html", "B for a browser"),
    (".sheets.pdf", "answer sheets"),
    (".key.pdf", "key"),
    (".key.html", "key for a browser"),
    ("scans.pdf", "scanned answers"),
    ("answers.csv", "typed answers"),
    ("answers", "answer files"),
    ("to-look-at.html", "sheets to look at"),
    (".class.pdf", "class report"),
    (".class.html", "class report for a browser"),
    ("results.csv", "results"),
    ("feedback", "feedback sheets"),
    (".instructor.json", "data"),
    ("commands.txt", "commands"),
)
TERM_FILES = (
    ("coverage.html", "Coverage of all classes, for a browser"),
    ("coverage.pdf", "The same to print"),
    ("coverage.csv", "Its figures as a table"),
    (".pdf", "Term report to sign"),
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
    links: tuple[Link, ...]


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
        "about": scenario.about,
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
                tuple(_lesson_links(x, out)),
            )
            for x in mine
        ),
    )  # fmt: skip


def _lesson_links(lesson: Lesson, out: Path) -> Iterator[Link]:
    places = (lesson.folder, lesson.folder / "reports")
    there = [path for place in places if place.is_dir() for path in sorted(place.iterdir())]
    for ending, name in LESSON_FILES:
        for path in there:
            if path.name.endswith(ending):
                yield Link(path.relative_to(out).as_posix(), name)


def _term_links(out: Path) -> Iterator[Link]:
    """Every report of the term, each once."""
    left = sorted((out / "coverage").iterdir())
    for ending, name in TERM_FILES:
        for path in [p for p in left if p.name.endswith(ending)]:
            left.remove(path)
            shown = path.stem.replace("-", " ") if ending in (".pdf", ".yaml") else ""
            yield Link(path.relative_to(out).as_posix(), f"{name}: {shown}" if shown else name)
