"""Faults of wires: breaking, splitting, shorting and swapping them.

A place along a wire is a fraction of its length: 0 at the first node (`from`), 1 at the
second (`to`). Cutting wire W5 at 0.3 leaves the pieces `W5` and `W5'` joined at the new
node `W5@0.3`; the node names alone tell where each piece lies, so that a second fault on
the same wire finds its place.

One rule makes two faults on a wire come out the same in either order: an added resistance
or a break sits at the far (`to`) end of its piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import inf

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.circuit.components import Bridge, Connector, Ground, Part, Splice, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.faults.details import choices
from quizgen.faults.fault import Fault

FROM, TO = 0, 1  # index into Wire.nodes


@dataclass(frozen=True)
class Meeting:
    """Two wires that end at different terminals of one part."""

    part: str
    ends: tuple[int, int]  # which end of each wire, FROM or TO
    terminals: tuple[str, str]


# --- pieces ---------------------------------------------------------------------------


def pieces(circuit: Circuit, wire_id: str) -> tuple[Wire, ...]:
    """The pieces of a wire in order from its `from` end; one if it was never cut."""
    found = [p for p in circuit.parts if isinstance(p, Wire) and p.id.rstrip("'") == wire_id]
    return tuple(sorted(found, key=lambda piece: _span(piece, wire_id)))


def _span(piece: Wire, wire_id: str) -> tuple[float, float]:
    joint = f"{wire_id}@"
    start, end = piece.nodes
    return (
        float(start.removeprefix(joint)) if start.startswith(joint) else 0.0,
        float(end.removeprefix(joint)) if end.startswith(joint) else 1.0,
    )


def end_node(circuit: Circuit, wire_id: str, end: int) -> str:
    """The node at one end of a wire, cut or whole."""
    whole = pieces(circuit, wire_id)
    return whole[0].nodes[FROM] if end == FROM else whole[-1].nodes[TO]


def cut(circuit: Circuit, wire_id: str, at: float) -> Circuit:
    """A circuit in which the wire has a node at the fraction `at`, named `W5@0.3`."""
    node = f"{wire_id}@{at:g}"
    at = float(f"{at:g}")  # the name is what a later cut reads the place from
    whole = pieces(circuit, wire_id)
    if any(node in piece.nodes for piece in whole):
        return circuit
    piece = next(p for p in whole if _span(p, wire_id)[0] <= at <= _span(p, wire_id)[1])
    start, end = _span(piece, wire_id)
    share = (at - start) / (end - start) if end > start else 0.0
    near = replace(
        piece,
        nodes=(piece.nodes[FROM], node),
        metres=piece.metres * share,
        joint_ohm=piece.joint_ohm * share,
        extra_ohm=0.0,
    )
    far = replace(
        piece,
        id=wire_id + "'" * len(whole),
        nodes=(node, piece.nodes[TO]),
        metres=piece.metres * (1.0 - share),
        joint_ohm=piece.joint_ohm * (1.0 - share),
    )
    return circuit.with_parts(changed=[near], added=[far])


def add_resistance(circuit: Circuit, wire_id: str, ohm: float, at: float = 1.0) -> Circuit:
    """A circuit with `ohm` (inf: a break) added to the wire at the fraction `at`."""
    if at == 1.0:
        target = pieces(circuit, wire_id)[-1]
    else:
        circuit = cut(circuit, wire_id, at)
        node = f"{wire_id}@{at:g}"
        target = next(p for p in pieces(circuit, wire_id) if p.nodes[TO] == node)
    return circuit.with_parts(changed=[replace(target, extra_ohm=target.extra_ohm + ohm)])


def break_wire(circuit: Circuit, wire_id: str, at: float = 1.0) -> Circuit:
    """A circuit in which the wire is broken at the fraction `at`."""
    return add_resistance(circuit, wire_id, inf, at)


# --- contact with something else ------------------------------------------------------


def short(circuit: Circuit, fault: Fault, node: str, other: str) -> Circuit:
    """A circuit with a `Bridge` between two nodes, called `~` and the fault.

    Raises InputError when the nodes are one, or the fault is there already.
    """
    name = f"~{fault}"
    if node == other:
        raise InputError(f"fault {fault}: {node} is that point already; nothing would change")
    if name in circuit.by_id:
        raise InputError(f"fault {fault}: it is in the circuit already")
    return circuit.with_parts(added=[Bridge(id=name, nodes=(node, other))])


def short_at(circuit: Circuit, fault: Fault, at: float, other: str) -> Circuit:
    """`short` from the place `at` along the wire; the ends need no cut."""
    if at in (0.0, 1.0):
        return short(circuit, fault, end_node(circuit, fault.part, int(at)), other)
    circuit = cut(circuit, fault.part, at)
    return short(circuit, fault, f"{fault.part}@{at:g}", other)


def short_between(circuit: Circuit, fault: Fault, other_id: str) -> Circuit:
    """A circuit in which two wires touch: where both reach one part, else at their `to` ends."""
    met = next(meetings(circuit, fault.part, other_id), None)
    here, there = met.ends if met else (TO, TO)
    return short(
        circuit,
        fault,
        end_node(circuit, fault.part, here),
        end_node(circuit, other_id, there),
    )


def swap(circuit: Circuit, fault: Fault, other_id: str) -> Circuit:
    """A circuit in which the two wires have changed places at a part both reach.

    Raises InputError when no part has both.
    """
    met = next(meetings(circuit, fault.part, other_id), None)
    if met is None:
        partners = [
            w.id
            for w in whole_wires(circuit)
            if w.id != fault.part and next(meetings(circuit, fault.part, w.id), None)
        ]
        raise InputError(
            f"fault {fault}: {fault.part} and {other_id} reach no common part; wires that could "
            f"change places with {fault.part}: {' '.join(partners) or 'none'}"
        )
    ends = zip((fault.part, other_id), met.ends, strict=True)
    first, second = (_end_piece(circuit, wire_id, end) for wire_id, end in ends)
    here, there = met.ends
    return circuit.with_parts(
        changed=[
            _moved(first, here, second.nodes[there]),
            _moved(second, there, first.nodes[here]),
        ]
    )


def _end_piece(circuit: Circuit, wire_id: str, end: int) -> Wire:
    whole = pieces(circuit, wire_id)
    return whole[0] if end == FROM else whole[-1]


def _moved(wire: Wire, end: int, node: str) -> Wire:
    return replace(wire, nodes=(node, wire.nodes[TO]) if end == FROM else (wire.nodes[FROM], node))


# --- wires that meet ------------------------------------------------------------------


def whole_wires(circuit: Circuit) -> tuple[Wire, ...]:
    """Every wire once, by its first piece."""
    return tuple(p for p in circuit.parts if isinstance(p, Wire) and not p.id.endswith("'"))


def other_wire(circuit: Circuit, fault: Fault) -> str:
    """The second wire named by the detail. Raises InputError when it is none or the same."""
    known = [w.id for w in whole_wires(circuit) if w.id != fault.part]
    if fault.detail not in known:
        found = f"no other wire {shown(fault.detail)}" if fault.detail else "which other wire"
        raise InputError(f"fault {fault}: {found}{choices(fault.detail, known, 'wire')}")
    return fault.detail


def meetings(circuit: Circuit, first: str, second: str) -> Iterator[Meeting]:
    """Every part at which two wires have ends beside each other, `to` ends first."""
    for ends in ((TO, TO), (FROM, FROM), (TO, FROM), (FROM, TO)):
        nodes = [end_node(circuit, w, e) for w, e in zip((first, second), ends, strict=True)]
        if nodes[0] == nodes[1]:
            continue
        for part in parts_at(circuit, nodes[0]):
            pair = _terminals(part, nodes[0], nodes[1])
            if pair:
                yield Meeting(part.id, ends, pair)


def parts_at(circuit: Circuit, node: str) -> Iterator[Part]:
    """The parts with a terminal at a node at which wires can meet."""
    for part_id, _ in circuit.terminals_at.get(node, ()):
        part = circuit.by_id[part_id]
        if not isinstance(part, Wire | Bridge | Ground | Splice):
            yield part


def _terminals(part: Part, here: str, there: str) -> tuple[str, str] | None:
    """The terminals at two nodes; on one side of a connector, as only that side can mix."""
    pins = tuple(zip(part.terminals, part.nodes, strict=True))
    for a, b in product(_at(pins, here), _at(pins, there)):
        if not isinstance(part, Connector) or a[-1] == b[-1]:
            return a, b
    return None


def _at(pins: Sequence[tuple[str, str]], wanted: str) -> list[str]:
    return [terminal for terminal, node in pins if node == wanted]
