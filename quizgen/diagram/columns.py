"""Columns: where each block, lane and conductor stands from left to right.

Given the order of every row, the places x minimise Σ w·|x_a - x_b| over the ends of every
piece of conductor, so that as many as possible run straight down, under x_b - x_a ≥ d for
neighbours. That is the dual of a minimum-cost circulation (Gansner, Koutsofios, North and
Vo, "A technique for drawing directed graphs", 1993, use the same duality); the places are
the node potentials of the cheapest flow and come out as whole grid steps.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from math import ceil

import networkx as nx

from quizgen.diagram.labels import HALF_GAP, Labels
from quizgen.diagram.order import Grid, Member, Order, Piece, Rim, Search
from quizgen.diagram.pen import STEP
from quizgen.diagram.scheme import Scheme
from quizgen.diagram.symbols import Symbol

ROUNDS = 8  # of making steps straight
STEPPED = 4.0  # a sideways step smaller than this looks like a mistake, mm
BETWEEN = 1.2  # between symbols, mm

Place = tuple[Hashable, int]  # variable and offset in steps


@dataclass
class Programme:
    """The linear programme: distances to keep, and pairs to bring together."""

    apart: dict[tuple[Hashable, Hashable], int] = field(default_factory=dict)
    near: list[tuple[Hashable, Hashable, int, int]] = field(default_factory=list)
    bound: set[tuple[Hashable, Hashable]] = field(default_factory=set)

    def keep(self, a: Place, b: Place, distance: float) -> None:
        """b stands at least `distance` mm right of a."""
        if a[0] == b[0]:
            return
        steps = ceil(distance / STEP - 1e-9) + a[1] - b[1]
        pair = (a[0], b[0])
        self.apart[pair] = max(steps, self.apart.get(pair, steps))

    def pull(self, a: Place, b: Place, weight: int) -> None:
        """a and b had best stand above each other."""
        if a[0] != b[0]:
            self.near.append((a[0], b[0], b[1] - a[1], weight))

    def bind(self, a: Hashable, b: Hashable, offset: int) -> bool:
        """Put a at b + offset for good, unless the distances to keep forbid it."""
        before = dict(self.apart)
        for pair, steps in (((b, a), offset), ((a, b), -offset)):
            self.apart[pair] = max(steps, self.apart.get(pair, steps))
        if self.feasible():
            return True
        self.apart = before
        return False

    def feasible(self) -> bool:
        """Whether all distances can be kept."""
        at = {v: 0 for pair in self.apart for v in pair}
        for _ in range(len(at) + 1):
            changed = False
            for (a, b), steps in self.apart.items():
                if at[a] + steps > at[b]:
                    at[b], changed = at[a] + steps, True
            if not changed:
                return True
        return False

    def solve(self) -> tuple[int, dict[Hashable, int]]:
        """The cost of the best places, and the places in steps."""
        graph: nx.MultiDiGraph[Hashable] = nx.MultiDiGraph()
        for (a, b), steps in self.apart.items():
            graph.add_edge(a, b, weight=-steps)
        for a, b, offset, weight in self.near:
            graph.add_edge(a, b, weight=offset, capacity=weight)
            graph.add_edge(b, a, weight=-offset, capacity=weight)
        cost, flow = nx.network_simplex(graph)
        return -cost, _potentials(graph, flow)


def _potentials(graph: nx.MultiDiGraph[Hashable], flow: Mapping) -> dict[Hashable, int]:  # type: ignore[type-arg]
    """Shortest distances in the residual network, turned round."""
    arcs = []
    for a, b, key, data in graph.edges(keys=True, data=True):
        used = flow[a][b][key]
        if used < data.get("capacity", used + 1):
            arcs.append((a, b, data["weight"]))
        if used > 0:
            arcs.append((b, a, -data["weight"]))
    at = dict.fromkeys(graph.nodes, 0)
    changed = True
    while changed:
        changed = False
        for a, b, weight in arcs:
            if at[a] + weight < at[b]:
                at[b], changed = at[a] + weight, True
    least = max(at.values(), default=0)
    return {node: least - value for node, value in at.items()}


@dataclass(frozen=True)
class Columns:
    """Places in mm, from the left edge of the drawing."""

    blocks: tuple[float, ...]
    lanes: tuple[float, ...]
    slots: Mapping[tuple[int, int, int], float]  # (block, port, link)
    cost: int


class Placer:
    """Sets up the programme for one order."""

    def __init__(self, scheme: Scheme, grid: Grid, order: Order, labels: Labels) -> None:
        self.scheme, self.grid, self.order, self.labels = scheme, grid, order, labels
        self.search = Search(scheme, grid)
        self.uses: dict[tuple[int, int], list[int]] = {}
        for i, link in enumerate(scheme.links):
            for end in (link.upper, link.lower):
                self.uses.setdefault((end.block, end.port), []).append(i)

    def symbol(self, block: int) -> Symbol:
        """The symbol of a block as this order has it."""
        b = self.scheme.blocks[block]
        return b.mirrored if block in self.order.mirrored and b.mirrored else b.symbol

    def port_x(self, block: int, port: int) -> float:
        """Offset of a port from the origin of its block."""
        wanted = self.scheme.blocks[block].symbol.ports[port]
        return next(
            p.x
            for p in self.symbol(block).ports
            if (p.terminal, p.side) == (wanted.terminal, wanted.side)
        )

    def port(self, block: int, port: int) -> Place:
        """A port as variable and offset."""
        return ("block", block), round(self.port_x(block, port) / STEP)

    def place(self, rim: Rim, link: int) -> Place:
        """Where a conductor leaves a rim spot."""
        kind, i, k = rim
        if kind == "lane":
            return ("lane", i), 0
        if len(self.uses[i, k]) == 1:
            return self.port(i, k)
        return ("slot", i, k, link), 0

    def solve(self) -> Columns:
        """The best places for this order, with small sideways steps made straight."""
        programme = self.programme()
        cost, at = programme.solve()
        for _ in range(ROUNDS):
            if not self._straighten(programme, at):
                break
            cost, at = programme.solve()
        zero = at["edge"]
        mm = {key: (value - zero) * STEP for key, value in at.items()}
        return Columns(
            tuple(mm["block", i] for i in range(len(self.scheme.blocks))),
            tuple(mm["lane", i] for i in range(len(self.grid.lanes))),
            {key[1:]: x for key, x in mm.items() if isinstance(key, tuple) and key[0] == "slot"},
            cost,
        )

    def _straighten(self, programme: Programme, at: dict[Hashable, int]) -> bool:
        """Bind the ends of slightly stepped conductors together; whether there were any."""
        found = False
        for a, b, offset, _ in list(programme.near):
            step = at[a] - at[b] - offset
            if 0 < abs(step) * STEP < STEPPED and (a, b) not in programme.bound:
                programme.bound.add((a, b))
                found = programme.bind(a, b, offset) or found
        return found

    def programme(self) -> Programme:
        """The distances to keep and the pairs to bring together for this order."""
        programme = Programme()
        edge: Place = ("edge", 0)
        for row in self.order.rows:
            self._bodies(programme, row, edge)
        for c, pieces in enumerate(self.grid.channels):
            for spots in self.search.slots(self.order, c):
                self._rim(programme, pieces, spots, edge)
            for piece in pieces:
                a, b = (self.place(e, piece.link) for e in piece.ends)
                lanes = sum(e[0] == "lane" for e in piece.ends)
                programme.pull(a, b, (480, 640, 960)[lanes])
        for (block, port), links in self.uses.items():
            if len(links) > 1:
                for link in links:
                    programme.pull(self.port(block, port), (("slot", block, port, link), 0), 240)
        return programme

    def _bodies(self, programme: Programme, row: list[Member], edge: Place) -> None:
        before: tuple[Place, float] = (edge, 0.0)
        for member in row:
            if member[0] == "lane":
                left = right = HALF_GAP - BETWEEN / 2
            else:
                symbol = self.symbol(member[1])
                left, right = symbol.left, symbol.right
            here: Place = (member, 0)
            programme.keep(before[0], here, before[1] + left + BETWEEN)
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
        before: list[tuple[Place, float]] = [(edge, 0.0)]
        group: list[tuple[Place, float]] = []
        for n, (i, end) in enumerate(spots):
            rim = pieces[i].ends[end]
            here = self.place(rim, pieces[i].link)
            room = self.labels.room(pieces[i].link, rim)
            fresh = n == 0 or pieces[spots[n - 1][0]].ends[spots[n - 1][1]] != rim
            if fresh and group:
                before, group = group, []
            if fresh and rim[0] == "block":
                hub = self.port(rim[1], rim[2])
                _after(programme, before, hub)
                group = [(hub, HALF_GAP)]
            _after(programme, before if fresh else group[-1:], here)
            hubs = [g for g in group[:1] if g[0] != here]
            group = [*hubs, (here, room)]
        for place, room in group:
            programme.keep(place, ("end", 0), room)


def _after(programme: Programme, before: list[tuple[Place, float]], here: Place) -> None:
    for place, room in before:
        programme.keep(place, here, room + HALF_GAP)
