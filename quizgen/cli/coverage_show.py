"""`quizgen coverage show`: the report in the terminal, or as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

import click
import msgspec

from quizgen.base.suggest import shown
from quizgen.cli.coverage_options import chosen_options, gathered
from quizgen.cli.options import json_option
from quizgen.cli.table import WIDTH, table, wrapped
from quizgen.items.topics import topic_name
from quizgen.reports.coverage import CellFigures, ClassCoverage, Coverage, ElementFigures, Wanted
from quizgen.reports.coverage_counts import Figures
from quizgen.reports.wording import belief_name, percent, plain

LISTED = 10  # lines of long lists
HEADS = ("planned", "met", "weeks", "asked", "right", "mastered")
TOPIC, CLASS, TERM, CODE = 18, 24, 16, 29  # columns that leave room for the figures
MASTERED = "mastered: by both measures, + by knowledge tracing alone, of"
WORKSHOP = "in the workshop"


@click.command("show", short_help="Show what was planned, met and mastered.")
@chosen_options
@click.option("--all", "everything", is_flag=True, help="Every cell of every class.")
@json_option
def show(everything: bool, as_json: bool, **options: Any) -> None:
    """Show what classes have met and mastered.

    planned: places in the class's sets; met: those of sets that somebody answered; weeks: since it
    was met last; asked: questions times students; right: their share. Mastered are students whose
    share is surely at the cut (Wilson) and who are known to know it (knowledge tracing); +n more by
    knowledge tracing alone. With too few answers a student counts as undecided.
    """
    report = gathered(**options)
    if as_json:
        click.echo(as_json_text(report))
        return
    lines = list(_lines(report, everything))
    click.echo("\n".join(lines))


def as_json_text(report: Coverage) -> str:
    """The report as JSON; a department's is too large to be turned into dictionaries first."""
    return msgspec.json.format(msgspec.json.encode(report), indent=2).decode()


def _lines(report: Coverage, everything: bool) -> Iterator[str]:
    if not report.classes:
        yield _nothing(report.wanted)
        return
    yield f"Coverage on {report.wanted.day}"
    rows = [_class_row(c) for c in report.classes]
    yield from table(("class", "term", "students", "sets", "answered", "at risk"),
                     [line for row in rows for line in _folded([row], (CLASS, TERM))],
                     (2, 3, 4, 5))  # fmt: skip
    yield ""
    if not report.cells:
        yield 'No set is for these classes yet; "quizgen coverage assign" says whose a set is.'
        return
    yield from _cells("Cells", report.cells)
    if report.elements:
        yield ""
        yield from _elements(report.elements)
    for found in report.classes if everything or len(report.classes) == 1 else ():
        yield ""
        yield from _class(found, everything and len(report.classes) > 1)


def _class_row(found: ClassCoverage) -> tuple[str, ...]:
    return (
        found.name or "(no class)", found.term, str(found.students), str(len(found.sets)),
        str(found.answered), str(len(found.at_risk)),
    )  # fmt: skip


def _nothing(wanted: Wanted) -> str:
    asked = {"class": wanted.school_class, "course": wanted.course, "term": wanted.term,
             "instructor": wanted.instructor}  # fmt: skip
    if any(asked.values()):
        told = ", ".join(f"{what} {shown(word)}" for what, word in asked.items() if word)
        return f"No class has all of this: {told}."
    return 'The store has no sets yet; "quizgen coverage assign" and "quizgen grade" add some.'


def _folded(rows: Sequence[tuple[str, ...]], widths: Sequence[int]) -> list[tuple[str, ...]]:
    """Rows that have their first cells in common; those are wrapped down along the rows."""
    count = len(widths)
    wraps = [textwrap.wrap(rows[0][i], width) for i, width in enumerate(widths)]
    rest = [row[count:] for row in rows]
    rest += [("",) * len(rest[0])] * (max(map(len, wraps)) - len(rest))
    return [
        (*(pieces[i] if i < len(pieces) else "" for pieces in wraps), *row)
        for i, row in enumerate(rest)
    ]


def _figures(figures: Figures, weeks: int | None) -> tuple[str, ...]:
    more = f"+{figures.likely}" if figures.likely else ""
    return (
        str(figures.planned), str(figures.delivered), "–" if weeks is None else str(weeks),
        str(figures.asked), percent(figures.right / figures.asked) if figures.asked else "–",
        f"{figures.mastered}{more}" if figures.asked else "–",
    )  # fmt: skip


def _cells(title: str, cells: tuple[CellFigures, ...]) -> Iterator[str]:
    yield f"{title} (topic and level)"
    rows = []
    for topic, those in groupby(cells, key=lambda cell: cell.topic):
        group = [(topic_name(topic), c.level, *_figures(c.figures, c.weeks)) for c in those]
        rows += _folded(group, (TOPIC,))
    yield from table(("topic", "level", *HEADS), rows, (2, 3, 4, 5, 6))
    students = max((c.figures.students for c in cells), default=0)
    yield from wrapped(f"{MASTERED} {students} students")


def _elements(elements: tuple[ElementFigures, ...]) -> Iterator[str]:
    yield "Competencies"
    rows = []
    for e in elements:
        figures = _figures(e.figures, None)
        shown_figures = (*figures[:2], *figures[3:]) if e.on_paper else ("",) * 4 + (WORKSHOP,)
        rows += _folded([(e.element.code, *shown_figures)], (CODE,))
    yield from table(("code", "planned", "met", "asked", "right", "mastered"), rows, (1, 2, 3, 4))
    students = max((e.figures.students for e in elements), default=0)
    yield from wrapped(f"{MASTERED} {students} students")


def _class(found: ClassCoverage, with_cells: bool) -> Iterator[str]:
    named = (found.name or "Sets of no class", found.term, found.course)
    yield from textwrap.wrap(", ".join(filter(None, named)), WIDTH)
    if found.instructors:
        yield from wrapped(f"Taught by {', '.join(found.instructors)}.")
    if found.pending:
        yield from wrapped(f"{found.pending} doubtful marks are not counted until decided.")
    if with_cells:
        yield from _cells("Cells", found.cells)
    if found.beliefs:
        yield "Mistaken ideas, first set to last"
        rows = [
            (belief_name(b.name)[:40], f"{b.shown} of {b.chances}",
             " ".join(percent(s / n).removesuffix(" %") for _, s, n in b.course[-8:]) + " %")
            for b in found.beliefs[:LISTED]
        ]  # fmt: skip
        yield from table(("idea", "shown", "share, set by set"), rows, (1,))
    if found.pairs:
        yield "Faults met with instruments"
        rows = [(topic_name(p.fault), topic_name(p.instrument), str(p.places))
                for p in found.pairs]  # fmt: skip
        yield from table(("fault", "instrument", "places"), rows, (2,))
    yield from _watched(found)


def _watched(found: ClassCoverage) -> Iterator[str]:
    if found.at_risk:
        yield "Students at risk"
        for student in found.at_risk[:LISTED]:
            told = f"{student.student} {student.name}: {' '.join(student.evidence)}"
            yield from wrapped(told.replace(" %", "\u00a0%"))
        if len(found.at_risk) > LISTED:
            yield from wrapped(f"and {len(found.at_risk) - LISTED} more, see --json")
    if found.replace:
        yield "Questions to replace"
        rows = [(plain(r.set), f"{r.form}/{r.number}", f"{r.right} of {r.students}", r.why)
                for r in found.replace[:LISTED]]  # fmt: skip
        yield from table(("set", "question", "right", "why"), rows, (2,))
        if len(found.replace) > LISTED:
            yield from wrapped(f"and {len(found.replace) - LISTED} more, see --json")
