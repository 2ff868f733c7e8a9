"""From places to characters: which line every row and channel takes, then wires, signs, words.

Every character of a conductor is built up from arms, each with an owner: a conductor, or the
bar at which several meet. Two owners in one place cross; arms of one owner are joined.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, starmap
from typing import Literal

from quizgen.diagram.channels import assign_tracks, sideways
from quizgen.diagram.characters import BOX, DOWN, LEFT, RIGHT, UP, Text, TextSymbol
from quizgen.diagram.columns import Columns, Placer
from quizgen.diagram.drawing import REFERENCE
from quizgen.diagram.order import Rim
from quizgen.diagram.scheme import Block, Link
from quizgen.diagram.symbols import Side
from quizgen.diagram.text_labels import TextLabels

Cell = tuple[int, int]  # line and column
_STEPS = {(0, 1): (RIGHT, LEFT), (0, -1): (LEFT, RIGHT), (1, 0): (DOWN, UP), (-1, 0): (UP, DOWN)}


@dataclass(frozen=True)
class Pin:
    """Where a terminal is: the last character of the symbol, and on which side a wire leaves.

    `side` is empty where nothing leaves.
    """

    line: int
    column: int
    name: str  # `K1.87`
    side: Side | Literal[""]


@dataclass(frozen=True)
class Tag:
    """A wire's code as written: where it begins. The character before it belongs to the wire."""

    line: int
    column: int
    wire: str


@dataclass(frozen=True)
class Sheet:
    """A finished piece of drawing in box characters."""

    lines: tuple[str, ...]
    pins: tuple[Pin, ...]
    tags: tuple[Tag, ...]
    words: tuple[Text, ...]  # signs and words of parts, labels of wires

    @property
    def width(self) -> int:
        """Characters of the longest line."""
        return max(map(len, self.lines), default=0)


@dataclass
class _Channel:
    """Lines within one channel, counted from its top."""

    runs: dict[int, list[tuple[float, float, int]]]
    tracks: int
    fans: tuple[bool, bool]  # bars under the row above, over the row below
    labels: tuple[bool, bool]  # a line of labels under the row above, over the row below
    top: int = 0

    @property
    def first_track(self) -> int:
        return self.top + self.fans[0] + self.labels[0]

    @property
    def bottom(self) -> int:
        """The first line below the channel."""
        return self.first_track + self.tracks + self.labels[1] + self.fans[1]

    def bar(self, upper: bool) -> int:
        return self.top if upper else self.bottom - 1

    def label(self, upper: bool) -> int:
        return self.top + self.fans[0] if upper else self.bottom - 1 - self.fans[1]


class TextComposer:
    """Turns places into lines of characters."""

    def __init__(self, placer: Placer, columns: Columns, labels: TextLabels) -> None:
        self.placer, self.columns, self.labels = placer, columns, labels
        self.scheme, self.grid, self.order = placer.scheme, placer.grid, placer.order
        self.cells: dict[Cell, dict[str, int]] = {}
        self.channels = [self._channel(c) for c in range(len(self.grid.channels))]
        self.tops: list[int] = []
        y = 0
        for r, channel in enumerate(self.channels):
            channel.top = y
            y = channel.bottom
            self.tops.append(y)
            y += self._row_height(r)

    # places

    def x(self, rim: Rim, link: int) -> int:
        """Column of a conductor at a rim spot."""
        kind, i, k = rim
        if kind == "lane":
            return round(self.columns.lanes[i])
        if len(self.placer.uses[i, k]) > 1:
            return round(self.columns.slots[i, k, link])
        return self._port_x(i, k)

    def _port_x(self, block: int, port: int) -> int:
        return round(self.columns.blocks[block] + self.placer.port_x(block, port))

    def symbol(self, block: int) -> TextSymbol:
        """The symbol of a block."""
        symbol = self.placer.symbol(block)
        assert isinstance(symbol, TextSymbol)
        return symbol

    def _row_height(self, r: int) -> int:
        members = self.order.rows[r] if r < len(self.order.rows) else []
        return max((round(self.symbol(i).height) for k, i in members if k == "block"), default=0)

    def _top(self, block: int) -> int:
        """First line of a block: rows are level at the top, what only hangs down at the bottom."""
        r = self.grid.rows[block]
        symbol = self.symbol(block)
        if any(p.side == "top" for p in symbol.ports):
            return self.tops[r]
        return self.tops[r] + self._row_height(r) - round(symbol.height)

    def pin(self, block: int, port: int) -> Cell:
        """The character of a port; of what has no height, the one outside."""
        symbol, wanted = self.symbol(block), self.scheme.blocks[block].symbol.ports[port]
        y = self._top(block)
        return y if wanted.side == "top" else y + round(symbol.height) - 1, self._port_x(
            block, port
        )

    # channels

    def _channel(self, c: int) -> _Channel:
        pieces = self.grid.channels[c]
        runs, taken = sideways(pieces, self.x)

        def free(x: float) -> float:
            near = sorted(range(round(x) - 200, round(x) + 200), key=lambda at: abs(at - x))
            return next(at for at in near if all(abs(at - t) >= 2 for t in taken))

        found, tracks = assign_tracks(runs, free)
        over, under = (
            [(piece.link, rim) for piece in pieces for rim in piece.at_edge(upper)]
            for upper in (True, False)
        )
        fans = any(self._fans(rim) for _, rim in over), any(self._fans(rim) for _, rim in under)
        labels = any(starmap(self._labelled, over)), any(starmap(self._labelled, under))
        return _Channel(found, tracks, fans, labels)

    def _fans(self, rim: Rim) -> bool:
        """Whether conductors meet on a bar outside the row."""
        return rim[0] == "block" and len(self.placer.uses[rim[1], rim[2]]) > 1

    def _labelled(self, link: int, rim: Rim) -> bool:
        return self.labels.borne(link, rim) and not self.labels.on_lead(link)

    # drawing

    def sheet(self) -> Sheet:
        """The finished characters."""
        for i, link in enumerate(self.scheme.links):
            self._conductor(i, link)
        for spot, links in self.placer.uses.items():
            if len(links) > 1:
                self._bar(*spot, links)
        texts: list[Text] = []
        pins: list[Pin] = []
        tags: list[Tag] = []
        for i, block in enumerate(self.scheme.blocks):
            symbol, x, y = self.symbol(i), round(self.columns.blocks[i]), self._top(i)
            if symbol.height == 1:  # a joint that is nothing but a stretch of line
                self._arm((y, x), f"joint {i}", UP | DOWN)
                continue
            idle = self._idle(i)
            texts += (
                t.moved(x, y)
                for t in symbol.signs + symbol.notes
                if t.y or not {t.x, t.x + len(t.text)} & idle
            )
            for k, port in enumerate(block.symbol.ports if symbol.height else ()):
                side = port.side if (i, k) in self.placer.uses else ""
                pins.append(Pin(*self.pin(i, k), _name(block, port.terminal), side))
        for i, link in enumerate(self.scheme.links):
            if link.wire is not None:
                tags.append(self._tag(i, link))
                texts.append(Text(tags[-1].column, tags[-1].line, self.labels.text(i)))
        return _written(self.cells, texts, pins, tags)

    def _idle(self, block: int) -> set[int]:
        """Where leads from above would be that nothing is connected to; they are left out."""
        ports = self.scheme.blocks[block].symbol.ports
        return {
            round(self.placer.port_x(block, k))
            for k, port in enumerate(ports)
            if port.side == "top" and (block, k) not in self.placer.uses
        }

    def _conductor(self, i: int, link: Link) -> None:
        pieces = [(c, p) for c, ps in enumerate(self.grid.channels) for p in ps if p.link == i]
        points: list[Cell] = []
        for c, _ in pieces:
            for a, b, track in self.channels[c].runs.get(i, []):
                y = self.channels[c].first_track + track
                points += [(y, round(a)), (y, round(b))]
        first, last = pieces[0][1].ends[0], pieces[-1][1].ends[1]
        self._path(i, [self._tip(first, i), *points, self._tip(last, i)], (first, last))

    def _tip(self, rim: Rim, link: int) -> Cell:
        """Where a conductor ends: on its bar, or at its terminal."""
        _, block, port = rim
        line, column = self.pin(block, port)
        if not self._fans(rim):
            return line, column
        upper = self.scheme.blocks[block].symbol.ports[port].side == "bottom"
        return self._bar_line(block, upper), self.x(rim, link)

    def _bar_line(self, block: int, upper: bool) -> int:
        return self.channels[self.grid.rows[block] + upper].bar(upper)

    def _path(self, link: int, corners: list[Cell], ends: tuple[Rim, Rim]) -> None:
        """Arms along a conductor; its ends belong to the bars, or to the terminals."""
        cells = list(_walk(corners))
        owners = [f"{link}"] * len(cells)
        for at, rim in ((0, ends[0]), (-1, ends[1])):
            owners[at] = f"bar {rim[1]} {rim[2]}" if self._fans(rim) else ""
        for (a, mine), (b, other) in pairwise(zip(cells, owners, strict=True)):
            there, back = _STEPS[b[0] - a[0], b[1] - a[1]]
            self._arm(a, mine, there)
            self._arm(b, other, back)

    def _arm(self, cell: Cell, owner: str, arm: int) -> None:
        if owner:  # the character of a terminal is part of its symbol
            arms = self.cells.setdefault(cell, {})
            arms[owner] = arms.get(owner, 0) | arm

    def _bar(self, block: int, port: int, links: Sequence[int]) -> None:
        """The lead and bar that join several conductors to one port."""
        upper = self.scheme.blocks[block].symbol.ports[port].side == "bottom"
        y, owner = self._bar_line(block, upper), f"bar {block} {port}"
        line, x = self.pin(block, port)
        xs = [round(self.columns.slots[block, port, k]) for k in links]
        if self.symbol(block).height:
            xs.append(x)
            lead = list(_walk([(line, x), (y, x)]))
            for a, b in pairwise(lead):
                there, back = _STEPS[b[0] - a[0], b[1] - a[1]]
                self._arm(a, "" if a == lead[0] else owner, there)
                self._arm(b, owner, back)
        for at in range(min(xs), max(xs)):
            self._arm((y, at), owner, RIGHT)
            self._arm((y, at + 1), owner, LEFT)

    def _tag(self, i: int, link: Link) -> Tag:
        assert link.wire is not None
        end = self.labels.ends[i]
        line, column = self.pin(end.block, end.port)
        if not self.labels.on_lead(i):
            upper = self.scheme.blocks[end.block].symbol.ports[end.port].side == "bottom"
            line = self.channels[self.grid.rows[end.block] + upper].label(upper)
            column = self.x(("block", end.block, end.port), i)
        return Tag(line, column + 1, link.wire.id)


def _name(block: Block, terminal: str) -> str:
    """What a port of a block is: a terminal, the reference, or a joint by its key."""
    if block.part:
        return f"{block.part}.{terminal}"
    return REFERENCE if block.key.startswith("frame ") else block.key


def _walk(corners: list[Cell]) -> Iterator[Cell]:
    """Every character along a line from corner to corner, each once."""
    yield corners[0]
    for start, (there, across) in pairwise(corners):
        line, column = start
        down = (there > line) - (there < line)
        right = (across > column) - (across < column)
        assert not (down and right), "conductors run upright or level"
        while (line, column) != (there, across):
            line, column = line + down, column + right
            yield line, column


def _glyph(arms: dict[str, int]) -> str:
    """The character for the arms in one place; of two conductors the upright one is seen."""
    if len(arms) == 1:
        (only,) = arms.values()
        return BOX.get(only, "│" if only & (UP | DOWN) else "─")
    return BOX.get(max(arms.values(), key=lambda a: bool(a & (UP | DOWN))), "?")


def _written(
    cells: dict[Cell, dict[str, int]],
    texts: list[Text],
    pins: list[Pin],
    tags: list[Tag],
) -> Sheet:
    """Everything in its place, without lines that only carry conductors down."""
    columns = [x for _, x in cells] + [t.x for t in texts]
    left = min(columns, default=0)
    busy = {t.y for t in texts if t.text.strip("│")} | {
        y for (y, _), arms in cells.items() if list(arms.values()) != [UP | DOWN]
    }
    order = sorted(busy)
    line_of = {y: i for i, y in enumerate(order)}
    width = max([x for _, x in cells] + [t.x + len(t.text) - 1 for t in texts], default=0)
    canvas = [[" "] * (width - left + 1) for _ in line_of]
    for (y, x), arms in cells.items():
        if y in line_of:
            canvas[line_of[y]][x - left] = _glyph(arms)
    for text in texts:
        if text.y in line_of:
            canvas[line_of[text.y]][text.x - left : text.x - left + len(text.text)] = text.text
    kept = tuple(replace(t, x=t.x - left, y=line_of[t.y]) for t in texts if t.y in line_of)
    return Sheet(
        lines=tuple("".join(line).rstrip() for line in canvas),
        pins=tuple(  # a lead from above that was left out: its symbol is on the next line
            replace(p, line=bisect_left(order, p.line), column=p.column - left) for p in pins
        ),
        tags=tuple(replace(t, line=line_of[t.line], column=t.column - left) for t in tags),
        words=kept,
    )
