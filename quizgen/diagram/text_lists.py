"""The lists below a drawing in characters: its signs, its parts, its wires.

They say in full what the drawing shortens, and nothing that it would not show on paper.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from quizgen.circuit.components import (
    Connector,
    Flasher,
    Ground,
    Part,
    Relay,
    Splice,
    StarterSolenoid,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.circuit.wire_data import colour_name
from quizgen.diagram.characters import printed
from quizgen.diagram.contacts import acts_when
from quizgen.diagram.describe import KIND_NAMES
from quizgen.diagram.text_boxes import ACTUATORS, single
from quizgen.diagram.text_hand import rating_of
from quizgen.diagram.text_pairs import SIGNS

GAP = 3  # between columns of a list

_BOXES: dict[type[Part], str] = {
    Connector: "═n═ ═U═ connector, one cavity",
    Ground: "═══ ground point",
    Splice: "● splice",
    Relay: "[ ]···/ relay: coil and contact; in the coil D diode, R resistor, T timer",
    StarterSolenoid: "[H] hold-in winding  [P] pull-in winding",
    Flasher: "_n_n_ flasher unit",
}


def sign_list(circuit: Circuit, columns: int) -> tuple[str, ...]:
    """What the signs of this circuit's drawing mean."""
    kinds = {type(p): p.kind for p in circuit.parts}
    told = ["├ ┤ ┬ ┴ ┼ joined", "─│─ crossing, not joined"]
    told += [f"{SIGNS[kind][0]} {KIND_NAMES[kind.kind]}" for kind in SIGNS if kind in kinds]
    told += [text for kind, text in _BOXES.items() if kind in kinds]
    switches = [p for p in circuit.parts if isinstance(p, Switch)]
    moved = dict(ACTUATORS[p.style] for p in switches if single(p))
    told += [f"{sign}/ contact {words}" for sign, words in moved.items()]
    if switches or {Relay, StarterSolenoid} & set(kinds):
        told += ["/ open", "║ closed", "o══o joined inside", "o open"]
    charted = any(not single(p) for p in switches)
    uses = (["position drawn"] if charted else []) + (["live when"] if circuit.feeds else [])
    told += [f"► {' or '.join(uses)}"] if uses else []
    return _flowing(told, columns)


def _flowing(pieces: Sequence[str], columns: int) -> tuple[str, ...]:
    """Pieces side by side in lines; a piece is not broken where it fits a line."""
    lines: list[str] = []
    for piece in pieces:
        if lines and len(lines[-1]) + GAP + len(piece) <= columns:
            lines[-1] += " " * GAP + piece
        else:
            lines += textwrap.wrap(piece, columns)
    return tuple(lines)


def part_list(circuit: Circuit, columns: int) -> tuple[str, ...]:
    """Every part but wires: code, name, kind, rating, how a switch is drawn, what is live when."""
    rows = [(p.id, _told(circuit, p)) for p in circuit.parts if not isinstance(p, Wire)]
    wide = max((len(code) for code, _ in rows), default=0)
    return _beside([f"{code.ljust(wide)}  {text}" for code, text in rows], columns, wide + 2)


def _told(circuit: Circuit, part: Part) -> str:
    kind = KIND_NAMES[part.kind]
    known = not part.name or kind.split()[-1] in part.name.split()
    words = [part.name or kind] if known else [f"{part.name} ({kind})"]
    words += [rating_of(part)]
    if isinstance(part, Relay) and part.suppression != "none":
        words.append(f"{part.suppression} across the coil")
    if isinstance(part, Switch):
        rest = circuit.rest_positions().get(part.control, part.positions[0])
        words.append(acts_when(part, part.positions.index(rest)) or f"drawn in {rest}")
    for node, when in circuit.feeds:
        words += (f"{t} {when}" for t in part.terminals if part.node(t) == node)
    return printed(", ".join(filter(None, words)))


def wire_list(circuit: Circuit, columns: int) -> tuple[str, ...]:
    """Every wire: code, colour, size, length, and where it runs from and to."""
    wires = [p for p in circuit.parts if isinstance(p, Wire)]
    rows = [("wire", "from", "to", "colour", "mm²", "m"), *(_wire(circuit, w) for w in wires)]
    wide = [max(len(row[i]) for row in rows) for i in range(6)]
    lines = [
        "  ".join(
            cell.rjust(width) if i > 3 else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, wide, strict=True))
        )
        for row in rows
    ]
    return _beside(lines[1:], columns, 0, lines[0]) if wires else ()


def _wire(circuit: Circuit, wire: Wire) -> tuple[str, ...]:
    a, b = (_point(circuit, node, wire) for node in wire.nodes)
    colour = f"{wire.colour.ljust(4)} {colour_name(wire.colour)}"
    return wire.id, a, b, colour, f"{wire.mm2:g}", f"{wire.metres:g}"


def _point(circuit: Circuit, node: str, wire: Wire) -> str:
    """Where a wire ends: `K1.87`, a splice, a ground point, the frame, or other wires."""
    if node == circuit.reference:
        return "frame" if node == CHASSIS else node
    others = [(circuit.by_id[i], t) for i, t in circuit.terminals_at.get(node, ()) if i != wire.id]
    for part, terminal in others:
        if not isinstance(part, Wire):
            return part.id if isinstance(part, Splice | Ground) else f"{part.id}.{terminal}"
    return " ".join(part.id for part, _ in others) or "free end"


def _beside(lines: Sequence[str], columns: int, indent: int, head: str = "") -> tuple[str, ...]:
    """Lines below each other, or in two columns where these fit; longer ones are wrapped."""
    widest = max(map(len, [*lines, head]))
    if 2 * widest + GAP <= columns and len(lines) > 1:
        half = (len(lines) + 1) // 2
        left, right = [head, *lines[:half]], [head, *lines[half:]]
        right += [""] * (len(left) - len(right))
        both = zip(left, right, strict=True)
        found = [(a.ljust(widest + GAP) + b).rstrip() for a, b in both]
        return tuple(found if head else found[1:])
    return tuple(
        piece.rstrip()
        for line in ([head] if head else []) + list(lines)
        for piece in textwrap.wrap(
            line, columns, subsequent_indent=" " * indent, drop_whitespace=False
        )
    )
