"""Symbols in characters of parts with one or two terminals, and of points.

Three lines, as a rule: the lead from above (right of it is room for the wire's label), the sign,
the lead below. Terminal numbers stand left of the leads, the part's code and name right of the
sign.
"""

from __future__ import annotations

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
from quizgen.diagram.characters import Sketch, TextSymbol
from quizgen.diagram.symbols import Side
from quizgen.diagram.view import View

SIGNS: dict[type[Part], tuple[str, str]] = {  # as is, and with the first terminal below
    Battery: ("═════", "═════"),
    Source: ("(=)", "(=)"),
    Bridge: ("<!>", "<!>"),
    Fuse: ("[~]", "[~]"),
    FusibleLink: ("{~}", "{~}"),
    Breaker: ("[x]", "[x]"),
    Resistor: ("[ ]", "[ ]"),
    Sender: ("[/]", "[/]"),
    Lamp: ("(X)", "(X)"),
    LedLamp: ("(▼)", "(▲)"),
    Gauge: ("(↑)", "(↑)"),
    Motor: ("(M)", "(M)"),
    Heater: ("[≡]", "[≡]"),
    Solenoid: ("[%]", "[%]"),
    Horn: ("[<]", "[<]"),
    Diode: ("═▼═", "═▲═"),
}
LEAST_REACH = 3  # from the middle of a lying part to its leads


def two_terminal(
    part: Part, view: View, label: tuple[str, ...], pitch: int = 2 * LEAST_REACH
) -> TextSymbol:
    """A part in the run of the current, or lying across it."""
    first, second = part.terminals
    if view.leaning[first] == view.leaning[second]:
        return _lying(part, view, label, max(LEAST_REACH, (pitch + 1) // 2))
    upright = view.leaning[first] == "top"
    top, bottom = (first, second) if upright else (second, first)
    if isinstance(part, Battery):
        return _cells(upright, label)
    sketch = Sketch(height=max(3, len(label) + 1))
    sketch.port(top, "top", 0, top)
    sketch.sign(-1, 1, SIGNS[type(part)][0 if upright else 1])
    return _finish(sketch, bottom, label)


def contact(top: str, bottom: str, sign: str, label: tuple[str, ...]) -> TextSymbol:
    """A switch with one contact in the run of the current."""
    sketch = Sketch(height=max(3, len(label) + 1))
    sketch.port(top, "top", 0, top)
    sketch.sign(1 - len(sign), 1, sign)
    return _finish(sketch, bottom, label)


def _finish(sketch: Sketch, bottom: str, label: tuple[str, ...]) -> TextSymbol:
    """The lead below, long enough for the label beside it."""
    for y in range(2, sketch.height - 1):
        sketch.sign(0, y, "│")
    sketch.port(bottom, "bottom", 0, bottom)
    sketch.label(label, 1)
    return sketch.symbol()


def _cells(upright: bool, label: tuple[str, ...]) -> TextSymbol:
    """A battery: the long line is plus."""
    sketch = Sketch(height=max(4, len(label) + 1))
    long, short = ((-2, "═════"), (-1, "═══"))
    sketch.port("+" if upright else "-", "top", 0, "+" if upright else "-")
    for y, (x, sign) in enumerate((long, short) if upright else (short, long), 1):
        sketch.sign(x, y, sign)
    for y in range(3, sketch.height - 1):
        sketch.sign(0, y, "│")
    sketch.port("-" if upright else "+", "bottom", 0, "-" if upright else "+")
    sketch.label(label, 1)
    return sketch.symbol()


def _lying(part: Part, view: View, label: tuple[str, ...], reach: int) -> TextSymbol:
    """A part between two points of equal depth: both leads up or both down."""
    left, right = part.terminals[::-1] if view.mirrored else part.terminals
    side: Side = view.leaning[left]
    up = side == "top"
    sketch = Sketch(height=max(2 if up else 3, len(label) + 1))
    y = 1  # above is room for labels of wires
    ends = "└┘" if up else "┌┐"
    sketch.port(left, side, -reach, left)
    sketch.port(right, side, reach, right)
    for x in (-reach, reach):
        for between in range(y + 1, sketch.height - 1):
            if not up:
                sketch.sign(x, between, "│")
    run = "─" * (reach - 2)
    sign = turned(SIGNS[type(part)][0], view.mirrored)
    sketch.sign(-reach, y, f"{ends[0]}{run}{sign}{run}{ends[1]}")
    sketch.label(label, y)
    return sketch.symbol()


def turned(sign: str, mirrored: bool) -> str:
    """The sign of a lying part: what points down in a run of current points to the right here.

    >>> turned("(▼)", False)
    '(►)'
    """
    return sign.replace("▼", "◄" if mirrored else "►")


def splice(part: Part, view: View, label: tuple[str, ...]) -> TextSymbol:
    """A joint with a code."""
    return _dot("1", view.sides["1"] or frozenset({"top"}), label[0])


def _dot(terminal: str, sides: frozenset[Side], code: str) -> TextSymbol:
    sketch = Sketch(height=2)
    if "top" in sides:
        sketch.port(terminal, "top", 0)
    if "bottom" in sides:
        sketch.port(terminal, "bottom", 0)
        sketch.signs.pop()  # the dot is its own lead
    sketch.sign(0, 1, "●")
    sketch.note(1, 1, code)
    return sketch.symbol()


def ground(part: Part, view: View, label: tuple[str, ...]) -> TextSymbol:
    """A stud on the frame."""
    return _below(("═══", " ═ "), "1", label)


def frame(text: str) -> TextSymbol:
    """The frame itself, where a terminal sits on the reference without a stud."""
    return _below(("///",), "31", (text,) if text else ())


def _below(signs: tuple[str, ...], terminal: str, label: tuple[str, ...]) -> TextSymbol:
    sketch = Sketch(height=max(1 + len(signs), 1 + len(label)))
    sketch.port(terminal, "top", 0)
    for y, sign in enumerate(signs, 1):
        sketch.sign(-1 + (len(sign) - len(sign.lstrip())), y, sign.strip())
    sketch.label(label, 1)
    return sketch.symbol()


def rail() -> TextSymbol:
    """Nothing but the bar that hangs from it."""
    sketch = Sketch(height=0)
    sketch.port("+", "bottom", 0)
    sketch.signs.clear()
    return sketch.symbol()


def joint(sides: frozenset[Side]) -> TextSymbol:
    """A point where conductors meet: a stretch of line between bars, or a dot at their end."""
    if len(sides) < 2:
        return _dot("1", sides, "")
    sketch = Sketch(height=1)
    for side in sorted(sides):
        sketch.port("1", side, 0)
    return sketch.symbol()


def cavity(part: Part, view: View, label: tuple[str, ...]) -> TextSymbol:
    """One cavity of a connector: the open side of the arc is where the plug comes from."""
    a, b = view.cavity + "a", view.cavity + "b"
    down = view.leaning[a] == "top"
    top, bottom = (a, b) if down else (b, a)
    sketch = Sketch(height=max(3, len(label) + 1))
    sketch.port(top, "top", 0, top)
    sketch.sign(-1, 1, "═n═" if down else "═U═")
    return _finish(sketch, bottom, label)
