"""`quizgen grade SET INPUT...`: answers of any kind, scored and kept."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.base.errors import QuizgenError
from quizgen.base.legible import legible
from quizgen.cli.data import print_json
from quizgen.cli.grade_options import (
    grader,
    opened,
    points_text,
    set_argument,
    store_option,
    who_option,
)
from quizgen.cli.grade_scans import scan_reader
from quizgen.cli.options import json_option
from quizgen.cli.progress import progress_line
from quizgen.cli.table import table, wrapped
from quizgen.forms.problem_set import ProblemSet, read_problem_set
from quizgen.grading.intake import Read, read_inputs
from quizgen.store.contents import Graded, graded
from quizgen.store.gradebook import Batch, record

REFUSED = 3
WORDS = {"new": "new", "replaced": "replaced", "same": "as before", "refused": "not taken"}


@click.command(short_help="Score answers and keep the results.")
@set_argument
@click.argument("inputs", nargs=-1, required=True, type=click.Path(path_type=Path))
@store_option
@who_option
@click.option("--replace", is_flag=True, help="Take these answers where others are kept already.")
@json_option
@click.pass_context
def score(
    ctx: click.Context, set_file: Path, inputs: tuple[Path, ...], store_name: str | None,
    who: str | None, replace: bool, as_json: bool,
) -> None:  # fmt: skip
    """Score answers and keep the results.

    INPUT is any mix of CSV files (a row for each student, a column for each question), of files
    that students handed in from the drill, and of scanned answer sheets (PDF, PNG, JPEG,
    TIFF). What is doubtful on a sheet waits for "quizgen grade review". The
    same input twice changes nothing. Other answers of a student who has some already are not
    taken without --replace.

    Every question is worth one point. Several letters: right ones chosen minus wrong ones,
    divided by the number of right ones. An order: pairs in the right order minus pairs in the
    wrong one, divided by all pairs. Never less than nothing. "quizgen grade amend" changes keys
    and rules.

    Exit code 0 when everything was graded, 2 when something is wrong with an input (the others
    are graded all the same), 3 when answers were not taken, 4 when the store fails.
    """
    problem_set = read_problem_set(set_file)
    with opened(set_file, store_name, new=True) as store:
        with progress_line() as progress:
            read_scan = scan_reader(set_file, problem_set, store, progress)
            found = read_inputs(inputs, problem_set, read_scan, progress)
            batch = record(store, problem_set, found.students, grader(who), replace=replace)
        everything = graded(store, problem_set.token)
        if as_json:
            print_json(_data(problem_set, store.where, found, batch, everything))
        else:
            _print(problem_set, found, batch, everything)
    for problem in found.problems:
        click.echo(legible(f"quizgen: {problem}"), err=True)
    ctx.exit(_code(found.problems, batch))


def _code(problems: tuple[QuizgenError, ...], batch: Batch) -> int:
    if problems:
        return max(problem.exit_code for problem in problems)
    return REFUSED if any(r.what == "refused" for r in batch.recorded) else 0


def _missing(problem_set: ProblemSet, everything: tuple[Graded, ...]) -> list[str]:
    """Students without answers."""
    there = {g.given.student for g in everything}
    return [s.id for s in problem_set.students if s.id not in there]


def _print(
    problem_set: ProblemSet, found: Read, batch: Batch, everything: tuple[Graded, ...]
) -> None:
    names = problem_set.student_names
    rows = [
        (r.given.student, names.get(r.given.student, ""), r.given.form, points_text(r.result),
         r.note or ("" if r.what == "new" else WORDS[r.what]))
        for r in batch.recorded
    ]  # fmt: skip
    if rows:
        click.echo("\n".join(table(("student", "name", "form", "points", ""), rows)))
    for changed in batch.rescored:
        click.echo(
            f"{changed.student}: {points_text(changed.before)}, now {points_text(changed.after)}"
        )
    for remark in found.remarks:
        click.echo(remark)
    click.echo(_summary(batch, everything))
    if missing := _missing(problem_set, everything):
        click.echo("\n".join(wrapped(f"nothing yet from {', '.join(missing)}")))


def _summary(batch: Batch, everything: tuple[Graded, ...]) -> str:
    counts = {what: sum(r.what == what for r in batch.recorded) for what in WORDS}
    said = ", ".join(f"{counts[what]} {word}" for what, word in WORDS.items() if counts[what])
    pending = sum(g.result.pending for g in everything)
    doubt = f"; {pending} doubtful marks wait for a decision" if pending else ""
    return f"{said or 'no answers'}; the store has results of {len(everything)} students{doubt}"


def _data(
    problem_set: ProblemSet, where: str, found: Read, batch: Batch, everything: tuple[Graded, ...]
) -> dict[str, object]:
    names = problem_set.student_names
    return {
        "set": problem_set.name,
        "store": where,
        "students": [
            {
                "student": r.given.student, "name": names.get(r.given.student, ""),
                "form": r.given.form, "what": r.what, "note": r.note,
                "points": r.result.points, "out_of": r.result.out_of, "pending": r.result.pending,
                "file": r.given.source.file, "place": r.given.source.place,
                "marks": [
                    {"question": m.item, "verdict": m.verdict, "points": m.points}
                    for m in r.result.marks
                ],
            }
            for r in batch.recorded
        ],
        "scored_anew": [
            {"student": c.student, "before": c.before.points, "after": c.after.points}
            for c in batch.rescored
        ],
        "missing": _missing(problem_set, everything),
        "remarks": list(found.remarks),
        "problems": [str(problem) for problem in found.problems],
    }  # fmt: skip
