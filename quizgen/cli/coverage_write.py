"""`quizgen coverage write` and `term`: the report as files, and one to sign for each class."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from quizgen.base.errors import InputError
from quizgen.cli.coverage_options import chosen_options, gathered
from quizgen.cli.progress import progress_line
from quizgen.publish.page_options import SIZES, PageOptions
from quizgen.reports.coverage import Coverage
from quizgen.reports.write_coverage import write_coverage, write_terms

Writer = Callable[[Coverage, Path, PageOptions, Callable[[str], None]], list[Path]]
out_option = click.option(
    "--out", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False), default=Path(),
    show_default=True, help="Folder for the files.",
)  # fmt: skip
size_option = click.option("--size", type=click.Choice(list(SIZES)), default="a4",
                           show_default=True)  # fmt: skip


@click.command("write", short_help="Write the report as HTML, PDF and CSV.")
@chosen_options
@out_option
@size_option
def write_report(out: Path, size: str, **options: Any) -> None:
    """Write the report as HTML, PDF and CSV.

    coverage.html is one file for a browser, a phone or a screen reader, without a script.
    Up to twelve classes are shown in full, with students' names: keep it as you keep the grades.
    coverage.csv has a row for each cell and competency of each class.
    """
    _write(write_coverage, out, size, options)


@click.command("term", short_help="Write a term report to sign for each class.")
@chosen_options
@out_option
@size_option
def write_term(out: Path, size: str, **options: Any) -> None:
    """Write a term report to sign for each class.

    One PDF each: method, competencies, figures, lines for signatures. No student is named.
    """
    _write(write_terms, out, size, options)


def _write(writer: Writer, out: Path, size: str, options: dict[str, Any]) -> None:
    report = gathered(**options)
    if not report.classes:
        raise InputError(f"{options['store_name']}: no sets yet; assign and grade some first")
    with progress_line() as progress:
        written = writer(report, out, PageOptions(size=size), progress)
    for path in written:
        click.echo(path)
