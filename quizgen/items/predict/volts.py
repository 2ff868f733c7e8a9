"""Voltmeter readings worth predicting: point to frame, or across one part."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.predict.probe import Line, Probe
from quizgen.items.predict.scene import Scene
from quizgen.items.predict.stand import NEAR_VOLTS, NO_AMPS, drop_words, stand
from quizgen.items.predict.wrong_volts import Leads, shown_volts, wrong_volts
from quizgen.items.sentences import the, volts_words

ACROSS = (c.Fuse, c.Switch, c.Relay, c.Wire, *c.LOADS)
OPENINGS = {"open": "fault_open", "resistance": "fault_resistance", "short": "fault_short"}


def volts_probes(scene: Scene) -> Iterator[Probe]:
    """Every reading in which a wrong model and the truth part company, and a line says why."""
    circuit = scene.circuit
    for node in circuit.nodes:
        if not _nameable(scene, node):
            continue
        line = stand(scene, node)
        if line is not None:
            yield from _probe(scene, (node, circuit.reference), line.name, (line,))
    for part in circuit.parts:
        if isinstance(part, ACROSS):
            for red, black in _pairs(part):
                yield from _across(scene, part, (red, black))


def _nameable(scene: Scene, node: str) -> bool:
    """A point that a lead can reach and a reader can find; the battery is given anyway."""
    at = scene.circuit.terminals_at.get(node, ())
    parts = [scene.circuit.by_id[p] for p, _ in at]
    if node == scene.circuit.reference or any(isinstance(p, c.Battery | c.Source) for p in parts):
        return False
    return any(not isinstance(p, c.Wire | c.Bridge) for p in parts)


def _pairs(part: c.Part) -> list[Leads]:
    match part:
        case c.Switch():
            return [(part.node(k.a), part.node(k.b)) for k in part.contacts]
        case c.Relay():
            throws = [t for t in part.terminals if t.startswith("87")]
            return [(part.node("30"), part.node(t)) for t in throws]
        case c.TwoSpeedMotor():
            return [(part.node("53"), part.node("31")), (part.node("53i"), part.node("31"))]
        case _:
            return [(part.nodes[0], part.nodes[1])]


def _across(scene: Scene, part: c.Part, leads: Leads) -> Iterator[Probe]:
    """Leads on both sides of one part, the red one where the voltage is higher."""
    if scene.real.between(*leads) is None:
        loose = next(n for n in leads if scene.real.volts(n) is None)
        line = stand(scene, loose)
        if line is not None and _nameable(scene, leads[0]) and _nameable(scene, leads[1]):
            yield from _probe(scene, leads, "across_floats", (line,))
        return
    volts = shown_volts(scene.real, leads)
    if (volts if abs(volts) > NEAR_VOLTS else shown_volts(scene.sound, leads)) < 0.0:
        leads = (leads[1], leads[0])
    if not all(n == scene.circuit.reference or _nameable(scene, n) for n in leads):
        return
    volts = shown_volts(scene.real, leads)
    told = scene.ends is not None and set(leads) == set(scene.ends) and scene.added_amps > 0.0
    if told:
        amps = round(scene.added_amps, 1)  # as a reader multiplies it; 0.0 A explains nothing
        if amps and abs(volts - amps * scene.added_ohm) < NEAR_VOLTS:
            line = Line("across_added", drop_words(scene) | {"volts": volts_words(volts)})
            yield from _probe(scene, leads, "across_added", (line,))
        return
    lines = [stand(scene, node) for node in leads if node != scene.circuit.reference]
    if None in lines:
        return
    last = Line("difference", {"volts": volts_words(volts), "part": the(part)})
    sort = f"across_{part.kind}_{'some' if volts > NEAR_VOLTS else 'none'}"
    yield from _probe(scene, leads, sort, (*(k for k in lines if k is not None), last))


def _probe(scene: Scene, leads: Leads, sort: str, lines: tuple[Line, ...]) -> Iterator[Probe]:
    wrong = wrong_volts(scene, leads)
    if not wrong or not scene.touched(n for n in leads if n != scene.circuit.reference):
        return
    first = _opening(scene)
    moves = scene.material.moves
    battery = scene.battery
    plus, minus = battery.node("+"), battery.node("-")
    given = [Act(instrument="voltmeter", red=plus, black=minus, moves=moves)]
    if scene.added_amps > NO_AMPS:
        wire = series_wire(scene)
        error = abs(round(scene.added_amps, 1) - scene.added_amps) * scene.added_ohm
        if wire is None or error > NEAR_VOLTS:
            return  # the clamp is too coarse for what the reader has to work out
        given.append(Act(instrument="clamp-ammeter", red=wire, moves=moves))
    yield Probe(
        act=Act(instrument="voltmeter", red=leads[0], black=leads[1], moves=moves),
        value=shown_volts(scene.real, leads),
        sort=sort,
        why=(*first, *lines),
        wrong=tuple(wrong),
        given=tuple(given),
    )


def series_wire(scene: Scene) -> str | None:
    """A wire that carries all the current of the told resistance, best that wire itself."""
    if scene.fault is None:
        return None
    links = [k for k in scene.paths.links if isinstance(scene.real.circuit.by_id[k.part], c.Wire)]
    same = [k.part for k in links if abs(abs(k.amps) - scene.added_amps) < 1e-3]
    if scene.fault.part in same:
        return scene.fault.part
    near = [w for w in same if set(scene.circuit.by_id[w].nodes) & set(scene.ends or ())]
    return next(iter([*near, *same]), None)


def _opening(scene: Scene) -> tuple[Line, ...]:
    """What the told fault does by itself."""
    name = OPENINGS.get(scene.nature)
    if scene.fault is None or name is None or scene.ends is None:
        return ()
    a, b = (point_name(scene.circuit, node, names=False) for node in scene.ends)
    opened = [e.part for e in scene.real.events if e.change == "opens"]
    if name == "fault_short":
        if not opened:
            return ()
        protector = the(scene.circuit.by_id[opened[0]])
        return (Line(name, {"protector": protector}),)
    return (Line(name, {"a": a, "b": b}),)
