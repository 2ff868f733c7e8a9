"""From places to geometry: heights of channels and rows, then lines, dots and words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from quizgen.diagram.channels import assign_tracks, sideways
from quizgen.diagram.columns import Columns, Placer
from quizgen.diagram.drawing import Drawing, Line, Placed, Point
from quizgen.diagram.labels import Labels
from quizgen.diagram.lettering import Box, Words, column, column_height
from quizgen.diagram.order import Grid, Piece, Rim
from quizgen.diagram.pen import STEP
from quizgen.diagram.scheme import Link, Scheme

MARGIN = 2.0
FAN = 1.6  # room for the bar of a port with several conductors
TRACK = 2.7  # between runs in a channel
LEAST = 2.4  # height of a channel with nothing in it


@dataclass
class _Channel:
    """Heights within one channel, from its top."""

    runs: dict[int, list[tuple[float, float, int]]]
    tracks: int
    fans: tuple[bool, bool]  # bars under the row above, over the row below
    labels: tuple[float, float]  # label height under the row above, over the row below
    top: float = 0.0

    @property
    def first_track(self) -> float:
        """y of track 0."""
        return self.top + FAN * self.fans[0] + self.labels[0] + TRACK * 0.6

    @property
    def height(self) -> float:
        """Height of the channel."""
        tracks = TRACK * (self.tracks + 0.2) if self.tracks else 0.0
        return max(LEAST, tracks + sum(self.labels) + FAN * sum(self.fans) + 0.8)

    @property
    def bottom(self) -> float:
        """y of the row below."""
        return self.top + self.height


class Composer:
    """Turns places into geometry."""

    def __init__(self, placer: Placer, columns: Columns) -> None:
        self.placer, self.columns = placer, columns
        self.scheme: Scheme = placer.scheme
        self.grid: Grid = placer.grid
        assert isinstance(placer.labels, Labels)  # a terminal has a composer of its own
        self.labels: Labels = placer.labels
        self.order = placer.order
        self.lines: list[Line] = []
        self.dots: set[Point] = set()
        self.channels = [self._channel(c) for c in range(len(self.grid.channels))]
        self.row_tops: list[float] = []
        y = MARGIN
        for c, channel in enumerate(self.channels):
            channel.top = y
            y = channel.bottom
            self.row_tops.append(y)
            y += self._row_height(c)
        self.height = y - self._row_height(len(self.channels) - 1) + MARGIN

    # places

    def x(self, rim: Rim, link: int) -> float:
        """x of a conductor at a rim spot."""
        kind, i, k = rim
        if kind == "lane":
            return self.columns.lanes[i]
        if len(self.placer.uses[i, k]) > 1:
            return self.columns.slots[i, k, link]
        return self.columns.blocks[i] + self._port_x(i, k)

    def _port_x(self, block: int, port: int) -> float:
        return self.placer.port(block, port)[1] * STEP

    def _row_height(self, r: int) -> float:
        members = self.order.rows[r] if r < len(self.order.rows) else []
        heights = [self.placer.symbol(i).height for kind, i in members if kind == "block"]
        return max(heights, default=0.0)

    # channels

    def _channel(self, c: int) -> _Channel:
        pieces = self.grid.channels[c]
        runs, taken = sideways(pieces, self.x)
        found, tracks = assign_tracks(runs, _free_column(taken))
        fans = tuple(self._has_fan(c, upper) for upper in (True, False))
        labels = tuple(self._label_height(c, pieces, upper) for upper in (True, False))
        return _Channel(found, tracks, fans, labels)  # type: ignore[arg-type]

    def _has_fan(self, c: int, upper: bool) -> bool:
        pieces = self.grid.channels[c]
        return any(self._fans(rim) for piece in pieces for rim in piece.at_edge(upper))

    def _label_height(self, c: int, pieces: tuple[Piece, ...], upper: bool) -> float:
        """Height of the labels under the row above, or over the row below."""
        size = self.labels.style.size
        bearing = any(
            self.labels.borne(piece.link, rim) for piece in pieces for rim in piece.at_edge(upper)
        )
        lines = 2 if c in self.labels.stacked else 1
        return column_height(lines, size) + 0.6 if bearing else 0.0

    # drawing

    def drawing(self) -> Drawing:
        """The finished geometry."""
        placed = tuple(self._placed(i) for i in range(len(self.scheme.blocks)))
        labels: list[Words] = []
        for i, link in enumerate(self.scheme.links):
            self._conductor(i, link)
            labels += self._label(i, link)
        for (block, port), links in self.placer.uses.items():
            self._bar(placed[block], block, port, links)
        drawing = Drawing(
            0, self.height, placed, tuple(self.lines), tuple(sorted(self.dots)), tuple(labels),
            self._cavities(placed),
        )  # fmt: skip
        return _trim(drawing)

    def _placed(self, i: int) -> Placed:
        block, symbol = self.scheme.blocks[i], self.placer.symbol(i)
        r = self.grid.rows[i]
        spare = self._row_height(r) - symbol.height
        hung = any(p.side == "top" for p in symbol.ports) and len(symbol.ports) == 1
        y = self.row_tops[r] + (0.0 if hung else spare / 2)
        return Placed(block.key, block.part, symbol, self.columns.blocks[i], y)

    def _edge(self, rim: Rim, c: int, upper: bool) -> float:
        """y at which a conductor meets a bar or, without one, the row."""
        channel = self.channels[c]
        fan = FAN if self._fans(rim) else 0.0
        return channel.top + fan if upper else channel.bottom - fan

    def _fans(self, rim: Rim) -> bool:
        """Whether conductors meet on a bar outside the row."""
        return rim[0] == "block" and len(self.placer.uses[rim[1], rim[2]]) > 1

    def _conductor(self, i: int, link: Link) -> None:
        points: list[Point] = []
        for c, pieces in enumerate(self.grid.channels):
            for piece in pieces:
                if piece.link == i:
                    points += self._stretch(c, piece)
        ends = [(p.ends, p.upper) for ps in self.grid.channels for p in ps if p.link == i]
        first, last = (ends[0][0][0], ends[0][1][0]), (ends[-1][0][1], ends[-1][1][1])
        points.insert(0, self._tip(*first, points[0]))
        points.append(self._tip(*last, points[-1]))
        self.lines.append(Line(link.key, _straightened(points), link.wire, link.node))

    def _tip(self, rim: Rim, upper: bool, last: Point) -> Point:
        """Where the conductor ends: on its bar, or on the edge of its symbol."""
        block, port = rim[1], rim[2]
        if len(self.placer.uses[block, port]) > 1:
            return last
        placed = self._placed(block)
        return last[0], placed.y + (placed.symbol.height if upper else 0.0)

    def _stretch(self, c: int, piece: Piece) -> list[Point]:
        xs = [self.x(e, piece.link) for e in piece.ends]
        ys = [self._edge(e, c, up) for e, up in zip(piece.ends, piece.upper, strict=True)]
        points = [(xs[0], ys[0])]
        for a, b, track in self.channels[c].runs.get(piece.link, []):
            y = self.channels[c].first_track + TRACK * track
            points += [(a, y), (b, y)]
        return [*points, (xs[1], ys[1])]

    def _bar(self, placed: Placed, block: int, port: int, links: Sequence[int]) -> None:
        """The lead and bar that join several conductors to one port, and its dots."""
        if len(links) < 2:
            return
        wanted = self.scheme.blocks[block].symbol.ports[port]
        upper = wanted.side == "bottom"
        x = placed.x + self._port_x(block, port)
        y_port = placed.y + (placed.symbol.height if upper else 0.0)
        c = self.grid.rows[block] + upper
        y = self._edge(("block", block, port), c, upper)
        xs = sorted({x, *(self.columns.slots[block, port, k] for k in links)})
        name = f"{placed.key}.{wanted.terminal}"
        leads = not placed.key.startswith("rail ")  # a rail is nothing but its bar
        if leads:
            self.lines.append(Line(name, ((x, y_port), (x, y)), node=name))
        if len(xs) > 1:
            self.lines.append(Line(name, ((xs[0], y), (xs[-1], y)), node=name))
        slots = [self.columns.slots[block, port, k] for k in links]
        for at in xs:
            ways = slots.count(at) + (leads and at == x) + (at > xs[0]) + (at < xs[-1])
            if ways > 2:
                self.dots.add((at, y))

    def _label(self, i: int, link: Link) -> tuple[Words, ...]:
        lines = self.labels.lines(i)
        if not lines:
            return ()
        end = self.labels.ends[i]
        upper = self.scheme.blocks[end.block].symbol.ports[end.port].side == "bottom"
        channel = self.channels[self.grid.rows[end.block] + upper]
        room = channel.labels[0 if upper else 1]
        if upper:
            base = channel.top + FAN * channel.fans[0]
        else:
            base = channel.bottom - FAN * channel.fans[1] - room
        size = self.labels.style.size
        top = base + (room - column_height(len(lines), size)) / 2
        x = self.x(("block", end.block, end.port), i) + 1.3
        return tuple(replace(w, about=link.key) for w in column(lines, x, top, size))

    def _cavities(self, placed: tuple[Placed, ...]) -> tuple[tuple[Point, Point], ...]:
        """Dashed links between neighbouring cavities of a connector."""
        found = []
        for row in self.order.rows:
            blocks = [placed[i] for kind, i in row if kind == "block"]
            for a, b in pairwise(blocks):
                if a.part and a.part == b.part:
                    y = a.y + a.symbol.height / 2
                    beside = [
                        w.box for w in a.words if w.box.meets(Box(w.box.left, y, b.x, y), 0.3)
                    ]
                    start = max((box.right for box in beside), default=a.x + 1.5)
                    found.append(((max(start, a.x + 1.5) + 0.6, y), (b.x - 2.0, y)))
        return tuple(found)


def _free_column(taken: list[float]) -> Callable[[float], float]:
    """A function that finds the column nearest to x on which nothing stands."""

    def free(x: float) -> float:
        steps = sorted(range(-400, 401), key=abs)
        for step in steps:
            at = round((x + step * 0.5) * 4) / 4
            if all(abs(at - t) >= 2.0 for t in taken):
                return at
        return max(taken) + 4.0

    return free


def _straightened(points: list[Point]) -> tuple[Point, ...]:
    """The polyline without repeated points and without points on a straight stretch."""
    out: list[Point] = []
    for p in points:
        q = (round(p[0], 3), round(p[1], 3))
        if out and out[-1] == q:
            continue
        if len(out) > 1 and (out[-2][0] == out[-1][0] == q[0] or out[-2][1] == out[-1][1] == q[1]):
            out[-1] = q
        else:
            out.append(q)
    return tuple(out)


def _trim(drawing: Drawing) -> Drawing:
    """Shift everything so that the ink begins at the margin, and set the width."""
    xs = [x for line in drawing.lines for x, _ in line.points]
    boxes = [w.box for w in drawing.words] + [b for p in drawing.placed for b in p.bodies]
    left = min([*xs, *(b.left for b in boxes)], default=0.0)
    right = max([*xs, *(b.right for b in boxes)], default=10.0)
    dx = round(MARGIN - left, 3)
    return Drawing(
        round(right - left + 2 * MARGIN, 3),
        round(drawing.height, 3),
        tuple(replace(p, x=p.x + dx) for p in drawing.placed),
        tuple(
            replace(k, points=tuple((round(x + dx, 3), y) for x, y in k.points))
            for k in drawing.lines
        ),
        tuple((round(x + dx, 3), round(y, 3)) for x, y in drawing.dots),
        tuple(w.moved(dx, 0) for w in drawing.labels),
        tuple(((a[0] + dx, a[1]), (b[0] + dx, b[1])) for a, b in drawing.links),
    )
