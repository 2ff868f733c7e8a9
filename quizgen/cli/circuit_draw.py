"""`quizgen circuit draw`: the wiring diagram of a circuit, as SVG or in characters."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.cli.options import (
    fault_option,
    hand_over,
    name_argument,
    out_option,
    read_case,
    set_option,
)
from quizgen.diagram import Marks, draw_svg
from quizgen.diagram.marks import mark_id
from quizgen.diagram.terminal import LEAST_COLUMNS, draw_text

COLUMNS = 80


@click.command(short_help="Draw the wiring diagram.")
@name_argument
@set_option
@fault_option
@out_option
@click.option("--terminal", is_flag=True, help="Draw with characters instead, for a terminal.")
@click.option(
    "--columns",
    type=click.IntRange(min=LEAST_COLUMNS),
    metavar="N",
    help=f"Characters a line with --terminal: {COLUMNS} unless you say, {LEAST_COLUMNS} or more.",
)
@click.option("--ascii", "ascii_only", is_flag=True, help="With --terminal, ASCII characters only.")
def draw(
    name: str,
    settings: tuple[str, ...],
    faults: tuple[str, ...],
    out: Path | None,
    terminal: bool,
    columns: int | None,
    ascii_only: bool,
) -> None:
    """Draw the wiring diagram of a circuit as SVG, or in characters.

    The diagram shows the circuit as designed. What has a fault gets a dashed band, a part a
    dashed frame. With --terminal nothing is marked; below the drawing stand lists of its signs,
    parts and wires.
    """
    if not terminal and (columns is not None or ascii_only):
        raise InputError("--columns and --ascii are for --terminal; add it")
    case = read_case(name, settings, (), faults)
    if not terminal:
        faulty = frozenset(mark_id(case.sound, f.part, f.detail) for f in case.faults)
        hand_over(draw_svg(case.sound, marks=Marks(faulty=faulty)), out)
        return
    if case.faults:
        raise InputError("--fault cannot be marked with --terminal; leave one of them out")
    plain = ascii_only or (out is None and not _shows_boxes())
    page = draw_text(case.sound, columns or COLUMNS, ascii_only=plain).page
    hand_over("\n".join(page) + "\n", out)


def _shows_boxes() -> bool:
    """Whether what is printed can carry the characters of a drawing."""
    try:
        "│─┼═║►●▼≡Ω".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
