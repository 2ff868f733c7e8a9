"""Reports as files: PDF, or one HTML file for a browser."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from quizgen.base.writing import write_whole
from quizgen.publish.figure import grey
from quizgen.publish.html import render
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.reports.charts import Chart
from quizgen.reports.class_report import ClassReport
from quizgen.reports.feedback import Feedback

STANDARD = PageOptions()
DOES = {  # what the level of a question asks for, for a student
    "read": "read the diagram",
    "predict": "predict what happens",
    "interpret": "tell the fault from what was found",
    "choose": "choose the next test",
    "justify": "say what is certain",
}


def write_feedback(sheets: Sequence[Feedback], path: Path, options: PageOptions = STANDARD) -> Path:
    """The sheets of one or several students as one file. Raises OutsideError."""
    values: dict[str, object] = {"sheets": sheets, "heading": sheets[0].heading, "does": DOES}
    return _write("feedback.html.j2", values, path, options)


def write_class_report(report: ClassReport, path: Path, options: PageOptions = STANDARD) -> Path:
    """The class report as a file. Raises OutsideError."""
    if options.black_and_white:
        report = replace(
            report, scores=_grey(report.scores), difficulty=_grey(report.difficulty),
            beliefs=_grey(report.beliefs),
        )  # fmt: skip
    values: dict[str, object] = {"report": report, "heading": report.heading}
    return _write("class.html.j2", values, path, options)


def _grey(chart: Chart | None) -> Chart | None:
    return replace(chart, svg=grey(chart.svg)) if chart else None


def _write(template: str, values: dict[str, object], path: Path, options: PageOptions) -> Path:
    screen = path.suffix == ".html"
    html = render(template, values, options, screen)
    return write_whole(path, html.encode() if screen else pdf_bytes(html))


def file_name(name: str) -> str:
    """A file name for a student's id or a class, whatever stands in it; never two alike.

    >>> file_name("S-001"), file_name("Evening A"), file_name("../x")
    ('S-001', 'Evening_A', '=2e=2e=2fx')
    """
    # a dot may stand within an id, where it makes neither a hidden file nor a folder
    escaped = re.sub(r"[^A-Za-z0-9 -]", lambda found: f"={ord(found.group()):x}", name)
    return escaped.replace(" ", "_") or "_"
