"""Order: who stands left of whom in each row, with as few crossings as can be found.

A link that leaves one channel and arrives in a later one passes the rows between in
*lanes*. Within a channel a link is a chord between two places on its rim (upper edge from
left to right, lower edge back again): two links must cross exactly when their ends
alternate around the rim, whichever edges they are on. Conductors at one port are free to
swap, so they are sorted towards where they go.

Search: rows filled in the order in which the circuit is walked from the supply, sorted by
the average place of neighbours, then each member moved to its best place as long as that helps.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from quizgen.diagram.rows import channel
from quizgen.diagram.scheme import End, Scheme

SHAKES = 20  # tries in vain before the crossings that are left are taken as they are
KEPT = 4  # orders worth placing

Member = tuple[str, int]  # ("block", index) or ("lane", index into lanes)
Rim = tuple[str, int, int]  # ("block", index, port) or ("lane", index, 0): where a piece ends


@dataclass(frozen=True)
class Piece:
    """The stretch of a link in one channel. `upper[i]`: end i is on the upper edge."""

    link: int
    ends: tuple[Rim, Rim]
    upper: tuple[bool, bool]


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


class Search:
    """Improves an order move by move."""

    def __init__(self, scheme: Scheme, grid: Grid) -> None:
        self.scheme = scheme
        self.grid = grid
        self.home: dict[Member, int] = {("block", i): r for i, r in enumerate(grid.rows)}
        self.home |= {("lane", i): row for i, (_, row) in enumerate(grid.lanes)}

    def places(self, order: Order, row: int) -> dict[Rim, float]:
        """Place of every port and lane of a row, counted from the left."""
        found: dict[Rim, float] = {}
        for kind, i in order.rows[row] if 0 <= row < len(order.rows) else ():
            ports = [0] if kind == "lane" else ports_in_order(self.scheme, order, i)
            for k in ports:
                found[kind, i, k] = float(len(found))
        return found

    def crossings(self, order: Order, c: int) -> int:
        """Crossings in one channel."""
        chords = [tuple(sorted(pair)) for pair in self.rim(order, c)]
        count = 0
        for i, (a, b) in enumerate(chords):
            for p, q in chords[i + 1 :]:
                if (a < p < b < q) or (p < a < q < b):
                    count += 1
        return count

    def rim(self, order: Order, c: int) -> list[tuple[int, int]]:
        """The two rim places of every piece of a channel, all different."""
        pieces = self.grid.channels[c]
        spots = self.slots(order, c)
        ring = {spot: n for n, spot in enumerate(spots[0] + spots[1][::-1])}
        return [(ring[i, 0], ring[i, 1]) for i in range(len(pieces))]

    def slots(self, order: Order, c: int) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
        """(piece, end) pairs along the upper and along the lower edge, from left to right."""
        pieces = self.grid.channels[c]
        above, below = self.places(order, c - 1), self.places(order, c)
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
            return (here, 0, -there, i) if there < here else (here, 2, -there, i)

        both: tuple[list[tuple[int, int]], list[tuple[int, int]]] = ([], [])
        for i, piece in enumerate(pieces):
            for end in (0, 1):
                both[0 if piece.upper[end] else 1].append((i, end))
        return sorted(both[0], key=key), sorted(both[1], key=key)

    def total(self, order: Order) -> int:
        """Crossings of the whole drawing."""
        return sum(self.crossings(order, c) for c in range(len(self.grid.channels)))

    def start(self, backwards: bool) -> Order:
        """Rows filled in the order of a walk from the first block."""
        neighbours: dict[Member, list[Member]] = {m: [] for m in self.home}
        for piece in (p for pieces in self.grid.channels for p in pieces):
            a, b = piece.ends[0][:2], piece.ends[1][:2]
            neighbours[a].append(b)
            neighbours[b].append(a)
        order = Order([[] for _ in range(max(self.home.values(), default=-1) + 1)])
        seen: set[Member] = set()
        for root in sorted(self.home, key=lambda m: (self.home[m], m)):
            stack = [root]
            while stack:
                member = stack.pop()
                if member in seen:
                    continue
                seen.add(member)
                order.rows[self.home[member]].append(member)
                after = neighbours[member]
                stack.extend(after if backwards else after[::-1])
        return order

    def sweep(self, order: Order, down: bool) -> None:
        """Sort each row by the average place of its neighbours in the row before."""
        rows = range(len(order.rows)) if down else range(len(order.rows) - 1, -1, -1)
        for r in rows:
            c = r if down else r + 1
            other = self.places(order, r - 1 if down else r + 1)
            own = self.places(order, r)
            width = max(len(other), 1)
            pull: dict[Member, list[float]] = {}
            for piece in self.grid.channels[c]:
                for a, b in (piece.ends, piece.ends[::-1]):
                    if a in own and b in other:
                        pull.setdefault(a[:2], []).append(other[b] / width)
            now = {m: i / max(len(order.rows[r]), 1) for i, m in enumerate(order.rows[r])}
            average = {m: sum(v) / len(v) for m, v in pull.items()}
            order.rows[r].sort(key=(now | average).__getitem__)

    def shaken(self, order: Order, rng: Random) -> Order:
        """A copy with a few members moved and a few blocks mirrored at random, then swept."""
        copy = Order([list(row) for row in order.rows], set(order.mirrored))
        for row in copy.rows:
            if len(row) > 1 and rng.random() < 0.4:
                row.insert(rng.randrange(len(row)), row.pop(rng.randrange(len(row))))
        for i, block in enumerate(self.scheme.blocks):
            if block.mirrored and rng.random() < 0.3:
                copy.mirrored ^= {i}
        for k in range(rng.randrange(3)):
            self.sweep(copy, down=k % 2 == 0)
        return copy

    def reflected(self, order: Order) -> Order:
        """The whole drawing seen from behind: it has the same crossings."""
        turned = {i for i, b in enumerate(self.scheme.blocks) if b.mirrored}
        return Order([row[::-1] for row in order.rows], turned - order.mirrored)

    def settle(self, order: Order) -> None:
        """Move members and mirror blocks while that saves crossings."""
        improved = True
        while improved:
            improved = sum(self._settle_row(order, r) for r in range(len(order.rows))) > 0

    def _settle_row(self, order: Order, r: int) -> bool:
        better = False
        best = self._around(order, r)
        for member in list(order.rows[r]):
            if best == 0:
                break
            for _ in self._moves(order, r, member):
                now = self._around(order, r)
                if now < best:
                    best, better = now, True
                    break
        return better

    def _around(self, order: Order, r: int) -> int:
        return self.crossings(order, r) + self.crossings(order, r + 1)

    def _moves(self, order: Order, r: int, member: Member) -> Iterator[None]:
        """Try each change of a member; a change the caller does not stop at is undone."""
        if member[0] == "block" and self.scheme.blocks[member[1]].mirrored:
            order.mirrored ^= {member[1]}
            yield
            order.mirrored ^= {member[1]}
        before = list(order.rows[r])
        rest = [m for m in before if m != member]
        for i in range(len(before)):
            if before[i] == member:
                continue
            order.rows[r] = [*rest[:i], member, *rest[i:]]
            yield
        order.rows[r] = before


def candidates(scheme: Scheme, grid: Grid, rng: Random) -> list[tuple[int, Order]]:
    """Good orders with their crossings, fewest first; `rng` shakes up what has crossings left."""
    search = Search(scheme, grid)
    found = []
    for backwards in (False, True):
        for sweeps in (0, 4):
            order = search.start(backwards)
            for k in range(sweeps):
                search.sweep(order, down=k % 2 == 0)
            search.settle(order)
            found.append((search.total(order), order))
    found.sort(key=lambda f: f[0])
    tries = 0
    while found[0][0] > 0 and tries < SHAKES:
        order = search.shaken(found[0][1], rng)
        search.settle(order)
        tries = 0 if search.total(order) < found[0][0] else tries + 1
        found.append((search.total(order), order))
        found.sort(key=lambda f: f[0])
    return [(n, side) for n, order in found[:KEPT] for side in (order, search.reflected(order))]
