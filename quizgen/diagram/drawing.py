"""The finished geometry of a diagram, in millimetres from its top left corner.

Everything that is painted is here as plain records, so that a test can read the circuit
back from it without looking at the picture.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import inf

from quizgen.circuit.components import Wire
from quizgen.diagram.lettering import POINT, Box, Words
from quizgen.diagram.symbols import Port, Symbol

PAGE = (172.0, 202.0)  # the most that a figure takes on a printed page, with a little to spare
LEAST_TEXT = 7 * POINT
ROUNDING = 0.01  # mm
REFERENCE = "the reference"  # what a net is called that the frame, or another reference, is in

Point = tuple[float, float]
Segment = tuple[Point, Point]


@dataclass(frozen=True)
class Placed:
    """A symbol at its place. (x, y) is its origin."""

    key: str
    part: str
    symbol: Symbol
    x: float
    y: float

    def point(self, port: Port) -> Point:
        """Where a port lies in the drawing."""
        return self.x + port.x, self.y + (0.0 if port.side == "top" else self.symbol.height)

    @property
    def bodies(self) -> tuple[Box, ...]:
        """Ink that no conductor may touch."""
        return tuple(b.moved(self.x, self.y) for b in self.symbol.body)

    @cached_property
    def words(self) -> tuple[Words, ...]:
        """The text that belongs to the symbol."""
        return tuple(w.moved(self.x, self.y, self.part) for w in self.symbol.words)


@dataclass(frozen=True)
class Line:
    """A conductor: a wire, or a plain line on one node (`wire` is then None)."""

    key: str
    points: tuple[Point, ...]
    wire: Wire | None = None
    node: str = ""

    @property
    def segments(self) -> tuple[Segment, ...]:
        """The straight stretches."""
        return tuple(pairwise(self.points))


@dataclass(frozen=True)
class Drawing:
    """All geometry of a diagram, in mm from its top left corner."""

    width: float
    height: float
    placed: tuple[Placed, ...]
    lines: tuple[Line, ...]
    dots: tuple[Point, ...]
    labels: tuple[Words, ...]  # of wires
    links: tuple[tuple[Point, Point], ...]  # dashed: cavities of one connector

    @cached_property
    def words(self) -> tuple[Words, ...]:
        """Every line of text."""
        return tuple(w for p in self.placed for w in p.words) + self.labels

    @cached_property
    def crossings(self) -> int:
        """How often a conductor runs across another."""
        upright: list[tuple[float, float, float]] = []
        level: list[tuple[float, float, float]] = []
        for line in self.lines:
            for (x0, y0), (x1, y1) in line.segments:
                if x0 == x1:
                    upright.append((x0, min(y0, y1) + ROUNDING, max(y0, y1) - ROUNDING))
                else:
                    level.append((y0, min(x0, x1) + ROUNDING, max(x0, x1) - ROUNDING))
        upright.sort()
        count = 0
        for y, left, right in level:
            first = bisect_right(upright, (left, inf, inf))
            last = bisect_left(upright, (right,))
            count += sum(top < y < bottom for _, top, bottom in upright[first:last])
        return count

    @property
    def bends(self) -> int:
        """Corners of all conductors."""
        return sum(max(0, len(line.points) - 2) for line in self.lines)

    @property
    def scale(self) -> float:
        """What the figure is shrunk by to fit a printed page, at most 1."""
        return min(1.0, PAGE[0] / self.width, PAGE[1] / self.height)

    @property
    def least_text(self) -> float:
        """The smallest text on the printed page, mm."""
        return min((w.size for w in self.words), default=LEAST_TEXT) * self.scale
