"""`python -m quizgen.demo [TERM.yaml] [--out FOLDER] [--jobs N]`."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from quizgen.base.errors import QuizgenError
from quizgen.base.paths import data_folder
from quizgen.base.spread import cores, spread_out
from quizgen.demo.run import clear, run_term
from quizgen.demo.term import load_term


@click.command()
@click.argument("term", type=click.Path(path_type=Path), required=False)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("out/demo"),
    show_default=True,
    help="Folder for all of it.",
)
@click.option("--again", is_flag=True, help="Remove an older demonstration in the folder first.")
@click.option("--jobs", type=click.IntRange(1), help="Processes; all cores if not given.")
def demo(term: Path | None, out: Path, again: bool, jobs: int | None) -> None:
    """Run a whole term: plans, pages, simulated answers, grading, coverage, an index page."""
    path = term or data_folder("scenarios") / "brindlemere" / "term.yaml"
    try:
        shown = load_term(path)
        if again:
            clear(shown, out)
        with spread_out(jobs or cores()) as runner:
            page = run_term(shown, out, runner, click.echo)
    except QuizgenError as error:
        click.echo(f"quizgen: {error}", err=True)
        sys.exit(error.exit_code)
    click.echo(f"All of it: {page}")


if __name__ == "__main__":
    demo()
