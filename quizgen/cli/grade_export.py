"""`quizgen grade export`: results for a spreadsheet or a school's gradebook."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole
from quizgen.cli.grade_options import opened, set_argument, store_option
from quizgen.forms.problem_set import read_problem_set
from quizgen.reports.oneroster import Place, oneroster_zip, unlisted
from quizgen.reports.results import load_results
from quizgen.reports.results_csv import results_csv
from quizgen.store.school_ids import SchoolIds, school_ids


@click.command(short_help="Write results as CSV or OneRoster 1.2.")
@set_argument
@click.option("--csv", "csv_file", metavar="FILE", type=click.Path(path_type=Path),
              help="A table: a row for each student, answers and points.")  # fmt: skip
@click.option("--decimal-comma", is_flag=True,
              help="The table with semicolons, and commas in numbers.")  # fmt: skip
@click.option("--oneroster", "zip_file", metavar="FILE.zip", type=click.Path(path_type=Path),
              help="OneRoster 1.2 CSV, with the school's own ids;")  # fmt: skip
@click.option("--school", metavar="ID", help="sourcedId of the school;")
@click.option("--class", "klass", metavar="ID", help="sourcedId of the class;")
@click.option(
    "--session",
    metavar="ID",
    help="sourcedId of the academic session, where its lists have not been taken in.",
)
@store_option
def export(
    set_file: Path, csv_file: Path | None, decimal_comma: bool, zip_file: Path | None,
    school: str | None, klass: str | None, session: str | None, store_name: str | None,
) -> None:  # fmt: skip
    """Write results as CSV or OneRoster 1.2.

    What a spreadsheet would run as a formula, such as a name that begins with =, gets an
    apostrophe in front. Where "quizgen coverage enrol" has taken in the class, the OneRoster tables
    refer to the sourcedIds that came in; else give the three ids, and students are known by the id
    of the roster.
    """
    if not csv_file and not zip_file:
        raise InputError("write --csv FILE or --oneroster FILE.zip")
    problem_set = read_problem_set(set_file)
    with opened(set_file, store_name) as store:
        results = load_results(store, problem_set)
        ids = school_ids(store, problem_set.token)
    if csv_file:
        # the mark tells spreadsheets that it is UTF-8
        text = results_csv(problem_set, results.graded, decimal_comma=decimal_comma)
        click.echo(write_whole(csv_file, f"\ufeff{text}".encode()))
    if zip_file:
        place = _place(ids, school, klass, session)
        click.echo(write_whole(zip_file, oneroster_zip(problem_set, results.graded, place)))
        if out := unlisted(problem_set, results.graded, place):
            click.echo(f"left out, since the school's lists do not have them: {', '.join(out)}")


def _place(
    ids: SchoolIds | None, school: str | None, klass: str | None, session: str | None
) -> Place:
    """What was said, else what the lists say. Raises InputError where neither does."""
    listed = ids or SchoolIds(school="", klass="", session="")
    said = (school or listed.school, klass or listed.klass, session or listed.session)
    if not all(said):
        raise InputError(
            "--oneroster needs --school, --class and --session, the school's own ids, for a set "
            "whose class did not come from the school's lists"
        )
    return Place(
        school=said[0], klass=said[1], session=said[2], students=ids.students if ids else None,
        today=datetime.now(UTC).strftime("%Y-%m-%d"),
    )  # fmt: skip
