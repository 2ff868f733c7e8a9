"""`quizgen grade report`: the class report, and a feedback sheet for each student."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.cli.data import print_json
from quizgen.cli.grade_options import opened, set_argument, store_option
from quizgen.cli.options import json_option
from quizgen.cli.progress import progress_line
from quizgen.forms.problem_set import read_problem_set
from quizgen.publish.page_options import SIZES, PageOptions
from quizgen.reports.class_figures import class_figures
from quizgen.reports.results import load_results
from quizgen.reports.write_reports import write_class, write_sheets


@click.command(short_help="Write the class report and feedback sheets.")
@set_argument
@click.option(
    "--out", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the files.  [default: beside SET.json]",
)  # fmt: skip
@click.option("--student", "chosen", metavar="ID", multiple=True,
              help="Feedback for this student alone; may stand several times.")  # fmt: skip
@click.option("--no-feedback", is_flag=True, help="The class report alone.")
@click.option("--one-file", is_flag=True,
              help="Feedback of all in one PDF to print, in place of a PDF for each.")  # fmt: skip
@click.option("--size", type=click.Choice(list(SIZES)), default="a4", show_default=True)
@click.option("--large-print", is_flag=True, help="Feedback sheets in text of 18 pt.")
@click.option("--black-and-white", is_flag=True, help="Greys instead of colours.")
@store_option
@json_option
def report(
    set_file: Path, out: Path | None, chosen: tuple[str, ...], no_feedback: bool, one_file: bool,
    size: str, large_print: bool, black_and_white: bool, store_name: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Write the class report and feedback sheets.

    The class report (PDF and HTML) shows points, questions, options, mistaken ideas, what to
    teach again and which questions to look at. A feedback sheet (PDF and HTML) is one student's:
    points, each miss explained by what was chosen, what to practise next. With --json the figures
    of the class are printed and nothing is written.
    """
    problem_set = read_problem_set(set_file)
    with opened(set_file, store_name) as store:
        results = load_results(store, problem_set)
    known = [g.given.student for g in results.graded]
    for student in chosen:
        if student not in known:
            raise InputError(f"no answers of {shown(student)}{suggest(student, known)}")
    if not known:
        raise InputError(f"{problem_set.name}: nothing has been graded yet")
    if as_json:
        print_json(asdict(class_figures(problem_set, results.keys, results.graded)))
        return
    pages = PageOptions(size=size, large_print=large_print, black_and_white=black_and_white)
    folder = out or set_file.parent
    with progress_line() as progress:
        written = [] if chosen else write_class(results, folder, pages, progress)
        if not no_feedback:
            written += write_sheets(
                results, folder, pages, chosen=chosen, one_file=one_file, progress=progress
            )
    for path in written:
        click.echo(path)
