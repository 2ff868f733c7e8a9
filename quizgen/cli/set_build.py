"""`quizgen set build`: from a plan to the pages of a problem set."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.cli.progress import progress_line
from quizgen.cli.runner import chosen_runner, runner_options
from quizgen.forms.problem_set import read_problem_set
from quizgen.pipeline import build_set
from quizgen.publish.metrics import unset_letters
from quizgen.publish.page_options import (
    LEAST_SPACING,
    MOST_SPACING,
    SIZES,
    SPACING,
    PageOptions,
)


@click.command(short_help="Build a problem set from a plan.")
@click.argument("plan", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("out"),
    show_default=True,
    help="Folder that the pages go to.",
)
@click.option(
    "--secret",
    "secret_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File with the course secret; without it the secret in the plan is used.",
)
@click.option("--size", type=click.Choice(list(SIZES)), default="a4", show_default=True)
@click.option("--large-print", is_flag=True, help="Text of 18 pt, diagrams on their own sheet.")
@click.option("--black-and-white", is_flag=True, help="Greys instead of colours.")
@click.option(
    "--line-spacing",
    type=click.FloatRange(LEAST_SPACING, MOST_SPACING),
    default=SPACING,
    show_default=True,
    help="From line to line, as a share of the letters' size.",
)
@click.option(
    "--despite-lint", is_flag=True, help="Print the set even if it breaks rules of item writing."
)
@click.option(
    "--no-pages", is_flag=True, help="Write the instructor's file alone, to try a plan quickly."
)
@runner_options
def build(
    plan: Path,
    out: Path,
    secret_file: Path | None,
    size: str,
    large_print: bool,
    black_and_white: bool,
    line_spacing: float,
    despite_lint: bool,
    no_pages: bool,
    jobs: int | None,
    scheduler: str | None,
) -> None:
    """Build a problem set from a plan.

    The same plan and secret give the same pages, byte for byte, whoever does the work. Prints
    the files that were made.
    """
    pages = PageOptions(
        size=size, large_print=large_print, black_and_white=black_and_white,
        line_spacing=line_spacing,
    )  # fmt: skip
    with progress_line() as progress, chosen_runner(jobs, scheduler) as runner:
        built = build_set(
            plan, out, secret_file=secret_file, pages=None if no_pages else pages,
            despite_lint=despite_lint, progress=progress, runner=runner,
        )  # fmt: skip
    for path in built.files:
        click.echo(path)
    if built.sheets:
        _tell_unset(built.problem_set)


def _tell_unset(set_file: Path) -> None:
    """Say whose name the pages show as boxes; nothing else is wrong with them."""
    boxes = [s.id for s in read_problem_set(set_file).students if unset_letters(s.name)]
    if boxes:
        click.echo(
            f"the fonts lack letters of the names of {', '.join(boxes)}: their sheets show boxes "
            "beside the number; a spelling in Latin letters in the roster helps",
            err=True,
        )
