"""From the shape of a template and one setting's values to a `Circuit`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from quizgen.base.suggest import shown, suggest
from quizgen.circuit.components import (
    LOADS,
    Alternator,
    Connector,
    Contact,
    Part,
    Relay,
    Sender,
    Switch,
    Wire,
)
from quizgen.circuit.expressions import Value
from quizgen.circuit.fields import CONTACT_OHM, check_sense, read_fields
from quizgen.circuit.joints import Joints, check_joints
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.specs import Condition, PartSpec, Specs, position_names
from quizgen.circuit.values import (
    NOT_NEGATIVE,
    POSITIVE,
    Names,
    flag,
    number,
    plain,
    text,
    the_items,
    the_table,
    truth,
)
from quizgen.circuit.wire_data import MILLIOHM_PER_METRE, colour_parts
from quizgen.circuit.yaml_reader import Table, Tree, fail

MAX_PINS = 40
PIN_CHARACTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/")


def build_circuit(specs: Specs, values: Mapping[str, Value]) -> Circuit:
    """The circuit of a template where each parameter has its value in `values`.

    Raises FileError at the place in the file that makes no circuit.
    """
    present = dict(_present(specs.parts, values))
    joints = Joints(specs.reference, specs.parts)
    controls: dict[str, Control] = {}
    for part_id, spec in present.items():
        part, control = _component(spec, specs.conditions, values)
        joints.parts[part_id], joints.specs[part_id] = part, spec
        if control:
            controls.setdefault(control.name, control)
    joints.place_terminals(values)
    parts = [replace(p, nodes=joints.nodes(p)) for p in joints.parts.values()]
    wires = dict(_present(specs.wires, values))
    parts += [_wire(spec, joints, values) for spec in wires.values()]
    check_joints(parts, {**present, **wires}, specs.reference, values, specs.root)
    return Circuit(
        name=specs.name,
        title=text(specs.title, values),
        system_volts=float(number(specs.root.entries["system"], values, POSITIVE)),
        parts=tuple(parts),
        controls=tuple(controls.values()),
        reference=specs.reference,
        summary=text(specs.summary, values) if specs.summary else "",
        topics=specs.topics,
        cautions=specs.cautions,
        unobserved=frozenset(_unobserved(present, values)),
        feeds=tuple(_feeds(specs, joints, values)),
        layout=tuple(_layout(specs, {**present, **wires}, values)),
        parameters=tuple(values.items()),
    )


def _present(
    options: Mapping[str, tuple[PartSpec, ...]], names: Names
) -> Iterator[tuple[str, PartSpec]]:
    """Of every part the first alternative whose `when` holds."""
    for part_id, alternatives in options.items():
        for spec in alternatives:
            if spec.when is None or truth(spec.when, names):
                yield part_id, spec
                break


def _component(
    spec: PartSpec, conditions: Mapping[str, Condition], names: Names
) -> tuple[Part, Control | None]:
    """The part without its nodes, and what moves it."""
    values = read_fields(spec.cls, spec.table, names)
    control: Control | None = None
    if spec.cls is Connector:
        values |= _cavities(spec.table, values["cavities"], names)
    elif spec.cls is Switch:
        _check_pins(spec.table.entries["pins"], values["pins"])
        more, control = _switch(spec, values, conditions, names)
        values |= more
    elif spec.cls in FOLLOWS:
        control = FOLLOWS[spec.cls](spec.table, values, conditions)
    part = spec.cls(id=spec.id, nodes=(), **values)
    if len(part.terminals) < 2 and "ohms" in values:
        fail(spec.table.entries["ohms"], "expected at least one resistance")
    check_sense(part, spec.table)
    return part, control


def _check_pins(tree: Tree, pins: tuple[str, ...]) -> None:
    if not 1 <= len(pins) <= MAX_PINS:
        fail(tree, f"expected 1 to {MAX_PINS} names, found {len(pins)}")
    for index, pin in enumerate(pins):
        if not PIN_CHARACTERS.issuperset(pin) or len(pin) > 8:
            fail(tree, f"{shown(pin)} cannot be a terminal; use letters and digits")
        if pin in pins[:index]:
            fail(tree, f"{shown(pin)} is there twice")


def _cavities(table: Table, cavities: tuple[str, ...], names: Names) -> dict[str, Any]:
    _check_pins(table.entries["cavities"], cavities)
    tree = table.get("contact_ohm")
    ohm = CONTACT_OHM if tree is None else float(number(tree, names, NOT_NEGATIVE))
    return {"cavity_ohm": (ohm,) * len(cavities)}


def _switch(
    spec: PartSpec, values: Mapping[str, Any], conditions: Mapping[str, Condition], names: Names
) -> tuple[dict[str, Any], Control]:
    """Positions, contacts and control of a switch."""
    table = spec.table
    rows = the_table(
        table.entries["positions"], "contacts by position, such as {off: [], on: [1-2]}"
    )
    positions = position_names(rows, tuple(rows.entries))
    closes = tuple(tuple(_contacts(t, values["pins"], names)) for t in rows.entries.values())
    control_tree = table.get("control")
    name = text(control_tree, names) if control_tree else spec.id
    if name == spec.id:
        control = Control(
            name=name, positions=positions, rest=_rest(table, positions, names),
            label=values.get("name", "") or spec.id,
            momentary=flag(table.entries["momentary"], names) if table.get("momentary") else False,
        )  # fmt: skip
        return {"positions": positions, "closes": closes, "control": name}, control
    for key in ("rest", "momentary"):
        if (tree := table.get(key)) is not None:
            fail(tree, f"the condition {name} moves this switch; {key} belongs to a hand switch")
    tree = control_tree or table
    condition = _condition(tree, name, conditions, [spec.id])
    _check_positions(tree, positions, condition)
    return {"positions": positions, "closes": closes, "control": name}, condition


def _rest(table: Table, positions: tuple[str, ...], names: Names) -> str:
    tree = table.get("rest")
    rest = positions[0] if tree is None else text(tree, names)
    if tree is not None and rest not in positions:
        fail(tree, f"no position {shown(rest)}{suggest(rest, positions)}")
    return rest


def _contacts(tree: Tree, pins: tuple[str, ...], names: Names) -> Iterator[Contact]:
    """The contacts closed in one position, each written "30-1"."""
    seen: set[frozenset[str]] = set()
    for item in the_items(tree, "a list of contacts, such as [30-1]"):
        words = text(item, names)
        a, dash, b = words.partition("-")
        if not dash:
            fail(item, f"expected a contact such as '{pins[0]}-{pins[-1]}', found {shown(words)}")
        for pin in (a, b):
            if pin not in pins:
                fail(item, f"the switch has no terminal {shown(pin)}{suggest(pin, pins)}")
        if a == b or frozenset((a, b)) in seen:
            problem = "joins a terminal with itself" if a == b else "is there twice"
            fail(item, f"the contact {words} {problem}")
        seen.add(frozenset((a, b)))
        yield Contact(a=a, b=b)


def _sender_control(
    table: Table, values: Mapping[str, Any], conditions: Mapping[str, Condition]
) -> Control:
    positions = position_names(table.entries["positions"], values["positions"])
    tree = table.entries["control"]
    control = _condition(tree, values["control"], conditions)
    _check_positions(tree, positions, control)
    return control


def _engine(
    table: Table, values: Mapping[str, Any], conditions: Mapping[str, Condition]
) -> Control:
    """What turns an alternator: a condition, one of whose positions is named in `running`."""
    control = _condition(table.entries["control"], values["control"], conditions)
    running = values.get("running", Alternator.running)
    if running not in control.positions:
        tree = table.get("running") or table.entries["control"]
        known = ", ".join(control.positions)
        fail(tree, f"the condition {control.name} has no position {running}; choose from {known}")
    return control


def _timer(
    table: Table, values: Mapping[str, Any], conditions: Mapping[str, Condition]
) -> Control | None:
    """What lets a timer relay pull; a plain relay has none."""
    tree = table.get("timer")
    if tree is None or not values["timer"]:
        return None
    control = _condition(tree, values["timer"], conditions)
    if set(control.positions) != set(TIMED):
        both = " and ".join(TIMED)
        fail(tree, f"the positions of {control.name}, which times a relay, must be {both}")
    return control


TIMED = ("running", "elapsed")  # the positions of a condition that times a relay
FOLLOWS: dict[
    type[Part], Callable[[Table, Mapping[str, Any], Mapping[str, Condition]], Control | None]
] = {Sender: _sender_control, Alternator: _engine, Relay: _timer}


def _condition(
    tree: Tree, name: str, conditions: Mapping[str, Condition], own: Sequence[str] = ()
) -> Control:
    """The control of a part that a condition moves."""
    condition = conditions.get(name)
    if condition is None:
        known = [*conditions, *own]
        fail(tree, f"no condition {shown(name)}{suggest(name, known)}")
    return Control(
        name=name,
        positions=condition.positions,
        rest=condition.rest,
        label=condition.label,
        by="condition",
    )


def _check_positions(tree: Tree, positions: Sequence[str], control: Control) -> None:
    """Raise FileError unless a part and the condition it follows have the same positions."""
    if set(positions) != set(control.positions):
        listed = ", ".join(control.positions)
        fail(tree, f"the positions must be those of the condition {control.name}: {listed}")


def _wire(spec: PartSpec, joints: Joints, names: Names) -> Wire:
    table = spec.table
    values = read_fields(Wire, table, names)
    if values["mm2"] not in MILLIOHM_PER_METRE:
        sizes = " ".join(f"{size:g}" for size in MILLIOHM_PER_METRE)
        fail(table.entries["mm2"], f"{values['mm2']:g} mm2 is no standard size; sizes: {sizes}")
    try:
        colour_parts(values["colour"])
    except ValueError as error:
        fail(table.entries["colour"], str(error))
    ends = tuple(joints.point(table.entries[end], names) for end in ("from", "to"))
    return Wire(id=spec.id, nodes=ends, **values)


def _unobserved(present: Mapping[str, PartSpec], names: Names) -> Iterator[str]:
    for part_id, spec in present.items():
        tree = spec.table.get("unobserved")
        if tree is None:
            continue
        if not issubclass(spec.cls, LOADS):
            fail(tree, f"only a load can be unobserved; {part_id} is a {spec.cls.kind}")
        if flag(tree, names):
            yield part_id


def _feeds(specs: Specs, joints: Joints, names: Names) -> Iterator[tuple[str, str]]:
    for words, tree in specs.feeds.items():
        part_id = words.partition(".")[0]
        if part_id in specs.parts and part_id not in joints.parts:
            continue  # the part is absent at this setting
        yield joints.named(words, tree), text(tree, names)


def _layout(
    specs: Specs, present: Mapping[str, PartSpec], names: Names
) -> Iterator[tuple[str, Mapping[str, object]]]:
    for part_id, tree in specs.layout.items():
        if part_id in present and isinstance(tree, Table):
            yield part_id, {key: plain(value, names) for key, value in tree.entries.items()}
