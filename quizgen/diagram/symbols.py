"""Symbols of parts, after IEC 60617 (drawn from memory of that standard).

A glyph is a list of pen strokes in SVG path language, relative commands only, so that a
symbol can be placed anywhere and many of them can share one path. Millimetres, y downwards;
a two-terminal glyph runs from (0, 0) to (0, height). `GLYPHS` holds the two-terminal parts;
parts with more terminals are put together in `quizgen.diagram.assembly`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from quizgen.circuit.components import (
    Battery,
    Breaker,
    Bridge,
    Diode,
    Fuse,
    FusibleLink,
    Gauge,
    Heater,
    Horn,
    Lamp,
    LedLamp,
    Motor,
    Part,
    Resistor,
    Sender,
    Solenoid,
    Source,
)  # fmt: skip
from quizgen.diagram.lettering import Box, Words

Side = Literal["top", "bottom"]


@dataclass(frozen=True)
class Stroke:
    """A pen stroke that begins at (x, y); `path` has relative commands only."""

    x: float
    y: float
    path: str

    def moved(self, dx: float, dy: float) -> Stroke:
        """The same stroke elsewhere."""
        return Stroke(self.x + dx, self.y + dy, self.path)


@dataclass(frozen=True)
class Glyph:
    """What a two-terminal part looks like, without leads."""

    height: float
    half: float  # half of its width
    lines: tuple[Stroke, ...]
    fills: tuple[Stroke, ...] = ()
    letter: str = ""
    polar: bool = False  # looks different upside down


@dataclass(frozen=True)
class Port:
    """A point on the top or bottom edge of a symbol where conductors leave."""

    terminal: str
    side: Side
    x: float


@dataclass(frozen=True)
class Symbol:
    """A drawn part: origin at the top of its first lead, block from -left to right."""

    left: float
    right: float
    height: float
    ports: tuple[Port, ...]
    body: tuple[Box, ...] = ()  # ink that no conductor may touch
    lines: tuple[Stroke, ...] = ()
    fills: tuple[Stroke, ...] = ()
    dashes: tuple[Stroke, ...] = ()
    words: tuple[Words, ...] = field(default=())


def _glyph(height: float, half: float, *paths: str, fills: tuple[str, ...] = (),
           letter: str = "", polar: bool = False) -> Glyph:  # fmt: skip
    return Glyph(
        height,
        half,
        tuple(Stroke(0, 0, p) for p in paths),
        tuple(Stroke(0, 0, p) for p in fills),
        letter,
        polar,
    )


_BAR = "m-1.2 0h2.4v6h-2.4z"  # the rectangle of resistor and fuse
_RING = "a2.9 2.9 0 0 1 0 5.8a2.9 2.9 0 0 1 0 -5.8z"

GLYPHS: dict[type[Part], Glyph] = {
    Battery: _glyph(
        4.6, 3, "m-3 0h6", "m-3 3h6", "m0 1.5v0.4m0 0.35v0.4m0 0.35",
        fills=("m-1.5 1h3v0.7h-3z", "m-1.5 3.9h3v0.7h-3z"), polar=True,
    ),
    Source: _glyph(5.8, 2.9, _RING, "v5.8", polar=True),
    Bridge: _glyph(6, 1.6, "v1.4l1.4 1.2l-2.8 1l1.4 1v1.4"),
    Fuse: _glyph(6, 1.2, _BAR, "v6"),
    FusibleLink: _glyph(6, 1.6, "c2.4 1.4 1.6 2.2 0 3c-1.6 0.8 -2.4 1.6 0 3",
                        fills=("m-0.6 0h1.2v0.8h-1.2z", "m-0.6 5.2h1.2v0.8h-1.2z")),
    Breaker: _glyph(
        6, 2.8, "v1", "m-0.8 0.2l1.6 1.6m0 -1.6l-1.6 1.6", "m0 6v-1l-2 -4",
        "m-1.05 2.9h-1.5v1.1h-1.1",
    ),
    Resistor: _glyph(6, 1.2, _BAR),
    Sender: _glyph(6, 2.8, _BAR, "m-2.6 5.6l4.9 -5.2", fills=("m2.7 0l-1.5 0.5l1 0.95z",)),
    Lamp: _glyph(5.8, 2.9, _RING, "m-2.051 0.849l4.102 4.102m0 -4.102l-4.102 4.102"),
    LedLamp: _glyph(
        5.8, 4.2, _RING, "v5.8", "m-1.5 1.8h3l-1.5 2.4z", "m-1.5 4.2h3",
        "m2.4 1l1.7 -1.2m-1 2.2l1.7 -1.2", fills=("m4.3 -0.35l-1 0.25l0.55 0.75z",), polar=True,
    ),
    Gauge: _glyph(5.8, 2.9, _RING, "m-1.3 4.3l2.3 -3.1", fills=("m1.5 0.6l-1.25 0.6l0.95 0.7z",)),
    Motor: _glyph(6.4, 3.2, "a3.2 3.2 0 0 1 0 6.4a3.2 3.2 0 0 1 0 -6.4z", letter="M"),
    Heater: _glyph(6, 1.2, _BAR, "m-1.2 1.5h2.4m0 1.5h-2.4m0 1.5h2.4"),
    Solenoid: _glyph(4.4, 3, "m-3 0h6v4.4h-6z", "m-3 4.4l6 -4.4"),
    Horn: _glyph(5.6, 3.8, "m-2.2 1h2.8v3.6h-2.8z", "m0.6 1l2.6 -1.4v6.4l-2.6 -1.4", "v1m0 3.6v1"),
    Diode: _glyph(4.6, 2, "v4.6", "m-1.8 3.6h3.6", fills=("m-1.8 0.9h3.6l-1.8 2.7z",), polar=True),
}  # fmt: skip

_TOKEN = re.compile(r"[a-z]|-?[0-9.]+")
_PAIRS = {"m": 2, "l": 2, "c": 6, "h": 1, "v": 1, "a": 7, "z": 0}


def turn(path: str, *, swap: bool = False, mirror: bool = False) -> str:
    """A relative path with x and y exchanged (`swap`), or with y reversed (`mirror`).

    >>> turn("m1 2h3", mirror=True)
    'm1 -2h3'
    >>> turn("m1 2h3", swap=True)
    'm2 1v3'
    """
    tokens = _TOKEN.findall(path)
    out: list[str] = []
    at = 0
    while at < len(tokens):
        command, at = tokens[at], at + 1
        count = _PAIRS[command]
        while True:
            numbers = [float(t) for t in tokens[at : at + count]]
            at += count
            out.append(_turned(command, numbers, swap, mirror))
            if not count or at >= len(tokens) or tokens[at].isalpha():
                break
    return "".join(out)


def _turned(command: str, numbers: list[float], swap: bool, mirror: bool) -> str:
    if command in "hv":
        across = (command == "h") != swap
        sign = -1.0 if mirror and command == "v" else 1.0
        return f"{'h' if across else 'v'}{numbers[0] * sign + 0.0:g}"
    if command == "a":
        rx, ry, tilt, large, sweep, x, y = numbers
        if swap:
            rx, ry, x, y = ry, rx, y, x
        if mirror:
            y = -y
        sweep = sweep if swap == mirror else 1 - sweep
        return f"a{rx:g} {ry:g} {tilt:g} {large:g} {sweep:g} {x + 0.0:g} {y + 0.0:g}"
    pairs = list(zip(numbers[::2], numbers[1::2], strict=True))
    if swap:
        pairs = [(y, x) for x, y in pairs]
    if mirror:
        pairs = [(x, -y) for x, y in pairs]
    return command + " ".join(f"{x + 0.0:g} {y + 0.0:g}" for x, y in pairs)


def upside_down(glyph: Glyph) -> Glyph:
    """The glyph with its first terminal at the bottom."""

    def flip(strokes: tuple[Stroke, ...]) -> tuple[Stroke, ...]:
        return tuple(Stroke(s.x, glyph.height - s.y, turn(s.path, mirror=True)) for s in strokes)

    return Glyph(glyph.height, glyph.half, flip(glyph.lines), flip(glyph.fills), glyph.letter, True)


def lying(glyph: Glyph) -> Glyph:
    """The glyph on its side: from (0, 0) to (height, 0), first terminal left."""

    def lay(strokes: tuple[Stroke, ...]) -> tuple[Stroke, ...]:
        return tuple(Stroke(s.y, s.x, turn(s.path, swap=True)) for s in strokes)

    return Glyph(glyph.height, glyph.half, lay(glyph.lines), lay(glyph.fills), glyph.letter, True)
