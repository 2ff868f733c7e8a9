"""An operating point as plain data, with signs that a reader can rely on.

Signs are passive: volts of a part are those of its first terminal against its second, amps
flow into the first terminal, watts are taken up. Batteries, sources and alternators are the
exception: their amps and watts are positive when delivered.
"""

from __future__ import annotations

from quizgen.circuit.components import Alternator, Battery, Part, Source
from quizgen.solver import BranchFlow, OperatingPoint
from quizgen.solver.observation import Observation, observe, visible

Record = dict[str, object]

SUPPLIES = (Battery, Source, Alternator)


def point_record(point: OperatingPoint) -> Record:
    """Everything about an operating point but its phases."""
    return {
        "nodes": {node: _node(volts) for node, volts in point.node_volts.items()},
        "parts": {part.id: part_record(point, part) for part in point.circuit.parts},
        "loads": loads_record(point),
    }


def loads_record(point: OperatingPoint) -> Record:
    """What the loads do: id → level, share of rated volts or speed, doubtful, name, visible."""
    seen = observe(point)
    shown = {o.load for o in visible(point.circuit, seen)}
    return {o.load: _load(point, o, o.load in shown) for o in seen}


def phase_records(point: OperatingPoint) -> list[Record]:
    """One record for each state of a cycle; empty when nothing cycles."""
    return [{"seconds": f.seconds, **point_record(f.point)} for f in point.phases]


def event_records(point: OperatingPoint) -> list[Record]:
    """What moved, in order."""
    return [
        {
            "after": e.after,
            "seconds": e.seconds,
            "part": e.part,
            "change": e.change,
            "because": e.because,
        }
        for e in point.events
    ]


def part_record(point: OperatingPoint, part: Part) -> Record:
    """amps, volts, watts and state; of a part with several branches the watts are the sum.

    Amps and volts of such a part are null: they are in its `branches`.
    """
    flows = point.flows(part)
    delivers = isinstance(part, SUPPLIES)
    state = point.state(part)
    if len(flows) == 1:
        return {**_flow(flows[0], delivers), "state": state}
    branches = {flow.name: _flow(flow, delivers) for flow in flows}
    watts = [_watts(flow) for flow in flows]
    total = None if not flows or None in watts else sum(w for w in watts if w is not None)
    if delivers and total is not None:
        total = -total
    record: Record = {"amps": None, "volts": None, "watts": total, "state": state}
    return record | {"branches": branches} if flows else record


def _flow(flow: BranchFlow, delivers: bool) -> Record:
    sign = -1.0 if delivers else 1.0
    watts = _watts(flow)
    return {
        "amps": sign * flow.amps,
        "volts": flow.volts,
        "watts": None if watts is None else sign * watts,
    }


def _watts(flow: BranchFlow) -> float | None:
    return 0.0 if flow.amps == 0.0 else flow.watts  # no current, no power, floating or not


def _node(volts: float | None) -> Record:
    return {"floating": True} if volts is None else {"volts": volts}


def _load(point: OperatingPoint, seen: Observation, shown: bool) -> Record:
    return {
        "name": point.circuit.by_id[seen.load].name,
        "level": seen.level,
        "share_of_rated": seen.share,
        "doubtful": seen.doubtful,
        "visible": shown,
    }
