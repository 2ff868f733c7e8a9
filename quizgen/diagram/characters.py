"""What a diagram in characters is made of: wires, symbols, and their plain ASCII counterparts.

Wires are single lines, everything inside a part is double lines, letters and signs. A conductor
that meets another at ├ ┤ ┬ ┴ or ┼ is joined to it. One that crosses passes behind: the level one
has a gap of one character where the upright one runs through, `─│─`. All characters are in the
set that IBM's code page 437 and WGL4 have in common with Unicode (Box Drawing block of the
Unicode standard), so that old consoles show them too.

In ASCII the level line is `-`, the upright one `|`, a corner `.` where its upright leg goes down
and `'` where it goes up, a joint `+`, and the inside of a part `=` and `#`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import accumulate

from quizgen.diagram.symbols import Port, Side, Symbol

UP, DOWN, LEFT, RIGHT = 1, 2, 4, 8  # the arms of a character

BOX_ARMS: dict[str, int] = {
    "│": UP | DOWN, "─": LEFT | RIGHT,
    "┌": DOWN | RIGHT, "┐": DOWN | LEFT, "└": UP | RIGHT, "┘": UP | LEFT,
    "├": UP | DOWN | RIGHT, "┤": UP | DOWN | LEFT,
    "┬": DOWN | LEFT | RIGHT, "┴": UP | LEFT | RIGHT, "┼": UP | DOWN | LEFT | RIGHT,
}  # fmt: skip
BOX = {arms: letter for letter, arms in BOX_ARMS.items()}
_PLAIN = str.maketrans(
    {
        **dict.fromkeys("┌┐", "."), **dict.fromkeys("└┘", "'"), **dict.fromkeys("├┤┬┴┼", "+"),
        **dict.fromkeys("║╔╗╚╝╠╣╦╩╬", "#"), "│": "|", "─": "-", "═": "=", "●": "@", "·": ":",
        "►": ">", "◄": "<", "▼": "V", "▲": "A", "↑": "^", "≡": "=",
        "Ω": "R", "²": "2", "µ": "u", "°": "o", "→": ">", "–": "-", "×": "x", "½": "h",
    }
)  # fmt: skip


def plain(text: str) -> str:
    """`text` in ASCII, as many characters as before; what has no counterpart becomes `?`.

    >>> plain("┌──┴──┐ 4.7 Ω")
    '.--+--. 4.7 R'
    """
    return text.translate(_PLAIN).encode("ascii", "replace").decode()


def printed(text: str) -> str:
    """`text` without anything that would move the cursor or colour a terminal."""
    return "".join(c if c.isprintable() else "?" for c in text)


@dataclass(frozen=True)
class Text:
    """Characters in one line; x and y count characters and lines."""

    x: int
    y: int
    text: str

    def moved(self, dx: int, dy: int) -> Text:
        """The same text elsewhere."""
        return Text(self.x + dx, self.y + dy, self.text)


@dataclass(frozen=True)
class TextSymbol(Symbol):
    """A symbol in characters: signs of the part itself, and words about it."""

    signs: tuple[Text, ...] = ()
    notes: tuple[Text, ...] = ()


@dataclass
class Sketch:
    """A symbol in characters under construction."""

    height: int
    signs: list[Text] = field(default_factory=list)
    notes: list[Text] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)

    def sign(self, x: int, y: int, text: str) -> None:
        """Part of the symbol itself."""
        self.signs.append(Text(x, y, text))

    def note(self, x: int, y: int, text: str) -> None:
        """Words about the symbol."""
        if text:
            self.notes.append(Text(x, y, printed(text)))

    def port(self, terminal: str, side: Side, x: int, number: str = "") -> None:
        """A port with its lead and, left of the lead, its terminal number."""
        y = 0 if side == "top" else self.height - 1
        self.ports.append(Port(terminal, side, x))
        self.sign(x, y, "│")
        self.note(x - len(number), y, number)

    def label(self, lines: Iterable[str], y: int) -> None:
        """Words right of everything so far, from line y down."""
        x = self.right + 2
        for i, line in enumerate(lines):
            self.note(x, y + i, line)

    @property
    def right(self) -> int:
        """The rightmost character so far."""
        return max((t.x + len(t.text) - 1 for t in self.signs), default=0)

    def symbol(self) -> TextSymbol:
        """The finished symbol."""
        texts = self.signs + self.notes
        return TextSymbol(
            left=-min((t.x for t in texts), default=0),
            right=max((t.x + len(t.text) - 1 for t in texts), default=0),
            height=self.height,
            ports=tuple(self.ports),
            signs=tuple(self.signs),
            notes=tuple(self.notes),
        )


def spread(words: str, count: int) -> tuple[str, ...]:
    """`words` in at most `count` lines, as narrow as that can be.

    >>> spread("E11 machine's left tail lamp", 2)
    ("E11 machine's", 'left tail lamp')
    """
    parts = words.split()
    ends = sorted({end for start in range(len(parts)) for end in accumulate(
        len(p) + 1 for p in parts[start:])})  # fmt: skip
    for width in ends:
        lines = _filled(parts, width - 1)
        if len(lines) <= count and all(len(line) < width for line in lines):
            return lines
    return ()


def _filled(parts: list[str], width: int) -> tuple[str, ...]:
    lines: list[str] = []
    for part in parts:
        if lines and len(lines[-1]) + 1 + len(part) <= width:
            lines[-1] += f" {part}"
        else:
            lines.append(part)
    return tuple(lines)
