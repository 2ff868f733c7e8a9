"""Saying a fault as a technician would, with both ends of a wire named.

The clauses are in `templates/wording/faults.yaml`; this module fills in the names.
"""

from __future__ import annotations

from functools import cache
from typing import cast

import yaml

from quizgen.base.paths import data_folder
from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.faults.fault import Fault
from quizgen.faults.inject import find_mode, inject
from quizgen.faults.modes import USUAL_CHARGE
from quizgen.faults.wires import FROM, TO, end_node, meetings

KIND_WORDS = {
    "ground": "ground point",
    "led_lamp": "LED lamp",
    "breaker": "circuit breaker",
    "two_speed_motor": "two-speed motor",
}


@cache
def clauses() -> dict[str, dict[str, str]]:
    """Kind → mode → clause with words in braces, as shipped."""
    text = (data_folder("templates") / "wording" / "faults.yaml").read_text(encoding="utf-8")
    return cast("dict[str, dict[str, str]]", yaml.safe_load(text))


def describe(circuit: Circuit, fault: Fault, *, severity: bool = True, names: bool = True) -> str:
    """A clause that names the fault and its place; no capital, no full stop.

    `circuit` is the one without the fault. Without `severity` the clause leaves open how bad
    it is: how many ohm, how much charge. Without `names` the ends of a wire are only numbered,
    for a reader who has the diagram at hand. Raises InputError for a fault that does not fit
    the circuit.
    """
    inject(circuit, fault)  # says what is wrong with the fault, if anything is
    part, _ = find_mode(circuit, fault)
    words = {"id": part.id, "part": part_name(part), "detail": fault.detail}
    if isinstance(part, c.Wire):
        words |= _wire_words(circuit, fault, names)
    else:
        words |= _part_words(part, fault)
    ohm = words["ohm"]
    words["added"] = f" ({ohm} Ω added)" if severity and ohm else ""
    words["charge"] = f", about {words['detail']} % charged" if severity else ""
    mode = fault.mode
    if mode == "stuck" and isinstance(part, c.Switch | c.Sender) and part.control != part.id:
        label = circuit.by_control[part.control].label or part.control
        mode, words["control"] = "stuck-as-if", f"the {label}"
    return clauses()[part.kind][mode].format_map(words)


def part_name(part: c.Part) -> str:
    """Name and number: "blower motor M1", "ground point G2 (left frame stud)".

    >>> part_name(c.Fuse(id="F1", nodes=("a", "b"), amps=10, name="pump fuse"))
    'pump fuse F1'
    """
    kind = KIND_WORDS.get(part.kind, part.kind.replace("_", " "))
    if isinstance(part, c.Ground):
        return f"{kind} {part.id} ({part.name})" if part.name else f"{kind} {part.id}"
    return f"{part.name or kind} {part.id}"


def point_name(circuit: Circuit, node: str, *, names: bool = True, sides: bool = True) -> str:
    """What a technician calls a node: "pump relay K1 terminal 87", "splice XS2", "the frame".

    Without `names` a part is only numbered, as in the diagram: "K1 terminal 87". With `sides`
    a plug's cavity says on which side of it: "X1 cavity 2 (W5 side)".
    """
    if node == circuit.reference == CHASSIS:
        return "the frame"
    for part_id, terminal in circuit.terminals_at.get(node, ()):
        part = circuit.by_id[part_id]
        if not isinstance(part, c.Wire | c.Bridge):
            name = part_name(part) if names else _number(part)
            if isinstance(part, c.Connector):
                at = f" ({_cavity_side(circuit, node, terminal)} side)" if sides else ""
                return f"{name} cavity {terminal[:-1]}{at}"
            return _terminal_name(part, terminal, name)
    return f"point {node}"


def _cavity_side(circuit: Circuit, node: str, terminal: str) -> str:
    """Which side of a plug: by the wire that ends there, as no one can see both at once."""
    wires = [p for p, _ in circuit.terminals_at[node] if isinstance(circuit.by_id[p], c.Wire)]
    return wires[0] if wires else {"a": "socket", "b": "plug"}[terminal[-1]]


def _number(part: c.Part) -> str:
    """The number, and for what is a mere point on the diagram also what it is."""
    words = KIND_WORDS.get(part.kind, part.kind)
    return f"{words} {part.id}" if isinstance(part, c.Splice | c.Ground) else part.id


def _terminal_name(part: c.Part, terminal: str, name: str) -> str:
    match part:
        case c.Splice() | c.Ground():
            return name
        case c.Battery() | c.Source():
            return f"{name} {'plus' if terminal == '+' else 'minus'}"
        case _:
            return f"{name} terminal {terminal}"


def _wire_words(circuit: Circuit, fault: Fault, names: bool) -> dict[str, str]:
    words = {"ohm": fault.detail, "along": "", "meeting": ""}
    words["from"], words["to"] = (
        point_name(circuit, end_node(circuit, fault.part, end), names=names, sides=False)
        for end in (FROM, TO)
    )
    if fault.mode in ("short-to", "swapped"):
        return words | _pair_words(circuit, fault, names)
    if fault.detail and fault.mode != "resistance":
        words["along"] = f", {float(fault.detail):.0%} of the way along".replace("%", " %")
    return words


def _pair_words(circuit: Circuit, fault: Fault, names: bool) -> dict[str, str]:
    other = fault.detail
    words = {"other": other}
    words["other_from"], words["other_to"] = (
        point_name(circuit, end_node(circuit, other, end), names=names, sides=False)
        for end in (FROM, TO)
    )
    met = next(meetings(circuit, fault.part, other), None)
    if met is None:
        return words
    part = circuit.by_id[met.part]
    here, there = (_pin(part, terminal) for terminal in met.terminals)
    # swapped: each wire sits where the other belongs
    at = part_name(part)
    return words | {"at": at, "meeting": f", at {at}", "where": there, "there": here}


def _pin(part: c.Part, terminal: str) -> str:
    if isinstance(part, c.Connector):
        return f"in cavity {terminal[:-1]}"
    return f"on terminal {terminal}"


def _part_words(part: c.Part, fault: Fault) -> dict[str, str]:
    place, _, ohm = fault.detail.rpartition("=")
    words = {"ohm": ohm, "place": place or fault.detail}
    match part:
        case c.Switch():
            words["place"] = words["place"].replace("-", " to ")
        case c.Relay():
            throw = next(t for t in part.terminals if t.startswith("87"))
            words["contact"] = f"30 to {throw}"
        case c.StarterSolenoid():
            words["contact"] = "30 to 45"
        case c.Fuse():
            words["rating"] = f"{part.amps:g}"
        case c.Lamp():
            words["rating"] = f"{part.watts:g}"
        case c.Battery():
            words["detail"] = fault.detail or f"{USUAL_CHARGE:g}"
        case c.ResistorPack() if not fault.detail:
            words["place"] = "1"
        case _:
            pass
    return words
