"""Order: who stands left of whom in each row, with as few crossings as can be found.

A link that leaves one channel and arrives in a later one passes the rows between in
*lanes*. Within a channel a link is a chord between two places on its rim (upper edge from
left to right, lower edge back again): two links must cross exactly when their ends
alternate around the rim, whichever edges they are on. Conductors at one port are free to
swap, so they are sorted towards where they go.

How the search for a good order goes is in `sifting`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from quizgen.diagram.rows import channel
from quizgen.diagram.scheme import End, Scheme

Member = tuple[str, int]  # ("block", index) or ("lane", index into lanes)
Rim = tuple[str, int, int]  # ("block", index, port) or ("lane", index, 0): where a piece ends


@dataclass(frozen=True)
class Piece:
    """The stretch of a link in one channel. `upper[i]`: end i is on the upper edge."""

    link: int
    ends: tuple[Rim, Rim]
    upper: tuple[bool, bool]

    def at_edge(self, upper: bool) -> tuple[Rim, ...]:
        """Its ends on the upper, or on the lower, edge of the channel."""
        return tuple(e for e, up in zip(self.ends, self.upper, strict=True) if up == upper)


@dataclass(frozen=True)
class Grid:
    """Rows with lanes, and the pieces of links in each channel."""

    rows: tuple[int, ...]
    lanes: tuple[tuple[int, int], ...]  # (link, row)
    channels: tuple[tuple[Piece, ...], ...]


@dataclass
class Order:
    """Members of each row from left to right, and which blocks are mirrored."""

    rows: list[list[Member]]
    mirrored: set[int] = field(default_factory=set)


def make_grid(scheme: Scheme, rows: tuple[int, ...]) -> Grid:
    """Split every link into pieces, one per channel, joined by lanes."""
    lanes: list[tuple[int, int]] = []
    channels: list[list[Piece]] = [[] for _ in range(max(rows, default=-1) + 2)]
    for i, link in enumerate(scheme.links):
        ends = sorted((link.upper, link.lower), key=lambda e: channel(scheme, rows, e))
        first, last = (channel(scheme, rows, e) for e in ends)
        here: Rim = ("block", ends[0].block, ends[0].port)
        up = _hangs(scheme, ends[0])
        for c in range(first, last):
            lane: Rim = ("lane", len(lanes), 0)
            lanes.append((i, c))
            channels[c].append(Piece(i, (here, lane), (up, False)))
            here, up = lane, True
        there: Rim = ("block", ends[1].block, ends[1].port)
        channels[last].append(Piece(i, (here, there), (up, _hangs(scheme, ends[1]))))
    return Grid(rows, tuple(lanes), tuple(map(tuple, channels)))


def _hangs(scheme: Scheme, end: End) -> bool:
    """Whether a port is on the upper edge of its channel, that is below its block."""
    return scheme.blocks[end.block].symbol.ports[end.port].side == "bottom"


def ports_in_order(scheme: Scheme, order: Order, block: int) -> list[int]:
    """Port indexes of a block from left to right."""
    b = scheme.blocks[block]
    symbol = b.mirrored if block in order.mirrored and b.mirrored else b.symbol
    place = {(p.terminal, p.side): p.x for p in symbol.ports}
    return sorted(
        range(len(b.symbol.ports)),
        key=lambda k: place[b.symbol.ports[k].terminal, b.symbol.ports[k].side],
    )


def places(scheme: Scheme, order: Order, row: int) -> dict[Rim, float]:
    """Place of every port and lane of a row, counted from the left."""
    found: dict[Rim, float] = {}
    for kind, i in order.rows[row] if 0 <= row < len(order.rows) else ():
        for k in [0] if kind == "lane" else ports_in_order(scheme, order, i):
            found[kind, i, k] = float(len(found))
    return found


def slots(
    scheme: Scheme, grid: Grid, order: Order, c: int
) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """(piece, end) pairs along the upper and along the lower edge of a channel, left to right."""
    pieces = grid.channels[c]
    above, below = places(scheme, order, c - 1), places(scheme, order, c)
    scale = (max(len(above), 1), max(len(below), 1))

    def at(i: int, end: int) -> tuple[bool, float]:
        up = pieces[i].upper[end]
        return up, (above if up else below)[pieces[i].ends[end]]

    def key(spot: tuple[int, int]) -> tuple[float, int, float, int]:
        i, end = spot
        up, here = at(i, end)
        other_up, there = at(i, 1 - end)
        if up != other_up:
            return (here, 1, there / scale[not other_up], i)
        return (here, 0, -there, -i) if there < here else (here, 2, -there, i)

    both: tuple[list[tuple[int, int]], list[tuple[int, int]]] = ([], [])
    for i, piece in enumerate(pieces):
        for end in (0, 1):
            both[0 if piece.upper[end] else 1].append((i, end))
    return sorted(both[0], key=key), sorted(both[1], key=key)
