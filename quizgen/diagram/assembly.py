"""Symbols of whole parts: glyph or contacts, leads, terminal numbers, code and name.

Which way a terminal leaves its part (towards the supply or towards ground) is decided by
the circuit, so a symbol is made for a part *and* a view of it. `MAKERS` is keyed by
component class and covers every class except the wire, which is a line and not a symbol.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from quizgen.circuit.components import (
    KINDS,
    Breaker,
    Connector,
    Fuse,
    FusibleLink,
    Ground,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Source,
    Splice,
    Switch,
)  # fmt: skip
from quizgen.diagram.contacts import (
    JOG,
    ZONE,
    Pole,
    PoleView,
    draw_pole,
    jog_levels,
    pole_width,
    poles_of,
    relay_pole,
)  # fmt: skip
from quizgen.diagram.lettering import ASCENT, Box, Words, column_height, text_width, wrap
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style
from quizgen.diagram.symbols import (
    GLYPHS,
    Glyph,
    Port,
    Side,
    Stroke,
    Symbol,
    lying,
    turn,
    upside_down,
)  # fmt: skip


@dataclass(frozen=True)
class View:
    """How one part is seen: per terminal the sides on which conductors leave."""

    sides: Mapping[str, frozenset[Side]]  # empty for a terminal nothing is connected to
    leaning: Mapping[str, Side]  # the side a terminal faces, connected or not
    rest: int = 0  # position at rest, for what has positions
    cavity: str = ""  # the one cavity of a connector that is drawn
    named: bool = True  # whether the part's name is written as well as its code
    mirrored: bool = False

    @property
    def used(self) -> frozenset[str]:
        """Terminals with something connected."""
        return frozenset(t for t, sides in self.sides.items() if sides)


def number(value: float) -> str:
    """A value as it is printed beside a symbol.

    >>> number(30.0), number(0.45)
    ('30', '0.45')
    """
    return f"{value:.4g}"


def label_lines(part: Part, style: Style) -> tuple[str, ...]:
    """Code, name and rating of a part as the drawing shows them."""
    rating = ""
    if isinstance(part, Fuse | FusibleLink | Breaker):
        rating = f"{number(part.amps)} A"
    elif isinstance(part, Resistor):
        rating = f"{number(part.ohm)} Ω"
    elif isinstance(part, Source):
        rating = f"{number(part.volts)} V"
    return (part.id, *wrap(part.name, style.name_width, style.size), *((rating,) if rating else ()))


def make_symbol(part: Part, view: View, style: Style) -> Symbol:
    """The symbol of `part` in this view."""
    return MAKERS[type(part)](part, view, style)


# --- two terminals --------------------------------------------------------------------


def _two_terminal(part: Part, view: View, style: Style) -> Symbol:
    first, second = part.terminals
    glyph = GLYPHS[type(part)]
    if view.leaning[first] == view.leaning[second]:
        return _lying(part, view, style, glyph)
    on_top, below = (first, second) if view.leaning[first] == "top" else (second, first)
    if glyph.polar and on_top == second:
        glyph = upside_down(glyph)
    lines = label_lines(part, style)
    pen = Pen(style)
    tall = column_height(len(lines), style.size)
    pen.height = max(glyph.height + 2 * LEAD, tall)
    lead = (pen.height - glyph.height) / 2
    pen.line(0, 0, f"v{lead:g}")
    pen.line(0, pen.height, f"v{-lead:g}")
    _place(pen, glyph, 0, lead)
    pen.body.append(Box(-glyph.half, lead, glyph.half, lead + glyph.height))
    pen.port(on_top, "top", 0)
    pen.port(below, "bottom", 0)
    pen.label(lines, glyph.half + CLEAR + 0.2, pen.height / 2)
    return pen.symbol()


def _place(
    pen: Pen, glyph: Glyph, x: float, y: float, *, middle: tuple[float, float] = (0, 0)
) -> None:
    pen.lines.extend(s.moved(x, y) for s in glyph.lines)
    pen.fills.extend(s.moved(x, y) for s in glyph.fills)
    if glyph.letter:
        size = pen.style.size * 1.3
        cx, cy = middle if middle != (0, 0) else (x, y + glyph.height / 2)
        pen.words.append(Words(glyph.letter, cx, cy + 0.36 * size, size, "middle", bold=True))


def _lying(part: Part, view: View, style: Style, glyph: Glyph) -> Symbol:
    """A part between two points of equal depth: on its side, both leads up or both down."""
    first, second = part.terminals
    left, right = (second, first) if view.mirrored else (first, second)
    flat = lying(upside_down(glyph) if view.mirrored and glyph.polar else glyph)
    up = view.leaning[first] == "top"
    reach = max(glyph.height / 2 + 1.5, style.pitch / 2)
    pen = Pen(style)
    lines = label_lines(part, style)
    tall = column_height(len(lines), style.size)
    pen.height = LEAD + 2 * glyph.half + CLEAR + tall
    y = LEAD + glyph.half if up else pen.height - LEAD - glyph.half
    edge, side = (0.0, "top") if up else (pen.height, "bottom")
    half = glyph.height / 2
    pen.line(-reach, edge, f"v{y - edge:g}h{reach - half:g}")
    pen.line(reach, edge, f"v{y - edge:g}h{half - reach:g}")
    _place(pen, flat, -half, y, middle=(0, y))
    pen.body.append(Box(-reach, y - glyph.half, reach, y + glyph.half))
    pen.port(left, side, -reach)  # type: ignore[arg-type]
    pen.port(right, side, reach, right=True)  # type: ignore[arg-type]
    top = y + glyph.half + CLEAR if up else 0.0
    wide = max(text_width(t, style.size, bold=i == 0) for i, t in enumerate(lines))
    pen.label(lines, -wide / 2, top + tall / 2)
    return pen.symbol()


# --- one point ------------------------------------------------------------------------


def _splice(part: Part, view: View, style: Style) -> Symbol:
    return node_symbol(style, part.id, view.sides["1"], terminal="1")


def node_symbol(style: Style, text: str, sides: frozenset[Side], *, terminal: str) -> Symbol:
    """A joint: a dot, with its code when it has one."""
    pen = Pen(style)
    pen.height = style.size + 0.4 if text else 1.2
    middle = pen.height / 2
    for side in sorted(sides):
        pen.ports.append(Port(terminal, side, 0.0))
        pen.line(0, middle, f"v{-middle if side == 'top' else middle:g}")
    pen.dot(0, middle, 0.85 if text else 0.6)
    pen.body.append(Box(-0.85, middle - 0.6, 0.85, middle + 0.6))
    if text:
        pen.words.append(Words(text, 1.6, middle + 0.36 * style.bold, style.bold, bold=True))
    return pen.symbol()


_EARTH = ("m-3 0h6m-4.9 1.1h3.8m-2.7 1.1h1.6",)
_FRAME = ("m-2.6 0h5.2m0 0l-1.1 1.8m-1.5 -1.8l-1.1 1.8m-1.5 -1.8l-1.1 1.8",)


def _ground(part: Part, view: View, style: Style) -> Symbol:
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
    pen.height = 0.4
    pen.ports.append(Port(terminal, "bottom", 0.0))
    pen.line(0, 0.4, "v-0.4")
    return pen.symbol()


def _cavity(part: Part, view: View, style: Style) -> Symbol:
    """One cavity of a connector: socket arc over pin, its code beside it."""
    name = view.cavity
    a, b = name + "a", name + "b"
    socket_up = view.leaning[a] == "top"
    pen = Pen(style)
    pen.height = 2 * style.size + 1.0
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
    lines = (part.id, *(wrap(part.name, style.name_width, style.size) if view.named else ()))
    pen.label(lines[:2], 1.5 + CLEAR, middle)
    return pen.symbol()


# --- several terminals ----------------------------------------------------------------


def _pack(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, ResistorPack)
    taps = part.terminals[::-1] if view.mirrored else part.terminals
    ohms = part.ohms[::-1] if view.mirrored else part.ohms
    pen = Pen(style)
    pen.height = 2 * LEAD + 3.0 + style.size
    y = LEAD + 1.4
    for i, tap in enumerate(taps):
        x = i * style.pitch
        for side in sorted(view.sides[tap] or {view.leaning[tap]}):
            pen.line(x, y, f"v{(0.0 if side == 'top' else pen.height) - y:g}")
            pen.port(
                tap, side, x, number="" if len(view.sides[tap]) > 1 and side == "top" else None
            )
        pen.dot(x, y, 0.45)
        if i + 1 == len(taps):
            break
        slack = (style.pitch - 7) / 2
        pen.line(x, y, f"h{slack:g}m0 -1.3h7v2.6h-7zm7 1.3h{slack:g}")
        text = f"{number(ohms[i])} Ω"
        y_text = y + 1.3 + CLEAR / 2 + ASCENT * style.size
        pen.words.append(Words(text, x + style.pitch / 2, y_text, style.size, "middle"))
    last = (len(taps) - 1) * style.pitch
    _outline(pen, -4.0, last + 2.0)
    pen.label(label_lines(part, style), last + 2 + CLEAR, pen.height / 2)
    return pen.symbol()


def _outline(pen: Pen, left: float, right: float, *, dashed: bool = False) -> None:
    path = f"h{right - left:g}v{pen.height:g}h{left - right:g}z"
    (pen.dash if dashed else pen.line)(left, 0, path)
    pen.body.append(Box(left, 0, right, pen.height))


def _switch(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, Switch)
    poles = poles_of(part, view.rest)
    lines = label_lines(part, style)
    if poles is None or not poles:
        return _chart(part, view, style)
    pen = Pen(style)
    levels = max(jog_levels(p) for p in poles)
    pen.height = max(2 * LEAD + ZONE + levels * JOG, column_height(len(lines), style.size))
    levers = _draw_poles(pen, 0.0, poles, view)
    _gang(pen, part, levers)
    boxed = len(part.pins) > 2
    right = max([*(b.right for b in pen.body), *(p.x for p in pen.ports)]) + 1.5
    left = min([*(b.left for b in pen.body), *(w.box.left for w in pen.words)]) - 0.8
    if boxed:
        right = max(right, max(w.box.right for w in pen.words) + 0.8)
        _outline(pen, left, right, dashed=True)
    pen.label(lines, right + (CLEAR if boxed else 0), pen.height / 2)
    return pen.symbol()


def _draw_poles(
    pen: Pen, x: float, poles: tuple[Pole, ...], view: View
) -> list[tuple[float, float]]:
    """Poles beside each other; returns the middles of their levers."""
    levers = []
    for pole in poles[::-1] if view.mirrored else poles:
        seen = PoleView(view.leaning, view.used, view.mirrored)
        levers.append(draw_pole(pen, x, pole, seen))
        x += pole_width(pole, seen, pen.style.pitch) + pen.style.pitch
    return levers


_ACTUATORS = {
    "toggle": "m0 -1.3v2.6",
    "push": "m0.9 -1.3h-0.9v2.6h0.9",
    "rotary": "m0.8 -1.3c-1.4 0.4 -1.4 2.2 0 2.6",
    "door": "m-0.7 0a0.7 0.7 0 0 1 1.4 0a0.7 0.7 0 0 1 -1.4 0z",
    "pressure": "m-2.8 -1.6h2.8v3.2h-2.8z",
    "temperature": "m-2.8 -1.6h2.8v3.2h-2.8z",
    "level": "m-1.2 0c0 -1.4 1.2 -1.4 1.2 0c0 1.4 -1.2 1.4 -1.2 0z",
}
_ACTUATOR_LETTERS = {"pressure": "p", "temperature": "ϑ"}


def _gang(pen: Pen, part: Switch, levers: list[tuple[float, float]]) -> None:
    """The dashed line that moves all levers together, and what moves it."""
    y = levers[0][1]
    start = levers[0][0] - 3.2
    pen.line(start, y, _ACTUATORS[part.style])
    letter = _ACTUATOR_LETTERS.get(part.style, "")
    if letter:
        pen.words.append(Words(letter, start - 1.4, y + 0.9, pen.style.size, "middle"))
    pen.dash(start, y, f"h{levers[-1][0] - start:g}")
    pen.body.append(Box(start - (2.8 if letter else 1.0), y - 1.6, start + 1, y + 1.6))


def _chart(part: Switch, view: View, style: Style) -> Symbol:
    """Columns of terminals, rows of positions."""
    row = style.size * 1.45
    pen = Pen(style)
    pen.height = 2 * LEAD + row * len(part.positions)
    pins = part.pins[::-1] if view.mirrored else part.pins
    places = {pin: i * style.pitch for i, pin in enumerate(pins)}
    for pin, x in places.items():
        down = view.leaning[pin] == "top"
        pen.line(x, 0 if down else pen.height, f"v{(pen.height - LEAD) * (1 if down else -1):g}")
        pen.port(pin, view.leaning[pin], x)
    names = max(text_width(p, style.size, bold=True) for p in part.positions)
    left = -names - 2 * CLEAR - 1.0
    for i, (position, contacts) in enumerate(zip(part.positions, part.closes, strict=True)):
        y = LEAD + row * (i + 0.5)
        pen.words.append(
            Words(position, left + CLEAR, y + 0.36 * style.size, style.size, bold=i == view.rest)
        )
        for k, contact in enumerate(contacts):
            offset = (k - (len(contacts) - 1) / 2) * 1.1
            a, b = sorted((places[contact.a], places[contact.b]))
            pen.line(a, y + offset, f"h{b - a:g}")
            pen.dot(a, y + offset)
            pen.dot(b, y + offset)
    right = (len(pins) - 1) * style.pitch + 1.6
    _outline(pen, left, right)
    pen.label(label_lines(part, style), right + CLEAR, pen.height / 2)
    return pen.symbol()


def _relay(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, Relay)
    pole = relay_pole(part)
    lines = label_lines(part, style)
    pen = Pen(style)
    pen.height = 2 * LEAD + ZONE + 1.2 + jog_levels(pole) * JOG
    pen.height = max(pen.height, column_height(len(lines), style.size))
    wide = pole_width(pole, PoleView(view.leaning, view.used), style.pitch)
    coil, contact = (wide + style.pitch, 0.0) if view.mirrored else (0.0, style.pitch)
    lever = draw_pole(pen, contact, pole, PoleView(view.leaning, view.used, view.mirrored))
    _coil(pen, part, view, coil)
    reach = 3.0 if view.mirrored is False else -3.0
    y = pen.height / 2
    pen.dash(coil + reach, y, f"h{lever[0] - coil - reach:g}v{lever[1] - y:g}")
    ports = [p.x for p in pen.ports]
    left = min([*(b.left for b in pen.body), *(w.box.left for w in pen.words)]) - 0.8
    right = max([*(b.right for b in pen.body), *(x + 0.7 for x in ports)]) + 0.8
    _outline(pen, left, right)
    pen.label(lines, right + CLEAR, pen.height / 2)
    return pen.symbol()


def _coil(pen: Pen, relay: Relay, view: View, x: float) -> None:
    """The coil with its leads, and what quenches it."""
    top, bottom = ("86", "85") if view.leaning["86"] == "top" else ("85", "86")
    y, half = pen.height / 2, 2.0
    pen.line(x, 0, f"v{y - half:g}m-3 0h6v{2 * half:g}h-6zm3 {2 * half:g}v{y - half:g}")
    pen.port(top, "top", x)
    pen.port(bottom, "bottom", x)
    pen.body.append(Box(x - 3, y - half, x + 3, y + half))
    if relay.suppression == "none":
        return
    side = x - 5.2 if not view.mirrored else x + 5.2
    reach = y - LEAD + 0.3
    pen.line(x, y - reach, f"h{side - x:g}v{2 * reach:g}h{x - side:g}")
    pen.dot(x, y - reach, 0.4)
    pen.dot(x, y + reach, 0.4)
    if relay.suppression == "diode":
        cathode_up = top == "86"
        path = "m0 -1.2l1.3 2.2h-2.6z" if cathode_up else "m0 1.2l1.3 -2.2h-2.6z"
        pen.fills.append(Stroke(side, y, path))
        pen.line(side, y + (-1.2 if cathode_up else 1.2), "m-1.3 0h2.6")
    else:
        pen.fills.append(Stroke(side, y, "m-0.7 -1.9h1.4v3.8h-1.4z"))
    pen.body.append(Box(side - 1.4, y - reach, side + 1.4, y + reach))


Maker = Callable[[Part, View, Style], Symbol]

MAKERS: dict[type[Part], Maker] = {
    **dict.fromkeys(GLYPHS, _two_terminal),
    Splice: _splice,
    Ground: _ground,
    Connector: _cavity,
    ResistorPack: _pack,
    Switch: _switch,
    Relay: _relay,
}
UNKNOWN = set(KINDS.values()) - set(MAKERS)  # the wire: a line, not a symbol
