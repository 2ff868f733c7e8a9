"""`quizgen set verify`: every item of a problem set checked by code that did not write it."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.cli.progress import progress_line
from quizgen.forms.problem_set import read_problem_set
from quizgen.forms.verify_set import ask_ngspice, verify_problem_set
from quizgen.solver.ngspice import find_ngspice

FAILED = 3


@click.command(short_help="Check every answer of a problem set anew.")
@click.argument("file", metavar="SET.json", type=click.Path(path_type=Path))
@click.option("--second-opinion", is_flag=True, help="Recompute all readings with ngspice as well.")
@click.pass_context
def verify(ctx: click.Context, file: Path, second_opinion: bool) -> None:
    """Check every answer of a problem set anew.

    Builds each circuit again, puts the fault in, takes the readings, and tries every fault
    that the circuit could have, with code that has no part in writing problems.

    A second opinion comes from ngspice, a general-purpose circuit simulator: it recomputes
    every reading that is printed or that an answer rests on, and every node voltage. Which
    relays are pulled and which fuses are open is taken from the solver, and held against the
    voltages that ngspice finds.

    One line for each thing that is wrong: form, number, id, what. Exit code 0 when all is
    well, 2 when the file is not a problem set, 3 when an item is wrong, 4 when ngspice is not
    installed.
    """
    program = find_ngspice() if second_opinion else ""
    problem_set = read_problem_set(file)
    opinion = None
    with progress_line() as progress:
        findings = verify_problem_set(problem_set, progress)
        if program:
            more, opinion = ask_ngspice(problem_set, program, progress)
            findings += more
    for finding in findings:
        click.echo(finding)
    count = sum(len(form.items) for form in problem_set.forms)
    wrong = len({(f.form, f.number) for f in findings})
    click.echo(f"{file.name}: {f'{wrong} wrong' if wrong else 'fine'}, {count} problems checked")
    if opinion:
        click.echo(
            f"{opinion.readings} readings recomputed by ngspice, worst difference "
            f"{opinion.digits:.1g} of the last digit; {opinion.nodes} node voltages, worst "
            f"difference {opinion.volts:.1g} V"
        )
    if wrong:
        ctx.exit(FAILED)
