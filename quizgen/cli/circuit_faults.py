"""`quizgen circuit faults`: the fault universe, and as data the fault dictionary."""

from __future__ import annotations

from collections.abc import Sequence

import click

from quizgen.circuit.netlist import Circuit
from quizgen.cli.data import print_json
from quizgen.cli.options import (
    Case,
    json_option,
    name_argument,
    position_option,
    read_case,
    set_option,
)
from quizgen.cli.table import labelled, table
from quizgen.diagnosis.fault_table import FaultTable, build_table
from quizgen.diagnosis.states import state_name, telling_states
from quizgen.faults import describe, universe
from quizgen.solver.observation import Observation
from quizgen.solver.operating_point import Moves

MOST_STATES = 32


@click.command(short_help="List what can fail and what it does.")
@name_argument
@set_option
@position_option
@json_option
def faults(name: str, settings: tuple[str, ...], positions: tuple[str, ...], as_json: bool) -> None:
    """List every fault worth considering, with its relative weight.

    With --position the list also says what a driver finds different in that state.

    With --json the fault dictionary: for each fault and state the level of every load that a
    driver can observe and the voltage of every node (in the order of "nodes", null where
    floating), and the ambiguity groups: faults whose observations are equal and whose voltages
    lie within 1 mV of the group's first in all states listed. The first group has "sound" in
    it: its faults are hidden. The states are those reached by --position, else every
    combination of positions, or 32 telling ones where there are more.
    """
    case = read_case(name, settings, positions)
    if as_json:
        states = (case.moves,) if positions else telling_states(case.circuit, MOST_STATES)
        print_json(_record(case, build_table(case.circuit, states)), indent=None)
        return
    lines = _lines(case.circuit, case.moves) if positions else _plain_lines(case.circuit)
    click.echo("\n".join(lines))


# --- text -----------------------------------------------------------------------------


def _plain_lines(circuit: Circuit) -> list[str]:
    rows = [
        (str(item.fault), f"{item.weight:g}", describe(circuit, item.fault))
        for item in universe(circuit)
    ]
    return table(("fault", "weight", "what is wrong"), rows, right=(1,))


def _lines(circuit: Circuit, moves: Moves) -> list[str]:
    found = build_table(circuit, (moves,))
    sound = found.seen[0][0]
    rows = [
        (str(item.fault), f"{item.weight:g}", _difference(circuit, sound, found.seen[row][0]))
        for row, item in enumerate(found.faults, 1)
    ]
    lines = labelled("State", state_name(moves))
    lines += labelled("Sound", _told(circuit, sound))
    return [*lines, "", *table(("fault", "weight", "the driver finds"), rows, right=(1,))]


def _difference(circuit: Circuit, sound: Sequence[Observation], seen: Sequence[Observation]) -> str:
    changed = [b for a, b in zip(sound, seen, strict=True) if a.level != b.level]
    return _told(circuit, changed) or "nothing different"


def _told(circuit: Circuit, seen: Sequence[Observation]) -> str:
    return ", ".join(f"{circuit.by_id[o.load].name} {o.load} {o.level}".strip() for o in seen)


# --- data -----------------------------------------------------------------------------


def _record(case: Case, found: FaultTable) -> dict[str, object]:
    circuit = found.circuit
    group_of = {row: number for number, rows in enumerate(found.groups) for row in rows}
    names = ["sound", *(str(item.fault) for item in found.faults)]
    return {
        "circuit": circuit.name,
        "settings": case.settings,
        "states": [_state_record(circuit, moves) for moves in found.states],
        "nodes": circuit.nodes,
        "sound": {"group": 0, "outcomes": _outcomes(found, 0)},
        "faults": [
            {
                "fault": names[row],
                "weight": item.weight,
                "description": describe(circuit, item.fault),
                "group": group_of[row],
                "hidden": group_of[row] == 0,
                "outcomes": _outcomes(found, row),
            }
            for row, item in enumerate(found.faults, 1)
        ],
        "groups": [[names[row] for row in rows] for rows in found.groups],
    }


def _state_record(circuit: Circuit, moves: Moves) -> dict[str, object]:
    return {
        "moves": [{"control": control, "position": position} for control, position in moves],
        "positions": circuit.rest_positions() | dict(moves),
    }


def _outcomes(found: FaultTable, row: int) -> list[dict[str, object]]:
    """One for each state; "volts" are the lowest and "highest_volts" stand beside them."""
    outcomes = []
    for state in range(len(found.states)):
        point = found.point(row, state)
        seen = found.seen[row][state]
        outcome: dict[str, object] = {
            "behaviour": point.behaviour,
            "ambiguous": point.ambiguous,
            "loads": {o.load: o.level for o in seen},
            "doubtful": [o.load for o in seen if o.doubtful],
            "volts": found.low[:, row, state].tolist(),
        }
        if point.phases:
            outcome["highest_volts"] = found.high[:, row, state].tolist()
        outcomes.append(outcome)
    return outcomes
