"""Single points: splices and joints, grounds, the head of a rail, a cavity of a connector."""

from __future__ import annotations

from quizgen.circuit.components import Part
from quizgen.diagram.lettering import Box, Words, column_height, wrap
from quizgen.diagram.pen import CLEAR, Pen, Style
from quizgen.diagram.symbols import Port, Side, Stroke, Symbol, turn
from quizgen.diagram.view import View, label_lines


def splice(part: Part, view: View, style: Style) -> Symbol:
    return node_symbol(style, part.id, view.sides["1"] or frozenset({"top"}), terminal="1")


def node_symbol(style: Style, text: str, sides: frozenset[Side], *, terminal: str) -> Symbol:
    """A joint: a dot, with its code when it has one."""
    pen = Pen(style)
    pen.height = style.size + 0.4 if text else 0.4
    middle = pen.height / 2
    for side in sorted(sides):
        pen.ports.append(Port(terminal, side, 0.0))
        pen.line(0, middle, f"v{-middle if side == 'top' else middle:g}")
    if text or len(sides) < 2:
        pen.dot(0, middle, 0.85 if text else 0.6)
    if text:
        pen.body.append(Box(-0.85, middle - 0.6, 0.85, middle + 0.6))
    if text:
        pen.words.append(Words(text, 1.6, middle + 0.36 * style.bold, style.bold, bold=True))
    return pen.symbol()


_EARTH = ("m-3 0h6m-4.9 1.1h3.8m-2.7 1.1h1.6",)
_FRAME = ("m-2.6 0h5.2m0 0l-1.1 1.8m-1.5 -1.8l-1.1 1.8m-1.5 -1.8l-1.1 1.8",)


def ground(part: Part, view: View, style: Style) -> Symbol:
    return ground_symbol(style, label_lines(part, style), _EARTH, "1")


def frame_symbol(style: Style, text: str, terminal: str) -> Symbol:
    """The frame itself, where a terminal sits on the reference without a stud."""
    return ground_symbol(style, (text,) if text else (), _FRAME, terminal)


def ground_symbol(
    style: Style, lines: tuple[str, ...], paths: tuple[str, ...], terminal: str
) -> Symbol:
    """A ground mark below its lead, its code and place beside it."""
    pen = Pen(style)
    tall = column_height(len(lines), style.size)
    pen.height = max(5.0, tall)
    pen.line(0, 0, "v2.2")
    for path in paths:
        pen.line(0, 2.2, path)
    pen.body.append(Box(-3, 2.0, 3, 4.6))
    pen.ports.append(Port(terminal, "top", 0.0))
    pen.label(lines, 3 + CLEAR, max(3.3, tall / 2))
    return pen.symbol()


def rail_symbol(style: Style, terminal: str) -> Symbol:
    """The head of a supply rail: several conductors at one supply terminal."""
    pen = Pen(style)
    pen.ports.append(Port(terminal, "bottom", 0.0))
    return pen.symbol()


def cavity(part: Part, view: View, style: Style) -> Symbol:
    """One cavity of a connector: socket arc over pin, its code beside it."""
    name = view.cavity
    a, b = name + "a", name + "b"
    socket_up = view.leaning[a] == "top"
    pen = Pen(style)
    lines = (part.id, *(wrap(part.name, style.name_width * 1.3, style.size) if view.named else ()))
    pen.height = max(2 * style.size + 1.0, column_height(len(lines), style.size))
    middle = pen.height / 2
    arc, pin = "m-1.35 1.1a1.35 1.35 0 0 1 2.7 0", "m-0.5 -0.1h1v2.4h-1z"
    for strokes, path in ((pen.lines, arc), (pen.fills, pin)):
        strokes.append(Stroke(0, middle, turn(path, mirror=not socket_up)))
    sign = -1 if socket_up else 1
    pen.line(0, middle + sign * 0.25, f"v{sign * (middle - 0.25):g}")
    pen.line(0, middle - sign * 2, f"v{-sign * (middle - 2):g}")
    pen.body.append(Box(-1.5, middle - 1.4, 1.5, middle + 1.4))
    pen.port(a, "top" if socket_up else "bottom", 0, clear=1.9)
    pen.port(b, "bottom" if socket_up else "top", 0, clear=1.9)
    pen.label(lines, 1.5 + CLEAR, middle)
    return pen.symbol()
