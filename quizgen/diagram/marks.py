"""What a figure points out, and where: bands along wires and symbols, frames around parts.

Three marks, told apart by pattern before colour, so that a grey print says the same: a solid
band where current flows, ticks where current should flow and does not, dashes for the fault.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from quizgen.circuit.components import Connector
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.drawing import Drawing, Placed, Point, Segment
from quizgen.diagram.lettering import Box

MARGIN = 1.3  # mm between the ink of a part and its frame
NEAR = 0.02  # mm


@dataclass(frozen=True)
class Marks:
    """Ids of wires and parts to mark; one cavity of connector X2 is `X2/1`.

    `flowing`: current passes. `dead`: it should pass and does not. `faulty`: the fault.
    """

    flowing: frozenset[str] = frozenset()
    dead: frozenset[str] = frozenset()
    faulty: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.flowing or self.dead or self.faulty)


def mark_id(circuit: Circuit, part: str, detail: str = "") -> str:
    """What `Marks` call a part or wire: of a connector the cavity, which `detail` begins with.

    `detail` is that of a fault (`2=5`) or the name of a branch (`2`).

    >>> from quizgen.circuit.template import find_template
    >>> mark_id(find_template("blower-pack").build(), "X1", "2=5")
    'X1/2'
    """
    cavity = detail.partition("=")[0]
    plug = isinstance(circuit.by_id[part], Connector)
    return f"{part}/{cavity}" if plug and cavity else part


def bands(drawing: Drawing, ids: Collection[str]) -> Iterator[tuple[Point, ...]]:
    """Polylines to be laid under the wires and through the two-terminal symbols of `ids`."""
    tracks = [line.points for line in drawing.lines if line.wire and line.key in ids]
    tracks += [track for p in _marked(drawing, ids) if (track := _through(p))]
    yield from tracks
    reached = {point for track in tracks for point in (track[0], track[-1])}
    reached |= {p.point(port) for p in _marked(drawing, ids) for port in p.symbol.ports}
    yield from _joints(drawing, reached)


def frames(drawing: Drawing, ids: Collection[str], *, all_parts: bool = False) -> Iterator[Box]:
    """Boxes around the marked parts through which no band can be laid, or around all of them."""
    for placed in _marked(drawing, ids):
        if placed.bodies and (all_parts or not _through(placed)):
            boxes = placed.bodies
            yield Box(
                min(b.left for b in boxes) - MARGIN,
                min(b.top for b in boxes) - MARGIN,
                max(b.right for b in boxes) + MARGIN,
                max(b.bottom for b in boxes) + MARGIN,
            )


def _marked(drawing: Drawing, ids: Collection[str]) -> Iterator[Placed]:
    return (p for p in drawing.placed if p.part and (p.part in ids or p.key in ids))


def _through(placed: Placed) -> tuple[Point, ...]:
    """The straight way through a symbol with one port above the other; () for any other."""
    ends = sorted({placed.point(port) for port in placed.symbol.ports}, key=lambda end: end[1])
    if len(ends) == 2 and abs(ends[0][0] - ends[1][0]) < NEAR:
        return tuple(ends)
    return ()


def _joints(drawing: Drawing, reached: Iterable[Point]) -> Iterator[tuple[Point, ...]]:
    """The stretches of plain lines that join points that a mark reaches with each other."""
    wanted = {_rounded(point) for point in reached}
    ends = {_rounded(p) for line in drawing.lines for p in (line.points[0], line.points[-1])}
    graph: nx.Graph[Point] = nx.Graph()
    for line in drawing.lines:
        if line.wire is None:
            for segment in line.segments:
                graph.add_edges_from(pairwise(_split(segment, ends | wanted)))
    while loose := [n for n, degree in graph.degree if degree < 2 and n not in wanted]:
        graph.remove_nodes_from(loose)
    yield from sorted(tuple(sorted(edge)) for edge in graph.edges)


def _split(segment: Segment, points: Collection[Point]) -> list[Point]:
    """A stretch with the points that lie on it, in order."""
    (x0, y0), (x1, y1) = map(_rounded, segment)
    low, high = (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))
    inside = {
        (x, y)
        for x, y in points
        if low[0] - NEAR <= x <= high[0] + NEAR and low[1] - NEAR <= y <= high[1] + NEAR
    }
    return sorted(inside | {(x0, y0), (x1, y1)})


def _rounded(point: Point) -> Point:
    return round(point[0], 2), round(point[1], 2)
