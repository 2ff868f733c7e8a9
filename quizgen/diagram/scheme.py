"""The circuit as things to be placed: blocks with ports, and links between ports.

What is linked to what comes from `joining`, which way up each part stands from `facing`; here
every block gets its symbol and every link its two ports. What a symbol looks like is the
business of a `Hand`, so that paper and terminal share everything else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

from quizgen.circuit.components import (
    Connector,
    Part,
    ResistorPack,
    Splice,
    Switch,
    Wire,
)  # fmt: skip
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.diagram.depth import SAME
from quizgen.diagram.facing import facing, far_level
from quizgen.diagram.joining import Draft, Spot, join
from quizgen.diagram.symbols import Side, Symbol
from quizgen.diagram.view import View


class Hand(Protocol):
    """What draws symbols in one medium."""

    def part(self, part: Part, view: View, flags: Mapping[str, str]) -> Symbol:
        """The symbol of a part; `flags` says at which terminals which feed is live when."""

    def frame(self, text: str) -> Symbol:
        """The mark of a terminal on the reference, `text` being the reference's name if any."""

    def rail(self) -> Symbol:
        """The head of a rail: several conductors at one supply terminal."""

    def joint(self, sides: frozenset[Side]) -> Symbol:
        """A point where conductors meet that is no part."""


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

    @cached_property
    def uses(self) -> Mapping[tuple[int, int], Sequence[int]]:
        """(block, port) → the links that leave there."""
        found: dict[tuple[int, int], list[int]] = {}
        for i, link in enumerate(self.links):
            for end in (link.upper, link.lower):
                found.setdefault((end.block, end.port), []).append(i)
        return found


def make_scheme(circuit: Circuit, hand: Hand) -> Scheme:
    """Blocks and links of `circuit`, with symbols drawn by `hand`."""
    draft = join(circuit)
    rests = circuit.rest_positions()
    leaning: dict[str, dict[str, Side]] = {}
    for key, part in draft.keys.items():
        if part is not None:
            leaning[key] = facing(draft, part, _rest(part, rests))
    uses: dict[Spot, list[tuple[int, int, Side]]] = {}
    for i, (_, wire, _, a, b) in enumerate(draft.raw):
        for end, (here, there) in enumerate(((a, b), (b, a))):
            side = _side(draft, leaning, wire, here, there)
            uses.setdefault(here, []).append((i, end, side))
    sides = {spot: frozenset(s for _, _, s in found) for spot, found in uses.items()}
    blocks = _blocks(draft, hand, leaning, sides)
    index = {
        (b.key, p.terminal, p.side): End(i, k)
        for i, b in enumerate(blocks)
        for k, p in enumerate(b.symbol.ports)
    }
    ends: dict[tuple[int, int], End] = {
        (i, end): index[(*spot, side)] for spot, found in uses.items() for i, end, side in found
    }
    links = []
    for i in range(len(draft.raw)):
        links.append(_link(draft, blocks, (ends[i, 0], ends[i, 1]), i))
    return Scheme(tuple(blocks), tuple(links))


def _link(draft: Draft, blocks: list[Block], ends: tuple[End, End], i: int) -> Link:
    """A raw link with its upper end first."""
    name, wire, node, a, b = draft.raw[i]
    if wire is None:  # both ends on one node: what leaves downwards comes first
        down = not a[0].startswith(("joint ", "frame ")) and _facing(blocks, ends[0]) != "top"
    elif "-" in (a[1], b[1]):  # a supply stands above its own ground
        down = a[1] == "-"
    else:
        down = _level(draft, a) >= _level(draft, b) - SAME
    upper, lower = ends if down else ends[::-1]
    return Link(name, upper, lower, node, wire)


def _facing(blocks: list[Block], end: End) -> Side:
    return blocks[end.block].symbol.ports[end.port].side


def _rest(part: Part, rests: Mapping[str, str]) -> int:
    if isinstance(part, Switch):
        return part.positions.index(rests.get(part.control, part.positions[0]))
    return 0


def _level(draft: Draft, spot: Spot) -> float:
    key, terminal = spot
    part = draft.keys[key]
    if part is not None:
        return draft.depth[part.node(terminal)]
    kind, _, name = key.partition(" ")
    return {"frame": -1.0, "rail": 2.0}.get(kind) or draft.depth.get(name, 0.5)


def _side(
    draft: Draft,
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
    return "top" if far_level(draft, wire, here, there) > _level(draft, here) + SAME else "bottom"


def _blocks(
    draft: Draft,
    hand: Hand,
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
                symbol = hand.frame(reference)
            elif kind == "rail":
                symbol = hand.rail()
            else:
                symbol = hand.joint(sides.get((key, "1"), frozenset()))
            blocks.append(Block(key, "", symbol))
            continue
        used = {t: sides.get((key, t), frozenset()) for t in part.terminals}
        cavity = key.partition("/")[2] if isinstance(part, Connector) else ""
        view = View(used, leaning[key], _rest(part, rests), cavity, part.id not in named)
        named.add(part.id)
        blocks.append(_block(draft, key, part, view, hand))
    return blocks


def _block(draft: Draft, key: str, part: Part, view: View, hand: Hand) -> Block:
    flags = {
        terminal: text
        for node, text in draft.circuit.feeds
        for terminal in part.terminals
        if part.node(terminal) == node and draft.spots.get(node, ("",))[0] in (key, f"rail {node}")
    }
    symbol = hand.part(part, view, flags)
    other = None
    several = len(symbol.ports) > 2 and not isinstance(part, Splice)
    if several or (len(symbol.ports) == 2 and symbol.ports[0].side == symbol.ports[1].side):
        other = hand.part(part, replace(view, mirrored=True), flags)
    return Block(key, part.id, symbol, other)
