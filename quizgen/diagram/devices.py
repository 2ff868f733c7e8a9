"""Devices with more than two terminals that are neither switch nor relay: a box of their own.

Their terminals leave on fixed sides (`FACING`, which also has the supplies and the single
points): what feeds them above, what they feed or return to below.
"""

from __future__ import annotations

from quizgen.circuit.components import (
    Alternator,
    Battery,
    Flasher,
    Ground,
    Part,
    Source,
    Splice,
    StarterSolenoid,
    TwoSpeedMotor,
)
from quizgen.diagram.lettering import Box, Words, column_height
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style
from quizgen.diagram.symbols import Side, Stroke, Symbol
from quizgen.diagram.view import View, label_lines

FACING: dict[type[Part], dict[str, Side]] = {
    Battery: {"+": "top", "-": "bottom"},
    Source: {"+": "top", "-": "bottom"},
    Ground: {"1": "top", "31": "top"},
    Splice: {"1": "top"},
    Alternator: {"B+": "top", "D+": "top", "S": "top", "31": "bottom"},
    StarterSolenoid: {"50": "top", "30": "top", "45": "bottom", "31": "bottom"},
    Flasher: {"49": "top", "49a": "bottom", "31": "bottom"},
    TwoSpeedMotor: {"53": "top", "53i": "top", "31": "bottom"},
}
CORE = 7.2  # height of what is drawn inside a box


def _pen(part: Part, style: Style, core: float = CORE) -> tuple[Pen, tuple[str, ...]]:
    lines = label_lines(part, style)
    pen = Pen(style)
    pen.height = max(2 * LEAD + core, column_height(len(lines), style.size))
    return pen, lines


def _boxed(pen: Pen, lines: tuple[str, ...]) -> Symbol:
    """The outline round everything drawn so far, and the label right of it."""
    boxes = [*pen.body, *(w.box for w in pen.words)]
    left = min(b.left for b in boxes) - 0.8
    right = max([*(b.right for b in boxes), *(p.x + 0.7 for p in pen.ports)]) + 0.8
    pen.line(left, 0, f"h{right - left:g}v{pen.height:g}h{left - right:g}z")
    pen.body.append(Box(left, 0, right, pen.height))
    pen.label(lines, right + CLEAR, pen.height / 2)
    return pen.symbol()


def _ring(pen: Pen, x: float, letter: str) -> float:
    """A machine: a ring with a letter; returns its radius."""
    radius, y = 3.2, pen.height / 2
    arc = f"a{radius} {radius} 0 0 1"
    pen.line(x, y - radius, f"{arc} 0 {2 * radius}{arc} 0 {-2 * radius}z")
    pen.words.append(Words(letter, x, y + 1.2, pen.style.size * 1.3, "middle", bold=True))
    pen.body.append(Box(x - radius, y - radius, x + radius, y + radius))
    return radius


def _machine(part: Part, view: View, style: Style, letter: str) -> Symbol:
    """A ring with several leads from above and one below."""
    pen, lines = _pen(part, style)
    tops = [t for t in part.terminals if view.leaning[t] == "top"]
    if view.mirrored:
        tops.reverse()
    home = tops.index(part.terminals[0]) * style.pitch
    radius = _ring(pen, home, letter)
    y = pen.height / 2
    for i, terminal in enumerate(tops):
        x = i * style.pitch
        pen.port(terminal, "top", x)
        if x == home:
            pen.line(x, 0, f"v{y - radius:g}")
        else:
            inner = home + (radius if x > home else -radius)
            level = y - 1.2 if abs(tops.index(part.terminals[0]) - i) == 1 else y + 1.2
            inner -= (inner - home) * 0.07  # the ring is narrower off its middle
            pen.line(x, 0, f"v{level:g}h{inner - x:g}")
    pen.line(home, pen.height, f"v{radius - y:g}")
    pen.port("31", "bottom", home)
    return _boxed(pen, lines)


def alternator(part: Part, view: View, style: Style) -> Symbol:
    """Generator with regulator."""
    return _machine(part, view, style, "G")


def two_speed_motor(part: Part, view: View, style: Style) -> Symbol:
    """Motor with a brush for each speed."""
    return _machine(part, view, style, "M")


def flasher(part: Part, view: View, style: Style) -> Symbol:
    """Flasher unit: a pulse in a box."""
    pen, lines = _pen(part, style, 5.0)
    way = -1 if view.mirrored else 1
    y = pen.height / 2
    pen.line(-2.4, y + 1.2, "h1.2v-2.4h1.2v2.4h1.2v-2.4h1.2")
    pen.body.append(Box(-3.0, y - 2.5, 3.0, y + 2.5))
    pen.line(0, 0, f"v{y - 2.5:g}m-3 0h6v5h-6zm3 5v{y - 2.5:g}")
    pen.port("49", "top", 0)
    pen.port("49a", "bottom", 0)
    if "31" in part.terminals:
        x = way * style.pitch
        pen.line(x, pen.height, f"v{-y:g}h{way * 3 - x:g}")
        pen.port("31", "bottom", x)
    return _boxed(pen, lines)


def starter_solenoid(part: Part, view: View, style: Style) -> Symbol:
    """Hold-in winding 50 to case, pull-in winding 50 to 45, contact 30 to 45."""
    pen, lines = _pen(part, style, 8.0)
    way = -1 if view.mirrored else 1
    top, bottom, middle = LEAD + 0.4, pen.height - LEAD - 0.4, pen.height / 2
    far = way * max(style.pitch, 12.0)
    pull = way * 5.0
    half = 1.6
    for x in (0.0, pull):  # the two windings
        pen.line(x, middle - half, f"m-1.4 0h2.8v{2 * half}h-2.8z")
        pen.body.append(Box(x - 1.4, middle - half, x + 1.4, middle + half))
    pen.line(0, 0, f"v{middle - half:g}")
    pen.line(0, pen.height, f"v{half - middle:g}")
    pen.line(0, top, f"h{pull:g}v{middle - half - top:g}")
    pen.line(pull, middle + half, f"v{bottom - middle - half:g}h{far - pull:g}")
    pen.dot(0, top, 0.4)
    pen.dot(far, bottom, 0.4)
    pen.line(far, 0, f"v{middle - 2:g}")
    pen.line(far, pen.height, f"v{middle + 2 - pen.height:g}l-2.2 -3.6")
    pen.body.append(Box(far - 2.4, middle - 2, far + 0.4, middle + 2))
    edge = (pull, far - 1.1) if way > 0 else (far - 1.1, pull - 1.4)
    start = edge[0] + (1.4 if way > 0 else 0.0)
    pen.dashes.append(Stroke(start, middle, f"h{edge[1] - start:g}"))
    for terminal, x, side in _ENDS:
        pen.port(terminal, side, far if x else 0.0)
    return _boxed(pen, lines)


_ENDS: tuple[tuple[str, int, Side], ...] = (
    ("50", 0, "top"), ("31", 0, "bottom"), ("30", 1, "top"), ("45", 1, "bottom"),
)  # fmt: skip
