"""Lettering: text of a diagram as boxes, before any font is at hand.

A drawing must keep its labels apart whichever font the reader's program takes, so the
width of a text is estimated from above: each letter by the wider of Atkinson Hyperlegible
and Liberation Sans (advance widths read from the two fonts), bold a tenth wider.
All lengths are millimetres; y grows downwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

FONT = "Atkinson Hyperlegible, sans-serif"
POINT = 25.4 / 72  # millimetres

_LETTERS = {
    250: "'l",
    290: " !,.:;ij|",
    350: "()[]`frt{}",
    400: '"-/\\°²',
    450: "*I",
    500: "cksvxyz",
    560: "127?JL^_aeghnou–",
    600: "$3569<>bdpq~µ×",
    620: "+48=FTZ",
    660: "#0",
    700: "ABEKPSVXY",
    730: "&CDHNRUw",
    780: "GOQΩ",
    850: "Mm½",
    950: "%W",
    1020: "@…",
}
_WIDTH = {letter: width for width, letters in _LETTERS.items() for letter in letters}

ASCENT, DESCENT, LEADING = 0.78, 0.22, 1.12  # shares of the text size

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Box:
    """An upright rectangle: left, top, right, bottom in millimetres."""

    left: float
    top: float
    right: float
    bottom: float

    def moved(self, dx: float, dy: float) -> Box:
        """The same box elsewhere."""
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Whether the two share an area, or come closer than `gap`."""
        return (
            self.left < other.right + gap - 1e-6
            and other.left < self.right + gap - 1e-6
            and self.top < other.bottom + gap - 1e-6
            and other.top < self.bottom + gap - 1e-6
        )


@dataclass(frozen=True)
class Words:
    """One line of text. (x, y) is on the baseline; `turned` reads upwards."""

    text: str
    x: float
    y: float
    size: float
    anchor: Anchor = "start"
    bold: bool = False
    turned: bool = False
    about: str = ""  # the part or wire that the text belongs to

    @property
    def box(self) -> Box:
        """The room the text takes."""
        width = text_width(self.text, self.size, bold=self.bold)
        start = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        up, down = ASCENT * self.size, DESCENT * self.size
        if self.turned:
            return Box(self.x - up, self.y - start - width, self.x + down, self.y - start)
        return Box(self.x + start, self.y - up, self.x + start + width, self.y + down)

    def moved(self, dx: float, dy: float, about: str = "") -> Words:
        """The same words elsewhere, and about `about` if that is given."""
        return Words(  # `dataclasses.replace` takes three times as long, a tenth of a layout
            self.text, self.x + dx, self.y + dy, self.size, self.anchor, self.bold, self.turned,
            about or self.about,
        )  # fmt: skip


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """An upper estimate of the width of `text` set in `size`, both in mm."""
    units = sum(_WIDTH.get(letter, 1020) for letter in text)
    return units / 1000 * size * (1.1 if bold else 1.0)


def wrap(text: str, limit: float, size: float) -> tuple[str, ...]:
    """`text` in lines of at most `limit` mm where its words allow it."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= limit:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return tuple(lines)


def column(
    lines: tuple[str, ...],
    x: float,
    top: float,
    size: float,
    *,
    bold_first: bool = False,
    anchor: Anchor = "start",
) -> tuple[Words, ...]:
    """Lines of text below each other, the first one's box beginning at `top`."""
    return tuple(
        Words(
            text, x, top + ASCENT * size + i * LEADING * size, size, anchor,
            bold=bold_first and i == 0,
        )
        for i, text in enumerate(lines)
    )  # fmt: skip


def column_height(count: int, size: float) -> float:
    """Height of `count` lines of text."""
    return (1 + LEADING * (count - 1)) * size if count else 0.0
