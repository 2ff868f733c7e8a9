"""`quizgen drill status`: what is due, what is strong, what needs more evidence."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from quizgen.cli.options import json_option

if TYPE_CHECKING:
    from quizgen.drill.overview import Overview


@click.command(short_help="Say what is due, strong and weak.")
@click.option("--student", metavar="ID", default="", help="Whose record.")
@click.option("--skills", is_flag=True, help="A line for each topic and level.")
@click.option("--plain", is_flag=True, help="For screen readers: line by line.")
@json_option
def status(student: str, skills: bool, plain: bool, as_json: bool) -> None:
    """Say what is due, what is strong and what is weak.

    Shares are ranges, because few answers prove little.
    """
    from quizgen.cli.data import print_json
    from quizgen.cli.drill_window import Window
    from quizgen.drill.home import home
    from quizgen.drill.overview import overview, overview_page
    from quizgen.drill.record import read_lines
    from quizgen.drill.schedule import cards_of

    lines = read_lines(home(student))
    cards = cards_of(line.answered for line in lines if line.answered is not None)
    view = overview(lines, cards, datetime.now(UTC))
    if as_json:
        print_json({"format": 1, **_data(view)})
    else:
        Window(plain).show(overview_page(view, by_skill=skills))


def _data(view: Overview) -> dict[str, object]:
    """The overview as JSON holds it, each standing with its verdict."""
    data = {key: _plain(value) for key, value in asdict(view).items()}
    for name in ("topics", "skills"):
        verdicts = [standing.verdict for standing in getattr(view, name)]
        data[name] = [{**row, "verdict": v} for row, v in zip(data[name], verdicts, strict=True)]
    return data


def _plain(value: Any) -> Any:
    """Dates as text of ISO 8601."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="seconds")
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value
