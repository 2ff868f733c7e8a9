"""`quizgen circuit export`: an operating point as a SPICE netlist."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.cli.options import (
    Case,
    fault_option,
    hand_over,
    name_argument,
    out_option,
    position_option,
    read_case,
    set_option,
)
from quizgen.cli.point_text import in_words
from quizgen.solver import OperatingPoint
from quizgen.solver import solve as solve_point
from quizgen.solver.spice import netlist


@click.command(short_help="Print a SPICE netlist, for others to check.")
@name_argument
@set_option
@position_option
@fault_option
@out_option
def export(
    name: str,
    settings: tuple[str, ...],
    positions: tuple[str, ...],
    faults: tuple[str, ...],
    out: Path | None,
) -> None:
    """Print a SPICE netlist of a circuit, for others to check.

    The circuit is solved as by "circuit solve". Switches, relays, fuses and diodes stay as
    they then stand; all voltages and currents are left to the simulator, so that its figures
    can be held against those of "circuit solve". While a circuit cycles or chatters it is the
    state in which the cycle begins.

    Written for ngspice: "ngspice -b FILE" prints every node voltage and every current.
    """
    case = read_case(name, settings, positions, faults)
    point = solve_point(case.circuit, [{control: position} for control, position in case.moves])
    text = netlist(point, notes=_notes(case, point)).text
    hand_over(text, out)


def _notes(case: Case, point: OperatingPoint) -> list[str]:
    """How the circuit is made again."""
    words = {
        "quizgen circuit": case.circuit.name,
        "settings": in_words(case.settings),
        "positions": in_words(point.positions),
        "faults": " ".join(map(str, case.faults)),
        "behaviour": point.behaviour,
    }
    return [f"{what}: {said}" for what, said in words.items() if said]
