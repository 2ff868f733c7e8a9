"""An operating point as tables for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit
from quizgen.cli.point_record import SUPPLIES
from quizgen.cli.table import labelled, rounded, side_by_side, table
from quizgen.solver import OperatingPoint
from quizgen.solver.observation import Observation, observe, visible

PLAIN_STATES = ("", "intact", "joined", "rest")  # not worth a word


def point_lines(
    point: OperatingPoint, settings: Mapping[str, object], faults: Sequence[str]
) -> list[str]:
    """The whole report; `faults` are sentences about what is wrong with the circuit."""
    circuit = point.circuit
    lines = heading(circuit, settings)
    lines += labelled("Faults", " ".join(faults) or "none")
    lines += labelled("Positions", in_words(point.positions) or "nothing to operate")
    lines += labelled("Behaviour", point.behaviour)
    lines += labelled("In doubt", "; ".join(point.ambiguous))
    lines += ["", "Loads", *_loads(point)]
    if point.events:
        lines += ["", "What happened", *_events(point)]
    if not point.phases:
        return lines + _figures(point)
    for number, phase in enumerate(point.phases, 1):
        lasts = f" for {rounded(phase.seconds, 2)} s" if phase.seconds else ""
        lines += ["", f"Phase {number} of {len(point.phases)}{lasts}"]
        lines += _figures(phase.point)
    return lines


def heading(circuit: Circuit, settings: Mapping[str, object]) -> list[str]:
    """What the circuit is, with its settings."""
    lines = labelled(circuit.name, circuit.title, len(circuit.name) + 1)
    lines += labelled("System", f"{circuit.system_volts:g} V")
    return lines + labelled("Settings", in_words(settings))


def in_words(pairs: Mapping[str, object]) -> str:
    """Settings or positions as they are typed: "S1=on S2=off"."""
    return " ".join(f"{name}={_plain(value)}" for name, value in pairs.items())


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)


def load_row(circuit: Circuit, seen: Observation, shown: bool) -> tuple[str, ...]:
    """Id, what it does, share of rated, name and what else there is to say."""
    doubt = "near a limit" if seen.doubtful else ""
    hidden = "" if shown else "driver cannot tell"
    notes = ", ".join(n for n in (doubt, hidden) if n)
    name = circuit.by_id[seen.load].name
    return (
        seen.load,
        seen.level,
        f"{seen.share:.0%}".replace("%", " %"),
        f"{name} ({notes})" if notes else name,
    )


def _loads(point: OperatingPoint) -> list[str]:
    seen = observe(point)
    shown = visible(point.circuit, seen)
    rows = [load_row(point.circuit, o, o in shown) for o in seen]
    return table(("id", "does", "of rated", "name"), rows, right=(2,)) if rows else ["  none"]


def _events(point: OperatingPoint) -> list[str]:
    rows = [
        (e.after or "battery connected", rounded(e.seconds, 2), e.part, e.change, e.because)
        for e in point.events
    ]
    return table(("after", "seconds", "part", "change", "because"), rows, right=(1,))


def _figures(point: OperatingPoint) -> list[str]:
    nodes = [(node, rounded(volts)) for node, volts in point.node_volts.items()]
    lines = ["", f"Nodes, volts against {point.circuit.reference}"]
    lines += side_by_side(("node", "volts"), nodes, right=1)
    rows = [row for part in point.circuit.parts for row in _part_rows(point, part)]
    lines += ["", "Parts, amps into the first terminal (supplies: delivered)"]
    return lines + table(("id", "branch", "volts", "amps", "watts", "state"), rows, right=(2, 3, 4))


def _part_rows(point: OperatingPoint, part: Part) -> list[tuple[str, ...]]:
    sign = -1.0 if isinstance(part, SUPPLIES) else 1.0
    state = point.state(part)
    told = "" if state in PLAIN_STATES else state
    rows: list[tuple[str, ...]] = []
    for i, flow in enumerate(point.flows(part)):
        watts = 0.0 if flow.amps == 0.0 else flow.watts
        rows.append(
            (
                part.id if i == 0 else "",
                flow.name,
                rounded(flow.volts),
                rounded(sign * flow.amps),
                rounded(None if watts is None else sign * watts, 2),
                told if i == 0 else "",
            )
        )
    return rows
