"""Columns: where each block, lane and conductor stands from left to right.

Given the order of every row, the ends of every piece of conductor are brought above each
other as far as what stands beside each other lets them, so that as many as possible run
straight down. `programme` has the mathematics.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Protocol

from quizgen.diagram.labels import HALF_GAP
from quizgen.diagram.order import Grid, Member, Order, Piece, Rim, slots
from quizgen.diagram.pen import STEP
from quizgen.diagram.programme import Balance, Place, Programme
from quizgen.diagram.scheme import Scheme
from quizgen.diagram.symbols import Symbol

ROUNDS = 8  # of making steps straight


@dataclass(frozen=True)
class Measure:
    """The lengths of one medium: millimetres on paper, characters in a terminal."""

    step: float = STEP  # places are multiples of this
    half_gap: float = HALF_GAP  # half of the least distance between two conductors
    between: float = 1.2  # between symbols
    stepped: float = 4.0  # a sideways step smaller than this looks like a mistake


PAPER = Measure()


class Rooms(Protocol):
    """What knows how much room the label of a conductor takes."""

    def room(self, link: int, rim: Rim) -> float:
        """Room to keep free to the right of a link at one end."""


@dataclass(frozen=True)
class Columns:
    """Places in mm, from the left edge of the drawing."""

    blocks: tuple[float, ...]
    lanes: tuple[float, ...]
    slots: Mapping[tuple[int, int, int], float]  # (block, port, link)
    cost: int


class Placer:
    """Sets up the programme for one order, and solves it.

    `balance` is that of another placer of the same order, to begin where that one ended.
    """

    def __init__(
        self,
        scheme: Scheme,
        grid: Grid,
        order: Order,
        labels: Rooms,
        measure: Measure = PAPER,
        balance: Balance | None = None,
    ) -> None:
        self.scheme, self.grid, self.order = scheme, grid, order
        self.labels, self.measure = labels, measure
        self.balance = balance or Balance()
        self.offsets: dict[tuple[int, int], float] = {}  # of ports, once looked up
        self.uses = scheme.uses

    def symbol(self, block: int) -> Symbol:
        """The symbol of a block as this order has it."""
        b = self.scheme.blocks[block]
        return b.mirrored if block in self.order.mirrored and b.mirrored else b.symbol

    def port_x(self, block: int, port: int) -> float:
        """Offset of a port from the origin of its block."""
        if (block, port) not in self.offsets:
            wanted = self.scheme.blocks[block].symbol.ports[port]
            self.offsets[block, port] = next(
                p.x
                for p in self.symbol(block).ports
                if (p.terminal, p.side) == (wanted.terminal, wanted.side)
            )
        return self.offsets[block, port]

    def port(self, block: int, port: int) -> Place:
        """A port as variable and offset."""
        return ("block", block), round(self.port_x(block, port) / self.measure.step)

    def place(self, rim: Rim, link: int) -> Place:
        """Where a conductor leaves a rim spot."""
        kind, i, k = rim
        if kind == "lane":
            return ("lane", i), 0
        if len(self.uses[i, k]) == 1:
            return self.port(i, k)
        return ("slot", i, k, link), 0

    def cost(self, most: float | None = None) -> int | None:
        """What the best places cost, steps in them as they come.

        None when the drawing cannot be made as narrow as `most`.
        """
        programme = self.programme(most)
        return None if programme.least() is None else self.balance.solve(programme)[0]

    def solve(self, most: float | None = None) -> Columns:
        """The best places for this order, with small sideways steps made straight."""
        programme = self.programme(most)
        cost, at = self.balance.solve(programme)
        for _ in range(ROUNDS):
            if not programme.bind(self._stepped(programme, at)):
                break
            cost, at = self.balance.solve(programme)
        zero, step = at["edge"], self.measure.step
        places = {key: (value - zero) * step for key, value in at.items()}
        bars = {k[1:]: x for k, x in places.items() if isinstance(k, tuple) and k[0] == "slot"}
        return Columns(
            tuple(places["block", i] for i in range(len(self.scheme.blocks))),
            tuple(places["lane", i] for i in range(len(self.grid.lanes))),
            bars,
            cost,
        )

    def _stepped(
        self, programme: Programme, at: Mapping[Hashable, int]
    ) -> list[tuple[Hashable, Hashable, int]]:
        """Ends of slightly stepped conductors that were not tried before."""
        found = []
        for a, b, offset, _ in programme.near:
            step = abs(at[a] - at[b] - offset) * self.measure.step
            if 0 < step < self.measure.stepped and (a, b) not in programme.bound:
                programme.bound.add((a, b))
                found.append((a, b, offset))
        return found

    def programme(self, most: float | None = None) -> Programme:
        """The distances to keep and the pairs to bring together for this order."""
        programme = Programme(step=self.measure.step)
        edge: Place = ("edge", 0)
        for row in self.order.rows:
            self._bodies(programme, row, edge)
        for c, pieces in enumerate(self.grid.channels):
            for spots in slots(self.scheme, self.grid, self.order, c):
                self._rim(programme, pieces, spots, edge)
            for piece in pieces:
                a, b = (self.place(e, piece.link) for e in piece.ends)
                lanes = sum(e[0] == "lane" for e in piece.ends)
                programme.pull(a, b, (480, 640, 960)[lanes])
        for (block, port), links in self.uses.items():
            if len(links) > 1:
                for link in links:
                    programme.pull(self.port(block, port), (("slot", block, port, link), 0), 240)
        if most is not None:
            programme.keep(("end", 0), edge, -most)
        return programme

    def _bodies(self, programme: Programme, row: list[Member], edge: Place) -> None:
        before: tuple[Place, float] = (edge, 0.0)
        between = self.measure.between
        for member in row:
            if member[0] == "lane":
                left = right = self.measure.half_gap - between / 2
            else:
                symbol = self.symbol(member[1])
                left, right = symbol.left, symbol.right
            here: Place = (member, 0)
            programme.keep(before[0], here, before[1] + left + between)
            programme.pull(edge, here, 1)
            before = (here, right)
        programme.keep(before[0], ("end", 0), before[1])
        programme.pull(edge, ("end", 0), 6)

    def _rim(
        self,
        programme: Programme,
        pieces: tuple[Piece, ...],
        spots: list[tuple[int, int]],
        edge: Place,
    ) -> None:
        """Keep the conductors along one edge of a channel apart, and in order."""
        gap = self.measure.half_gap
        before: list[tuple[Place, float]] = [(edge, 0.0)]
        group: list[tuple[Place, float]] = []

        def after(places: list[tuple[Place, float]], here: Place) -> None:
            for place, room in places:
                programme.keep(place, here, room + gap)

        for n, (i, end) in enumerate(spots):
            rim = pieces[i].ends[end]
            here = self.place(rim, pieces[i].link)
            room = self.labels.room(pieces[i].link, rim)
            fresh = n == 0 or pieces[spots[n - 1][0]].ends[spots[n - 1][1]] != rim
            if fresh and group:
                before, group = group, []
            if fresh and rim[0] == "block":
                hub = self.port(rim[1], rim[2])
                after(before, hub)
                group = [(hub, gap)]
            after(before if fresh else group[-1:], here)
            hubs = [g for g in group[:1] if g[0] != here]
            group = [*hubs, (here, room)]
        for place, room in group:
            programme.keep(place, ("end", 0), room)
