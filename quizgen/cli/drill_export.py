"""`quizgen drill export`: a student's record for an instructor."""

from __future__ import annotations

import json
from pathlib import Path

import click

from quizgen.cli.options import hand_over, out_option


@click.command(short_help="Write the record for an instructor.")
@click.option("--student", metavar="ID", default="", help="Whose record; the id goes into it.")
@click.option("--csv", "as_csv", is_flag=True, help="A table for a spreadsheet instead of JSON.")
@out_option
def export(student: str, as_csv: bool, out: Path | None) -> None:
    """Write the record of practice for an instructor, as JSON or CSV.

    It holds every answer with its time, topic, level and hints, and nothing else of the student;
    as JSON also every act of the hunts.
    """
    from quizgen.base.errors import InputError
    from quizgen.drill import export as table
    from quizgen.drill.home import home
    from quizgen.drill.record import read_lines
    from quizgen.drill.words import say

    folder = home(student)
    lines, hunts = read_lines(folder), table.hunts_of(folder)
    if not lines and (as_csv or not hunts):
        raise InputError(say("export_none"))
    if as_csv:
        hand_over(table.as_csv(lines), out)
        return
    answers = table.rows_of(lines)
    data = {
        "format": table.FILE_FORMAT, "student": student, "answers": answers, "hunts": hunts,
    }  # fmt: skip
    hand_over(json.dumps(data, indent=1, ensure_ascii=False) + "\n", out)
