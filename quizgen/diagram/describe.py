"""The diagram in words, made from the netlist: for a screen reader, or to check a drawing by ear.

It says what the drawing shows and no more: parts, how switches and relays stand at rest,
wires with colour and size, what is joined without a wire, where the circuit is fed. Nothing
of a fault is told that the drawing does not show either.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit.components import (
    Breaker,
    Connector,
    Contact,
    Fuse,
    FusibleLink,
    Ground,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Source,
    Splice,
    StarterSolenoid,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.wire_data import colour_name

KIND_NAMES = {
    "battery": "battery",
    "source": "voltage source",
    "connector": "connector",
    "splice": "splice",
    "ground": "ground point",
    "bridge": "unwanted contact",
    "fuse": "fuse",
    "fusible_link": "fusible link",
    "breaker": "circuit breaker",
    "switch": "switch",
    "relay": "relay",
    "resistor": "resistor",
    "resistor_pack": "resistor pack",
    "sender": "sender",
    "lamp": "lamp",
    "led_lamp": "LED lamp",
    "motor": "motor",
    "heater": "heater",
    "solenoid": "solenoid",
    "horn": "horn",
    "diode": "diode",
    "alternator": "alternator",
    "starter_solenoid": "starter solenoid",
    "flasher": "flasher unit",
    "two_speed_motor": "two-speed motor",
    "gauge": "gauge",
}


def describe_diagram(circuit: Circuit) -> str:
    """The wiring diagram of `circuit` in words, one fact a line."""
    lines = [f"Wiring diagram: {circuit.title or circuit.name}, {circuit.system_volts:g} V."]
    others = [p for p in circuit.parts if not isinstance(p, Wire)]
    wires = [p for p in circuit.parts if isinstance(p, Wire)]
    lines += ["Parts:", *(_part(circuit, p) for p in others)]
    contacts = [line for p in others for line in _contacts(circuit, p)]
    if contacts:
        lines += ["Contacts, drawn at rest:", *contacts]
    if wires:
        lines += ["Wires:", *(_wire(circuit, w) for w in wires)]
    joints = list(_joints(circuit))
    if joints:
        lines += ["Joined without a wire:", *joints]
    if circuit.feeds:
        lines += ["Feeds:", *(f"{_point(circuit, n)}: {text}." for n, text in circuit.feeds)]
    return "\n".join(lines) + "\n"


def _part(circuit: Circuit, part: Part) -> str:
    what = [part.id, KIND_NAMES[part.kind]]
    if part.name and part.name != what[1]:
        what.append(part.name)
    if isinstance(part, Fuse | FusibleLink | Breaker):
        what.append(f"{part.amps:g} A")
    elif isinstance(part, Resistor):
        what.append(f"{part.ohm:.4g} Ω")
    elif isinstance(part, ResistorPack):
        what += [
            f"{ohm:.4g} Ω between {a} and {b}"
            for ohm, a, b in zip(part.ohms, part.terminals, part.terminals[1:], strict=False)
        ]
    elif isinstance(part, Source):
        what.append(f"{part.volts:g} V")
    elif isinstance(part, Connector):
        what.append("cavities " + " ".join(part.cavities))
    elif isinstance(part, Relay):
        what.append("coil between 86 and 85")
        if part.suppression != "none":
            what.append(f"{part.suppression} across the coil")
    elif isinstance(part, StarterSolenoid):
        what += [
            "pull-in winding between 50 and 45",
            "hold-in winding between 50 and 31",
            "contact between 30 and 45, open at rest",
        ]
    return ", ".join(what) + "."


def _contacts(circuit: Circuit, part: Part) -> Iterator[str]:
    """What a switch or relay joins, position by position."""
    if isinstance(part, Relay):
        rest = "30 to 87a" if "87a" in part.terminals else "no contact"
        pulled = "30 to 87" if "87" in part.terminals else "no contact"
        yield f"{part.id}: at rest {rest}; coil energised {pulled}."
    elif isinstance(part, Switch):
        rest = circuit.rest_positions().get(part.control, part.positions[0])
        told = [
            f"{position}{' (at rest)' if position == rest else ''} {_closed(row)}"
            for position, row in zip(part.positions, part.closes, strict=True)
        ]
        control = circuit.by_control.get(part.control)
        moved = f", moved by {control.label or control.name}" if control and (
            control.by == "condition"
        ) else ""  # fmt: skip
        yield f"{part.id}{moved}: {'; '.join(told)}."


def _closed(row: tuple[Contact, ...]) -> str:
    return " and ".join(f"{c.a} to {c.b}" for c in row) or "no contact"


def _wire(circuit: Circuit, wire: Wire) -> str:
    a, b = (_point(circuit, node, wire.id) for node in wire.nodes)
    return f"{wire.id}, {colour_name(wire.colour)} ({wire.colour}), {wire.mm2:g} mm²: {a} to {b}."


def _point(circuit: Circuit, node: str, apart_from: str = "") -> str:
    """A node by the terminal that a person finds it at."""
    if node == circuit.reference:
        return "the frame" if node == "chassis" else f"point {node}"
    for part_id, terminal in circuit.terminals_at.get(node, ()):
        part = circuit.by_id[part_id]
        if isinstance(part, Splice | Ground):
            return part_id
        if not isinstance(part, Wire):
            return f"{part_id} terminal {terminal}"
    others = [w for w, _ in circuit.terminals_at.get(node, ()) if w != apart_from]
    return f"joint with {' '.join(others)}" if others else "a free end"


def _joints(circuit: Circuit) -> Iterator[str]:
    """Terminals that sit on one node."""
    for node, pairs in circuit.terminals_at.items():
        here = [
            f"{part_id} terminal {terminal}"
            for part_id, terminal in pairs
            if not isinstance(circuit.by_id[part_id], Wire)
            and not (isinstance(circuit.by_id[part_id], Ground) and terminal == "31")
        ]
        if node == circuit.reference and here:
            yield f"{', '.join(here)} to {_point(circuit, node)}."
        elif len(here) > 1:
            yield f"{', '.join(here)}."
