"""`quizgen set export`: a problem set for other programs, in an open standard."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.base.writing import write_whole
from quizgen.forms.problem_set import read_problem_set
from quizgen.publish.circuit_figures import figure_of
from quizgen.publish.qti import DIALECTS, package_of
from quizgen.publish.qti.schema_check import check_schema
from quizgen.scenario.scenario import find_scenario

FAILED = 3


@click.command(short_help="Write a problem set as a QTI package.")
@click.argument("file", metavar="SET.json", type=click.Path(path_type=Path))
@click.option(
    "--qti", type=click.Choice(list(DIALECTS)), default="2.1", show_default=True,
    help="Version of the standard.",
)  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="File to write.")
@click.option(
    "--schema", type=click.Path(path_type=Path, dir_okay=False),
    help="Your copy of the schema of items and tests (XSD); the package is held against it.",
)  # fmt: skip
@click.pass_context
def export(ctx: click.Context, file: Path, qti: str, out: Path | None, schema: Path | None) -> None:
    """Write a problem set as a QTI package.

    QTI is an open standard for questions and tests. The package holds every form as a test,
    with figures, keys, scoring and the rationale of each option: it is the instructor's, not
    for students.

    Prints the file. With --schema one line for each breach, and exit code 3 if there is one.
    """
    problem_set = read_problem_set(file)
    language = find_scenario(problem_set.scenario).language
    dialect = DIALECTS[qti]
    package = package_of(problem_set, figure_of, dialect, language)
    target = out or file.with_name(f"{problem_set.name}.instructor.qti-{qti}.zip")
    click.echo(write_whole(target, package))
    breaches = list(check_schema(package, schema, dialect.namespace)) if schema else []
    for line in breaches:
        click.echo(line)
    if breaches:
        ctx.exit(FAILED)
