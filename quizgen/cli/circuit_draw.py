"""`quizgen circuit draw`: the wiring diagram of a circuit."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.circuit.components import Wire
from quizgen.cli.options import (
    Case,
    fault_option,
    hand_over,
    name_argument,
    out_option,
    read_case,
    set_option,
)
from quizgen.diagram import draw_svg

MARK = "#d55e00"


@click.command(short_help="Draw the wiring diagram.")
@name_argument
@set_option
@fault_option
@out_option
def draw(name: str, settings: tuple[str, ...], faults: tuple[str, ...], out: Path | None) -> None:
    """Draw the wiring diagram of a circuit as SVG.

    The diagram shows the circuit as designed. A wire with a fault in it gets a coloured, dotted
    band; faults of other parts cannot be marked.
    """
    case = read_case(name, settings, (), faults)
    text = draw_svg(case.sound, highlight=_marks(case))
    hand_over(text, out)


def _marks(case: Case) -> dict[str, str]:
    """Faulty wire → colour of its band. Raises InputError for a fault that is not a wire's."""
    wires = {part.id for part in case.sound.parts if isinstance(part, Wire)}
    for fault in case.faults:
        if fault.part not in wires:
            raise InputError(
                f"--fault {fault}: only wires can be marked in a diagram; leave it out"
            )
    return {fault.part: MARK for fault in case.faults}
