"""The verifier's own arithmetic: what a sum comes to, and each known wrong way of doing it.

Worked out from the readings as printed and the circuit's own data, then compared with the
solver.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.wire_data import wire_ohm
from quizgen.items.verify.fitting import rating, size
from quizgen.items.verify.sum_records import ONE_CURRENT, Bench, Worked


def work_out(bench: Bench, quantity: str) -> Worked:
    """The sum that `quantity` names. Raises InputError where there is none."""
    form, _, of = quantity.partition(":")
    if form not in SUMS:
        raise InputError(f"nobody can work out {quantity!r}")
    return replace(SUMS[form](bench, of), shown=tuple(bench.shown))


def _drop(bench: Bench, of: str) -> Worked:
    wires = [bench.part(name, c.Wire) for name in of.split("+")]
    bench.expect(("", wires[0].id))
    currents = [abs(bench.amps(w.id)) for w in wires]
    if len(wires) > 2 or max(currents) - min(currents) > ONE_CURRENT * max(currents):
        raise InputError("the wires do not carry one current")
    ohms = [wire_ohm(w.mm2, w.metres) for w in wires if isinstance(w, c.Wire)]
    per = [wire_ohm(w.mm2, 1.0) for w in wires if isinstance(w, c.Wire)]
    amps = bench.shown[0]
    school = amps * sum(ohms)
    given: dict[str, float] = {}
    for w, one in zip(wires, per, strict=True):
        assert isinstance(w, c.Wire)  # as asked for above
        given |= {f"{w.id}.milliohm_per_metre": 1000.0 * one, f"{w.id}.metres": w.metres}
    milliohm = 1000.0 * sum(ohms)
    return Worked(
        "V",
        sum(abs(bench.volts(w.nodes[0], w.nodes[1])) for w in wires),
        school,
        0.05,
        given,
        {
            "length-forgotten": (amps * sum(per),),
            "decimal-slip": (10.0 * school, school / 10.0),
            "one-wire": (amps * ohms[0],) if len(wires) > 1 else (),
            "return-counted": (2.0 * school,) if len(wires) == 1 else (),
        },
        lambda value: (value / sum(ohms), value * 1000.0 / amps),
        (milliohm, milliohm / 100.0, milliohm / 1e3, milliohm / 1e4, 1000.0 * sum(per),
         1000.0 * ohms[0], *(1000.0 * o for o in ohms)),
        tuple(given.values()),
    )  # fmt: skip


def _resistance(bench: Bench, of: str) -> Worked:
    a, _, b = of.partition(",")
    if {a, b} - {*bench.circuit.nodes}:
        raise InputError(f"the circuit has no points {of}")
    through = [p for p in bench.point.circuit.parts if {a, b} <= {*p.nodes}]
    through = [p for p in through if not isinstance(p, c.Splice)]
    if len(through) != 1:
        raise InputError(f"no single part lies between {a} and {b}")
    bench.expect((a, b), ("", through[0].id))
    volts, amps = bench.shown
    system = bench.circuit.system_volts
    return Worked(
        "Ω",
        abs(bench.volts(a, b)) / abs(bench.amps(bench.readings[1].red_node)),
        volts / amps,
        0.05,
        {"nominal": system},
        {
            "nominal-for-measured": (system / amps,),
            "product-for-quotient": (volts * amps,),
            "inverted": (amps / volts,),
            "drop-for-level": ((system - volts) / amps,),
        },
        lambda value: (value * amps,),
    )


def _rated_watts(part: c.Part) -> float:
    if isinstance(part, c.Motor):
        return part.volts * part.run_amps
    return part.watts if isinstance(part, c.Lamp | c.Heater) else 0.0


def _power(bench: Bench, of: str) -> Worked:
    load = bench.part(of, c.Lamp, c.Heater, c.Motor)
    bench.expect((load.nodes[0], load.nodes[1]), ("", of))
    volts, amps = bench.shown
    system, rated = bench.circuit.system_volts, round(_rated_watts(load), 1)
    return Worked(
        "W",
        abs(bench.volts(load.nodes[0], load.nodes[1]) * bench.amps(of)),
        volts * amps,
        0.05,
        {"nominal": system, f"{of}.watts": rated},
        {
            "nominal-for-measured": (system * amps,),
            "rated-for-actual": (rated,),
            "drop-for-level": ((system - volts) * amps,),
            "quotient-for-product": (volts / amps,),
        },
        lambda value: (value / volts,),
    )


def _ohm(part: c.Part) -> float:
    match part:
        case c.Heater():
            return part.volts * part.volts / part.watts
        case c.Relay():
            return part.coil_ohm
        case c.Solenoid() | c.Resistor():
            return part.ohm
        case _:
            raise InputError(f"{part.id} does not obey Ohm's law")


def _current(bench: Bench, of: str) -> Worked:
    part = bench.part(of)
    ohm = float(f"{_ohm(part):.3g}")
    a, b = part.nodes[:2]
    bench.expect((a, b))
    volts, system = bench.shown[0], bench.circuit.system_volts
    school = volts / ohm
    return Worked(
        "A",
        abs(bench.volts(a, b)) / _ohm(part),
        school,
        0.05,
        {"nominal": system, f"{of}.ohm": ohm},
        {
            "nominal-for-measured": (system / ohm,),
            "drop-for-level": ((system - volts) / ohm,),
            "inverted": (ohm / volts,),
            "product-for-quotient": (ohm * volts,),
            "decimal-slip": (10.0 * school, school / 10.0),
        },
        lambda value: (value * ohm,),
        (ohm * 10.0, ohm / 10.0),
        (ohm,),
    )


def _branch(bench: Bench, of: str) -> Worked:
    wire = bench.part(of, c.Wire)
    others = [reading.red_node for reading in bench.readings]
    bench.expect(*(("", name) for name in others))
    node = _joint(bench, wire.id, others)
    flow = {}
    for name in (wire.id, *others):
        sign = 1.0 if bench.part(name).nodes[1] == node else -1.0
        flow[name] = sign * bench.amps(name)
    against = [r.volts for r in bench.readings if flow[r.red_node] * flow[of] < 0]
    along = [r.volts for r in bench.readings if flow[r.red_node] * flow[of] > 0]
    if along and len(against) != 1:
        raise InputError(f"the current of {of} does not follow from these readings alone")
    total, school = sum(against), sum(against) - sum(along)
    shares = 1 + len(along)
    parallel = 1.0 / sum(1.0 / a for a in bench.shown)
    lone = {
        "constant-current": (max(against),),
        "average-for-sum": (total / len(against),),
        "parallel-rule-for-current": (parallel,),
    }
    split = {
        "equal-split": (total / shares,),
        "same-everywhere": (total,),
        "added-not-taken-away": (total + sum(along),),
    }
    return Worked(
        "A", abs(flow[of]), school, 0.05, {}, split if along else lone,
        lambda value: (value + sum(along),), (total,),
    )  # fmt: skip


def _joint(bench: Bench, wire: str, others: Sequence[str]) -> str:
    """The splice at which these and no other wires carry current."""
    for node in bench.part(wire).nodes:
        there = {p for p, _ in bench.circuit.terminals_at[node]}
        parts = [bench.circuit.by_id[p] for p in there]
        splice = any(isinstance(p, c.Splice) for p in parts)
        busy = {p.id for p in parts if isinstance(p, c.Wire) and abs(bench.amps(p.id)) > 0.001}
        if splice and busy == {wire, *others} and all(
            isinstance(p, c.Wire | c.Splice) for p in parts
        ):  # fmt: skip
            return node
    raise InputError(f"{wire} and the wires measured do not meet in one joint")


def _left(bench: Bench, of: str) -> Worked:
    load = bench.part(of, c.Lamp, c.Motor, c.Heater, c.Horn, c.Solenoid)
    batteries = [p for p in bench.circuit.parts if isinstance(p, c.Battery)]
    if len(batteries) != 1:
        raise InputError("there is no single battery to start from")
    plus, minus = batteries[0].nodes
    high, low = load.nodes if bench.volts(*load.nodes) > 0 else load.nodes[::-1]
    bench.expect((plus, minus), (plus, high), (low, minus))
    supply, way, back = bench.shown
    return Worked(
        "V",
        bench.volts(high, low),
        supply - way - back,
        0.025,
        {},
        {
            "one-wire": (supply - way,),
            "feed-side-forgotten": (supply - back,),
            "unloaded-is-loaded": (supply,),
            "equal-drop": (supply / 3.0,),
            "drop-for-level": (way + back,),
        },
        lambda value: (supply - value,),
        (way + back,),
    )


def _share(bench: Bench, of: str) -> Worked:
    a, _, b = of.partition(",")
    packs = [p for p in bench.circuit.parts if isinstance(p, c.ResistorPack) and a in p.nodes]
    if not packs or b not in packs[0].nodes:
        raise InputError(f"no section of a resistor pack lies between {a} and {b}")
    pack = packs[0]
    ends = [pack.nodes.index(r) for r in (bench.readings[0].red_node, bench.readings[0].black_node)
            if r in pack.nodes]  # fmt: skip
    section = pack.nodes.index(a)
    if len(ends) != 2 or pack.nodes.index(b) != section + 1:
        raise InputError("the reading is not across sections of the pack")
    run = range(min(ends), max(ends))
    amps = [bench.point.flows(pack)[i].amps for i in run]
    if section not in run or max(amps) - min(amps) > ONE_CURRENT * max(map(abs, amps)):
        raise InputError("the sections do not carry one current")
    mine, volts = pack.ohms[section], bench.shown[0]
    rest = sum(pack.ohms[i] for i in run) - mine
    given = {f"{pack.id}.section{i + 1}": round(pack.ohms[i], 3) for i in run}
    return Worked(
        "V",
        abs(bench.volts(a, b)),
        volts * mine / (mine + rest),
        0.05,
        given,
        {
            "equal-drop": (volts / len(run),),
            "larger-takes-less": (volts * rest / (mine + rest),),
            "same-voltage-in-series": (volts,),
            "ratio-for-share": (volts * mine / rest,),
        },
        lambda value: (value / mine, max(volts - value, 0.0) / rest),
        (rest, *given.values()),
        tuple(given.values()),
    )


SUMS: dict[str, Callable[[Bench, str], Worked]] = {
    "drop": _drop,
    "resistance": _resistance,
    "power": _power,
    "current": _current,
    "branch": _branch,
    "left": _left,
    "share": _share,
    "rating": rating,
    "size": size,
}
