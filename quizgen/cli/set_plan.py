"""`quizgen set plan`: a commented plan to begin with."""

from __future__ import annotations

import re
from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole
from quizgen.forms.plan import MOST_ITEMS
from quizgen.forms.starter_plan import starter_plan
from quizgen.scenario.scenario import find_scenario

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}\Z")


@click.command(short_help="Write a plan to begin with.")
@click.argument("name")
@click.option("--scenario", default="brindlemere", show_default=True, help="Name or folder.")
@click.option(
    "--items",
    type=click.IntRange(1, MOST_ITEMS),
    default=10,
    show_default=True,
    help="Questions in a form.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path(), show_default=True,
    help="Folder that the file goes to.",
)  # fmt: skip
def plan(name: str, scenario: str, items: int, out: Path) -> None:
    """Write NAME.yaml, a plan with every field explained and the topics that can be asked.

    An existing file is not overwritten. Prints the file that was made.
    """
    if not NAME.match(name):
        raise InputError(f"{name!r} is no name for a plan; take letters, digits and hyphens")
    path = out / f"{name}.yaml"
    if path.exists():
        raise InputError(f"{path}: exists already; take another name or remove it")
    text = starter_plan(find_scenario(scenario), name, items)
    click.echo(write_whole(path, text.encode("utf-8")))
