"""`quizgen grade trail`: who changed what, when and why."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from quizgen.cli.data import print_json
from quizgen.cli.grade_options import (
    check_student,
    opened,
    set_argument,
    store_option,
)
from quizgen.cli.options import json_option
from quizgen.cli.table import table
from quizgen.forms.problem_set import read_problem_set
from quizgen.store.contents import Event, trail


@click.command("trail", short_help="Show every change of a result.")
@set_argument
@click.option("--student", metavar="ID", help="Changes of this student's result alone.")
@store_option
@json_option
def show_trail(set_file: Path, student: str | None, store_name: str | None, as_json: bool) -> None:
    """Show every change of a result: first scores, changed keys, decided marks, in order."""
    problem_set = read_problem_set(set_file)
    with opened(set_file, store_name) as store:
        events = trail(store, problem_set.token)
    if student:
        check_student(student, problem_set.student_names)
        events = tuple(event for event in events if event.student == student)
    if as_json:
        print_json([asdict(event) for event in events])
    elif events:
        rows = [(e.at, e.who, e.what, e.question or e.student, _said(e)) for e in events]
        click.echo("\n".join(table(("when", "who", "what", "of", "change"), rows)))
    else:
        click.echo("nothing has been graded yet")


def _said(event: Event) -> str:
    change = f"{event.before} → {event.after}" if event.before else event.after
    return f"{change}; {event.why}" if event.why else change
