"""The circuit as things to be placed: blocks with ports, and links between ports.

A wire becomes a link of its own. Points joined without a wire become plain links, to a
joint where more than two meet. A battery that feeds several wires gets a rail above it; a
terminal on the reference gets a frame mark of its own; a connector is drawn cavity by cavity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from quizgen.circuit.components import (
    LOADS,
    Battery,
    Connector,
    Diode,
    Ground,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Sender,
    Source,
    Splice,
    Switch,
    Wire,
)  # fmt: skip
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.diagram.assembly import make_symbol
from quizgen.diagram.contacts import poles_of, relay_pole
from quizgen.diagram.depth import SAME, depths
from quizgen.diagram.flags import with_flag
from quizgen.diagram.pen import Style
from quizgen.diagram.points import frame_symbol, node_symbol, rail_symbol
from quizgen.diagram.symbols import Side, Symbol
from quizgen.diagram.view import View

Spot = tuple[str, str]  # block key, terminal


@dataclass(frozen=True)
class Block:
    """Something to be placed. `part` is empty for a joint, a rail and a frame mark."""

    key: str
    part: str
    symbol: Symbol
    mirrored: Symbol | None = None


@dataclass(frozen=True)
class End:
    """One end of a link: a port of a block, both by index."""

    block: int
    port: int


@dataclass(frozen=True)
class Link:
    """A line to be drawn, from nearer the supply to nearer the ground."""

    key: str
    upper: End
    lower: End
    node: str = ""  # of a plain link
    wire: Wire | None = None


@dataclass(frozen=True)
class Scheme:
    """Everything to be placed and joined."""

    blocks: tuple[Block, ...]
    links: tuple[Link, ...]


@dataclass
class _Draft:
    """The scheme while it grows: which spots are linked, and where wires attach to a node."""

    circuit: Circuit
    depth: Mapping[str, float]
    keys: dict[str, Part | None] = field(default_factory=dict)
    spots: dict[str, Spot] = field(default_factory=dict)
    raw: list[tuple[str, Wire | None, str, Spot, Spot]] = field(default_factory=list)


def make_scheme(circuit: Circuit, style: Style) -> Scheme:
    """Blocks and links of `circuit`, with symbols in `style`."""
    draft = _Draft(circuit, depths(circuit))
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
    return _finish(draft, style)


def spot_of(part: Part, terminal: str) -> Spot:
    """The block and terminal that draw a terminal of a part."""
    return (f"{part.id}/{terminal[:-1]}" if isinstance(part, Connector) else part.id, terminal)


def _join(draft: _Draft, node: str) -> None:
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


def _meet(draft: _Draft, node: str, here: list[tuple[Part, str]]) -> None:
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


def _frame(draft: _Draft, name: str) -> Spot:
    key = f"frame {name}"
    draft.keys[key] = None
    return (key, "31")


def _run(draft: _Draft, wire: Wire) -> None:
    ends = [
        _frame(draft, f"{wire.id}.{t}") if node == draft.circuit.reference else draft.spots[node]
        for t, node in zip(wire.terminals, wire.nodes, strict=True)
    ]
    draft.raw.append((wire.id, wire, "", ends[0], ends[1]))


# --- which way conductors leave -------------------------------------------------------


def _far(draft: _Draft, wire: Wire | None, here: Spot, there: Spot) -> float:
    """Potential at the far side of what a link leads to, seen from `here`."""
    if wire is not None:
        nodes = wire.nodes if _at(draft, wire, 0) == here else wire.nodes[::-1]
        return draft.depth[nodes[1]]
    part = draft.keys[there[0]]
    if part is None:
        return 0.0 if there[0].startswith("frame") else 1.0 if there[0].startswith("rail") else 0.5
    own = part.node(there[1])
    others = [draft.depth[n] for n in _pole_nodes(part, there[1]) if n != own]
    return sum(others) / len(others) if others else draft.depth[own]


def _at(draft: _Draft, wire: Wire, end: int) -> Spot | None:
    return draft.spots.get(wire.nodes[end])


def _pole_nodes(part: Part, terminal: str) -> list[str]:
    """Nodes of the terminals that `terminal` works with."""
    if isinstance(part, Relay):
        coil = terminal in ("85", "86")
        return [part.node(t) for t in part.terminals if (t in ("85", "86")) == coil]
    if isinstance(part, Connector):
        return [part.node(terminal[:-1] + side) for side in "ab"]
    return list(part.nodes)


def _leaning(draft: _Draft, part: Part, rest: int) -> dict[str, Side]:
    """The side that each terminal of `part` faces."""
    depth = draft.depth
    at = {t: depth[n] for t, n in zip(part.terminals, part.nodes, strict=True)}
    if isinstance(part, Battery | Source):
        return {"+": "top", "-": "bottom"}
    if isinstance(part, Relay):
        first = "86" if at["86"] >= at["85"] - SAME else "85"
        coil: dict[str, Side] = {"86": "bottom", "85": "bottom", first: "top"}
        pole = relay_pole(part)
        return coil | _star(pole.common, pole.throws, at)
    if isinstance(part, Switch):
        poles = poles_of(part, rest)
        sides = _charted(draft, part, at)
        for one in poles or ():
            sides |= _star(one.common, one.throws, at)
        return sides
    if isinstance(part, Connector):
        facing: dict[str, Side] = {}
        for c in part.cavities:
            up = at[c + "a"] >= at[c + "b"] - SAME
            facing |= {c + "a": "top" if up else "bottom", c + "b": "bottom" if up else "top"}
        return facing
    if isinstance(part, ResistorPack | Splice | Ground):
        return dict.fromkeys(part.terminals, "bottom" if isinstance(part, ResistorPack) else "top")
    return _facing_pair(draft, part, at)


def _facing_pair(draft: _Draft, part: Part, at: dict[str, float]) -> dict[str, Side]:
    first, second = part.terminals
    near = (
        0.2
        if isinstance(part, LOADS)
        else 0.02
        if isinstance(part, Resistor | Sender | Diode)
        else 0
    )
    hint = dict(draft.circuit.layout).get(part.id, {}).get("lying")
    between = isinstance(part, LOADS) or all(0.02 < level < 0.98 for level in at.values())
    lies = hint if isinstance(hint, bool) else between and abs(at[first] - at[second]) < near
    if lies:
        return {first: "top", second: "top"}
    if at[first] >= at[second] - SAME:
        return {first: "top", second: "bottom"}
    return {first: "bottom", second: "top"}


def _charted(draft: _Draft, part: Switch, at: Mapping[str, float]) -> dict[str, Side]:
    """Feeds of a switch up, drains down; what may be either, towards what it is wired to."""
    sides: dict[str, Side] = {}
    for pin in part.pins:
        partners = [at[c.b if c.a == pin else c.a] for c in part.contacts if pin in (c.a, c.b)]
        if not partners or at[pin] >= max(partners) - SAME:
            sides[pin] = "top"
        elif at[pin] <= min(partners) + SAME:
            sides[pin] = "bottom"
        else:
            spot = spot_of(part, pin)
            far = [
                _far(draft, wire, spot, b if a == spot else a)
                for _, wire, _, a, b in draft.raw
                if spot in (a, b)
            ]
            sides[pin] = "top" if far and sum(far) / len(far) > at[pin] + SAME else "bottom"
    return sides


def _star(common: str, throws: tuple[str, ...], at: Mapping[str, float]) -> dict[str, Side]:
    highest = max(at[t] for t in throws)
    down = at[common] >= highest - SAME
    sides: dict[str, Side] = {common: "top" if down else "bottom"}
    for t in throws:
        if at[t] > at[common] + SAME:
            sides[t] = "top"
        elif at[t] < at[common] - SAME:
            sides[t] = "bottom"
        else:
            sides[t] = "bottom" if down else "top"
    return sides


# --- symbols and indexes --------------------------------------------------------------


def _finish(draft: _Draft, style: Style) -> Scheme:
    circuit = draft.circuit
    rests = circuit.rest_positions()
    leaning: dict[str, dict[str, Side]] = {}
    for key, part in draft.keys.items():
        if part is not None:
            leaning[key] = _leaning(draft, part, _rest(part, rests))
    uses: dict[Spot, list[tuple[int, int, Side]]] = {}
    for i, (_, wire, _, a, b) in enumerate(draft.raw):
        for end, (here, there) in enumerate(((a, b), (b, a))):
            side = _side(draft, leaning, wire, here, there)
            uses.setdefault(here, []).append((i, end, side))
    sides = {spot: frozenset(s for _, _, s in found) for spot, found in uses.items()}
    blocks = _blocks(draft, style, leaning, sides)
    index = {
        (b.key, p.terminal, p.side): End(i, k)
        for i, b in enumerate(blocks)
        for k, p in enumerate(b.symbol.ports)
    }
    ends: dict[tuple[int, int], End] = {
        (i, end): index[(*spot, side)] for spot, found in uses.items() for i, end, side in found
    }
    links = []
    for i, (name, wire, node, a, b) in enumerate(draft.raw):
        down = _level(draft, a) >= _level(draft, b) - SAME
        if wire is None:  # both ends on one node: what leaves downwards comes first
            down = (
                not a[0].startswith(("joint ", "frame ")) and _facing(blocks, ends[i, 0]) != "top"
            )
        order = (0, 1) if down else (1, 0)
        links.append(Link(name, ends[i, order[0]], ends[i, order[1]], node, wire))
    return Scheme(tuple(blocks), tuple(links))


def _facing(blocks: list[Block], end: End) -> Side:
    return blocks[end.block].symbol.ports[end.port].side


def _rest(part: Part, rests: Mapping[str, str]) -> int:
    if isinstance(part, Switch):
        return part.positions.index(rests.get(part.control, part.positions[0]))
    return 0


def _level(draft: _Draft, spot: Spot) -> float:
    key, terminal = spot
    part = draft.keys[key]
    if part is not None:
        return draft.depth[part.node(terminal)]
    kind, _, name = key.partition(" ")
    return {"frame": -1.0, "rail": 2.0}.get(kind) or draft.depth.get(name, 0.5)


def _side(
    draft: _Draft,
    leaning: Mapping[str, Mapping[str, Side]],
    wire: Wire | None,
    here: Spot,
    there: Spot,
) -> Side:
    key, terminal = here
    part = draft.keys[key]
    if part is None and not key.startswith("joint"):
        return "bottom" if key.startswith("rail") else "top"
    if part is not None and not isinstance(part, Splice | ResistorPack):
        return leaning[key][terminal]
    return "top" if _far(draft, wire, here, there) > _level(draft, here) + SAME else "bottom"


def _blocks(
    draft: _Draft,
    style: Style,
    leaning: Mapping[str, dict[str, Side]],
    sides: Mapping[Spot, frozenset[Side]],
) -> list[Block]:
    blocks = []
    rests = draft.circuit.rest_positions()
    reference = "" if draft.circuit.reference == CHASSIS else draft.circuit.reference
    named: set[str] = set()
    for key, part in draft.keys.items():
        if part is None:
            kind = key.partition(" ")[0]
            if kind == "frame":
                symbol = frame_symbol(style, reference, "31")
            elif kind == "rail":
                symbol = rail_symbol(style, "+")
            else:
                symbol = node_symbol(style, "", sides.get((key, "1"), frozenset()), terminal="1")
            blocks.append(Block(key, "", symbol))
            continue
        used = {t: sides.get((key, t), frozenset()) for t in part.terminals}
        cavity = key.partition("/")[2] if isinstance(part, Connector) else ""
        view = View(used, leaning[key], _rest(part, rests), cavity, part.id not in named)
        named.add(part.id)
        blocks.append(_block(draft, key, part, view, style))
    return blocks


def _block(draft: _Draft, key: str, part: Part, view: View, style: Style) -> Block:
    symbol = make_symbol(part, view, style)
    other = None
    several = isinstance(part, Switch | Relay | ResistorPack) and len(symbol.ports) > 2
    if several or (len(symbol.ports) == 2 and symbol.ports[0].side == symbol.ports[1].side):
        other = make_symbol(part, replace(view, mirrored=True), style)
    for node, text in draft.circuit.feeds:
        for terminal in part.terminals:
            if part.node(terminal) == node and draft.spots.get(node, ("",))[0] in (
                key,
                f"rail {node}",
            ):
                symbol = with_flag(symbol, terminal, text, style)
                other = with_flag(other, terminal, text, style) if other else None
    return Block(key, part.id, symbol, other)
