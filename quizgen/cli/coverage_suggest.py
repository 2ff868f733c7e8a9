"""`quizgen coverage suggest`: next week's plan, on the largest holes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole
from quizgen.cli.coverage_options import chosen_options, gathered
from quizgen.cli.set_plan import NAME
from quizgen.forms.plan import MOST_ITEMS
from quizgen.reports.suggest_plan import chosen_holes, families_of, holes, plan_text
from quizgen.scenario.scenario import find_scenario


@click.command("suggest", short_help="Write next week's plan, on the largest holes.")
@click.argument("name")
@chosen_options
@click.option("--scenario", default="brindlemere", show_default=True, help="Name or folder.")
@click.option("--items", type=click.IntRange(1, MOST_ITEMS), default=10, show_default=True,
              help="Questions in a form, at most.")  # fmt: skip
@click.option("--week", default="Next week", show_default=True, help="What the week is called.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path(),
              show_default=True, help="Folder that the file goes to.")  # fmt: skip
def suggest_plan(
    name: str, scenario: str, items: int, week: str, out: Path, **options: Any
) -> None:
    """Write NAME.yaml, a plan that closes the largest holes and says why.

    First what was never met, then what is surely below the cut, then what was met long ago, then
    what too few answers speak about; spread over topics and levels, with old and new in turn. Read
    it before you build it: you know the class, the program counts. An existing file is not
    overwritten.
    """
    if not NAME.match(name):
        raise InputError(f"{name!r} is no name for a plan; take letters, digits and hyphens")
    path = out / f"{name}.yaml"
    if path.exists():
        raise InputError(f"{path}: exists already; take another name or remove it")
    setting, title = find_scenario(scenario), " ".join(week.split())
    if not title or set(title) & set(":#{}[]&*!|>'\"%@`,"):
        raise InputError(f"{week!r} cannot stand in a plan; take letters, digits and blanks")
    report = gathered(**options)
    chosen = chosen_holes(holes(report, families_of(setting)), items)
    if not chosen:
        raise InputError("no holes: every cell was met of late, with enough right answers")
    text = plan_text(report, setting, name, title, chosen)
    click.echo(write_whole(path, text.encode("utf-8")))
    for hole in chosen:
        click.echo(f"  {hole.topic} x {hole.level}: {hole.why}")
