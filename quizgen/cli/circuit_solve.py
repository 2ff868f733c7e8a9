"""`quizgen circuit solve`: one operating point, as a table or as data."""

from __future__ import annotations

import click

from quizgen.cli.data import print_json
from quizgen.cli.options import (
    Case,
    fault_option,
    json_option,
    name_argument,
    position_option,
    read_case,
    set_option,
)
from quizgen.cli.point_record import event_records, phase_records, point_record
from quizgen.cli.point_text import point_lines
from quizgen.faults import describe
from quizgen.solver import OperatingPoint
from quizgen.solver import solve as solve_point


@click.command(short_help="Compute all voltages and currents.")
@name_argument
@set_option
@position_option
@fault_option
@json_option
def solve(
    name: str,
    settings: tuple[str, ...],
    positions: tuple[str, ...],
    faults: tuple[str, ...],
    as_json: bool,
) -> None:
    """Compute every voltage and current of a circuit.

    The battery is connected with all controls at rest; then the controls are moved one after
    the other in the order given, and the circuit settles after each move. Give a control
    twice to press and release it.

    Signs: volts of a part are those of its first terminal against its second, amps flow into
    the first terminal, watts are taken up. For batteries, sources and alternators amps and
    watts are positive when delivered. A part with several branches (switch, relay, connector,
    resistor pack, alternator ...) has them under "branches". A floating node has no volts:
    nothing joins it to the rest of the circuit.

    \b
    Behaviours:
      steady          everything came to rest
      protector-open  a fuse, link or breaker has opened
      cycling         a breaker or flasher opens and closes for ever, see "phases"
      chatter         a relay pulls in and drops out for ever, see "phases"
      race            the outcome depends on which relay is faster
    """
    case = read_case(name, settings, positions, faults)
    point = solve_point(case.circuit, [{control: position} for control, position in case.moves])
    if as_json:
        print_json(_record(case, point))
    else:
        sentences = [_sentence(describe(case.sound, fault)) for fault in case.faults]
        click.echo("\n".join(point_lines(point, case.settings, sentences)))


def _record(case: Case, point: OperatingPoint) -> dict[str, object]:
    return {
        "circuit": case.circuit.name,
        "system_volts": case.circuit.system_volts,
        "settings": case.settings,
        "faults": [str(fault) for fault in case.faults],
        "positions": point.positions,
        "behaviour": point.behaviour,
        "ambiguous": point.ambiguous,
        **point_record(point),
        "events": event_records(point),
        "phases": phase_records(point),
        "kirchhoff_residual": float(point.solutions.certificate()[point.case]),
    }


def _sentence(clause: str) -> str:
    return f"{clause[:1].upper()}{clause[1:]}."
