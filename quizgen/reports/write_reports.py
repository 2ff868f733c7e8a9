"""The files of a set's reports: which there are, and what they are called."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from quizgen.publish.page_options import PageOptions
from quizgen.reports.class_figures import class_figures
from quizgen.reports.class_report import class_report
from quizgen.reports.feedback import feedback_of
from quizgen.reports.pages import file_name, write_class_report, write_feedback
from quizgen.reports.results import Results

Progress = Callable[[str], None]


def write_class(
    results: Results, folder: Path, pages: PageOptions, progress: Progress = lambda text: None
) -> list[Path]:
    """NAME.class.pdf and NAME.class.html. Raises OutsideError.

    Never in large print: its tables would not fit a page, and a browser enlarges the HTML.
    """
    pages = replace(pages, large_print=False)
    figures = class_figures(results.problem_set, results.keys, results.graded)
    report = class_report(results.problem_set, figures, results.graded, results.amendments)
    written = []
    for kind in ("html", "pdf"):
        path = folder / f"{results.problem_set.name}.class.{kind}"
        written.append(write_class_report(report, path, pages))
        progress(path.name)
    return written


def write_sheets(
    results: Results, folder: Path, pages: PageOptions,
    *, chosen: Sequence[str] = (), one_file: bool = False, progress: Progress = lambda text: None,
) -> list[Path]:  # fmt: skip
    """NAME.feedback/ID.pdf and .html of each student, or of those `chosen`.

    With `one_file` NAME.feedback.pdf takes the place of all the PDFs. One sheet after the other
    is set and written. Raises OutsideError.
    """
    name = results.problem_set.name
    wanted = [g for g in results.graded if not chosen or g.given.student in chosen]
    written = []
    for graded in wanted:
        sheet = feedback_of(results.problem_set, results.keys, graded)
        for kind in ("html",) if one_file else ("html", "pdf"):
            path = folder / f"{name}.feedback" / f"{file_name(sheet.student)}.{kind}"
            written.append(write_feedback([sheet], path, pages))
            progress(path.name)
    if one_file and wanted:
        sheets = [feedback_of(results.problem_set, results.keys, graded) for graded in wanted]
        written.append(write_feedback(sheets, folder / f"{name}.feedback.pdf", pages))
    return written
