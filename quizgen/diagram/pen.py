"""The pen: collects strokes, words and ports while a symbol is put together."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil

from quizgen.diagram.lettering import (
    ASCENT,
    Box,
    Words,
    column,
    column_height,
    text_width,
)
from quizgen.diagram.symbols import Port, Side, Stroke, Symbol

LEAD = 2.9  # a lead long enough for a terminal number beside it
CLEAR = 0.8  # between ink and words
STEP = 0.25  # ports and conductors stand on multiples of this


@dataclass(frozen=True)
class Style:
    """The measures that one drawing keeps to, in millimetres."""

    size: float = 2.6  # of the text
    pitch: float = 12.0  # between the ports of a part with several
    name_width: float = 17.0  # a part's name is wrapped to this

    @property
    def bold(self) -> float:
        """Size of a part's code."""
        return self.size * 1.08


@dataclass
class Pen:
    """A symbol under construction."""

    style: Style
    lines: list[Stroke] = field(default_factory=list)
    fills: list[Stroke] = field(default_factory=list)
    dashes: list[Stroke] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    body: list[Box] = field(default_factory=list)
    height: float = 0.0

    def line(self, x: float, y: float, path: str) -> None:
        """A thin solid stroke."""
        self.lines.append(Stroke(x, y, path))

    def dash(self, x: float, y: float, path: str) -> None:
        """A dashed stroke: mechanical link or outline."""
        self.dashes.append(Stroke(x, y, path))

    def dot(self, x: float, y: float, radius: float = 0.55) -> None:
        """A filled dot."""
        r = radius
        self.fills.append(
            Stroke(x, y, f"m{-r:g} 0a{r:g} {r:g} 0 0 1 {2 * r:g} 0a{r:g} {r:g} 0 0 1 {-2 * r:g} 0z")
        )

    def stud(self, x: float, y: float) -> None:
        """An open contact stud."""
        self.line(x, y, "m-0.5 0a0.5 0.5 0 0 1 1 0a0.5 0.5 0 0 1 -1 0z")

    def port(self, terminal: str, side: Side, x: float, *, number: str | None = None,
             right: bool = False, clear: float = CLEAR) -> None:  # fmt: skip
        """A port with its terminal number beside the lead, left of it unless `right`."""
        self.ports.append(Port(terminal, side, x))
        shown = terminal if number is None else number
        if not shown:
            return
        size = self.style.size
        y = ASCENT * size + 0.2 if side == "top" else self.height - 0.2
        reach = clear if right else -clear
        self.words.append(Words(shown, x + reach, y, size, "start" if right else "end"))

    def outline(self, left: float, right: float, *, dashed: bool = False) -> None:
        """A frame round the whole symbol, as high as that."""
        path = f"h{right - left:g}v{self.height:g}h{left - right:g}z"
        (self.dash if dashed else self.line)(left, 0, path)
        self.body.append(Box(left, 0, right, self.height))

    def label(self, lines: tuple[str, ...], x: float, middle: float) -> None:
        """A part's code (bold) and name, in a column centred on the height `middle`."""
        size = self.style.size
        top = middle - column_height(len(lines), size) / 2
        self.words.extend(column(lines, x, max(top, 0.0), size, bold_first=True))

    def symbol(self) -> Symbol:
        """The finished symbol."""
        boxes = [*self.body, *(w.box for w in self.words)]
        xs = [p.x for p in self.ports]
        return Symbol(
            left=-min([*(b.left for b in boxes), *xs], default=0.0),
            right=max([*(b.right for b in boxes), *xs], default=0.0),
            height=self.height,
            ports=tuple(self.ports),
            body=tuple(self.body),
            lines=tuple(self.lines),
            fills=tuple(self.fills),
            dashes=tuple(self.dashes),
            words=tuple(self.words),
        )


def on_grid(length: float) -> float:
    """The least multiple of the grid step that is not below `length`."""
    return ceil(length / STEP - 1e-9) * STEP


def label_width(lines: tuple[str, ...], size: float) -> float:
    """Width of the widest line when the first is bold."""
    return max((text_width(t, size, bold=i == 0) for i, t in enumerate(lines)), default=0.0)
