"""Coverage as files: HTML and PDF, a CSV table, and a term report for each class."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from quizgen.base.cells import Cell, csv_text
from quizgen.base.writing import write_whole
from quizgen.items.item import LEVELS
from quizgen.publish.html import render
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.view import Heading
from quizgen.reports.coverage import Coverage
from quizgen.reports.coverage_counts import COUNTS, Figures
from quizgen.reports.coverage_page import (
    CELL_HEADS,
    STATES,
    class_name,
    class_page,
    coverage_page,
    element_rows,
    heading_of_report,
    workshop_rows,
)
from quizgen.reports.pages import file_name
from quizgen.reports.wording import percent

Progress = Callable[[str], None]
CSV_HEAD = ("class", "course", "term", "framework", "topic_or_code", "level", "last_met",
            "weeks_since", *COUNTS)  # fmt: skip
CREDITED = "O*NET"


def write_coverage(
    report: Coverage, folder: Path, options: PageOptions, progress: Progress
) -> list[Path]:
    """coverage.html, coverage.pdf and coverage.csv. Raises OutsideError."""
    values: dict[str, object] = {
        "page": coverage_page(report), "heading": heading_of_report(report), **_fixed(report),
    }  # fmt: skip
    progress("page")
    html = render("coverage.html.j2", values, options, screen=True)
    written = [write_whole(folder / "coverage.html", html.encode())]
    progress("PDF")
    values["page"] = coverage_page(report, printed=True)
    pdf = pdf_bytes(render("coverage.html.j2", values, options, screen=False))
    written.append(write_whole(folder / "coverage.pdf", pdf))
    return [*written, write_whole(folder / "coverage.csv", coverage_csv(report).encode())]


def write_terms(
    report: Coverage, folder: Path, options: PageOptions, progress: Progress
) -> list[Path]:
    """A term report for each class, as PDF. Raises OutsideError."""
    written = []
    for found in report.classes:
        progress(f"class {found.name}")
        heading = Heading(
            college="", course=found.course, title=class_name(found),
            week=f"{found.term}, until {report.wanted.day}".lstrip(", "),
            instructor=", ".join(found.instructors),
        )  # fmt: skip
        values: dict[str, object] = {
            "c": class_page(found, report.wanted.cut), "heading": heading,
            "elements": element_rows(found.elements), "workshop": workshop_rows(found.elements),
            "cut": percent(report.wanted.cut), **_fixed(report),
        }  # fmt: skip
        pdf = pdf_bytes(render("coverage.term.html.j2", values, options, screen=False))
        name = "-".join(file_name(part) for part in (class_name(found), found.term) if part)
        written.append(write_whole(folder / f"{name}.term.pdf", pdf))
    return written


def _fixed(report: Coverage) -> dict[str, object]:
    credit = any(e.element.framework == CREDITED for e in report.elements)
    return {"levels": LEVELS, "states": STATES, "cell_heads": CELL_HEADS, "credit": credit}


def coverage_csv(report: Coverage) -> str:
    """A row for each cell and each competency of each class; no cell runs in a spreadsheet."""
    return csv_text([CSV_HEAD, *_rows(report)])


def _rows(report: Coverage) -> Iterator[list[Cell]]:
    for found in report.classes:
        named: list[Cell] = [found.name, found.course, found.term]
        for cell in found.cells:
            yield [*named, "", cell.topic, cell.level, *_counts(cell.figures, cell.weeks)]
        for e in found.elements:
            if e.on_paper:
                of: list[Cell] = [e.element.framework, e.element.code, ""]
                yield [*named, *of, *_counts(e.figures, None)]


def _counts(figures: Figures, weeks: int | None) -> list[Cell]:
    return [figures.last, weeks, *(getattr(figures, name) for name in COUNTS)]
