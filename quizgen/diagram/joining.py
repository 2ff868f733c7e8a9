"""Joining: which spots of which blocks are linked, before anything has a symbol.

A wire becomes a link of its own. Points joined without a wire become plain links, to a
joint where more than two meet. A battery that feeds several wires gets a rail above it; a
terminal on the reference gets a frame mark of its own; a connector is taken cavity by cavity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from quizgen.circuit.components import Battery, Connector, Ground, Part, Source, Splice, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.depth import depths

Spot = tuple[str, str]  # block key, terminal


@dataclass
class Draft:
    """The scheme while it grows: which spots are linked, and where wires attach to a node."""

    circuit: Circuit
    depth: Mapping[str, float]
    keys: dict[str, Part | None] = field(default_factory=dict)
    spots: dict[str, Spot] = field(default_factory=dict)
    raw: list[tuple[str, Wire | None, str, Spot, Spot]] = field(default_factory=list)


def join(circuit: Circuit) -> Draft:
    """All spots of `circuit` and the links between them."""
    draft = Draft(circuit, depths(circuit))
    for part in circuit.parts:
        if isinstance(part, Connector):
            draft.keys.update(dict.fromkeys((f"{part.id}/{c}" for c in part.cavities), part))
        elif not isinstance(part, Wire):
            draft.keys[part.id] = part
    for node in circuit.nodes:
        _join(draft, node)
    for part in circuit.parts:
        if isinstance(part, Wire):
            _run(draft, part)
    return draft


def spot_of(part: Part, terminal: str) -> Spot:
    """The block and terminal that draw a terminal of a part."""
    return (f"{part.id}/{terminal[:-1]}" if isinstance(part, Connector) else part.id, terminal)


def _join(draft: Draft, node: str) -> None:
    """Plain links between the terminals that sit on `node`."""
    circuit = draft.circuit
    here, wires = [], 0
    for part_id, terminal in circuit.terminals_at.get(node, ()):
        part = circuit.by_id[part_id]
        if isinstance(part, Wire):
            wires += 1
        elif not (isinstance(part, Ground) and terminal == "31"):
            here.append((part, terminal))
    if node == circuit.reference:
        for part, terminal in here:
            frame = _frame(draft, f"{part.id}.{terminal}")
            draft.raw.append((f"={frame[0]}", None, node, spot_of(part, terminal), frame))
        return
    if len(here) == 1:
        part, terminal = here[0]
        draft.spots[node] = spot_of(part, terminal)
        if isinstance(part, Battery | Source) and terminal == "+" and wires > 1:
            rail = (f"rail {node}", "+")
            draft.keys[rail[0]] = None
            draft.raw.append((f"={node}", None, node, rail, draft.spots[node]))
            draft.spots[node] = rail
    elif len(here) == 2 and not wires and not any(isinstance(p, Splice) for p, _ in here):
        a, b = (spot_of(p, t) for p, t in here)
        draft.raw.append((f"={node}", None, node, a, b))
    elif here or wires:
        _meet(draft, node, here)


def _meet(draft: Draft, node: str, here: list[tuple[Part, str]]) -> None:
    """Several terminals on one node: all linked to its splice, or to a joint made for them."""
    splice = next(((p, t) for p, t in here if isinstance(p, Splice)), None)
    if splice:
        centre = spot_of(*splice)
    else:
        centre = (f"joint {node}", "1")
        draft.keys[centre[0]] = None
    draft.spots[node] = centre
    for part, terminal in here:
        spot = spot_of(part, terminal)
        if spot != centre:
            draft.raw.append((f"={spot[0]}.{terminal}", None, node, spot, centre))


def _frame(draft: Draft, name: str) -> Spot:
    key = f"frame {name}"
    draft.keys[key] = None
    return (key, "31")


def _run(draft: Draft, wire: Wire) -> None:
    ends = [
        _frame(draft, f"{wire.id}.{t}") if node == draft.circuit.reference else draft.spots[node]
        for t, node in zip(wire.terminals, wire.nodes, strict=True)
    ]
    draft.raw.append((wire.id, wire, "", ends[0], ends[1]))
