"""`quizgen set build`: from a plan to the pages of a problem set."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click


@click.command(short_help="Build a problem set from a plan.")
@click.argument("plan", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("out"),
    show_default=True,
    help="Folder that the pages go to.",
)
def build(plan: Path, out: Path) -> None:
    """Build a problem set from a plan.

    The same plan gives the same pages, byte for byte.
    """
    import_module("quizgen.pipeline").build_set(plan, out)
