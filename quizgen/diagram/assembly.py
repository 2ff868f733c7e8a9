"""Symbols of whole parts: glyph or contacts, leads, terminal numbers, code and name.

Which way a terminal leaves its part (towards the supply or towards ground) is decided by
the circuit, so a symbol is made for a part *and* a view of it. `MAKERS` is keyed by
component class and covers every class except the wire, which is a line and not a symbol.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from quizgen.circuit.components import (
    Alternator,
    Connector,
    Flasher,
    Ground,
    Part,
    Relay,
    ResistorPack,
    Splice,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)
from quizgen.diagram import devices, pairs, points
from quizgen.diagram.chart import chart
from quizgen.diagram.contacts import (
    JOG,
    ZONE,
    Pole,
    PoleView,
    acts_when,
    draw_pole,
    jog_levels,
    pole_width,
    poles_of,
    relay_pole,
)
from quizgen.diagram.flags import flag_pitch, with_flags
from quizgen.diagram.lettering import ASCENT, Box, Words, column_height, wrap
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style
from quizgen.diagram.symbols import GLYPHS, Side, Stroke, Symbol
from quizgen.diagram.view import View, label_lines, number


@dataclass(frozen=True)
class PaperHand:
    """Draws symbols for paper, in one style."""

    style: Style

    def part(self, part: Part, view: View, flags: Mapping[str, str]) -> Symbol:
        """The symbol of a part with its flags."""
        style = self.style
        if flags and len(part.terminals) > 2:
            style = replace(style, pitch=max(style.pitch, flag_pitch(flags, style)))
        return with_flags(make_symbol(part, view, style), flags, style)

    def frame(self, text: str) -> Symbol:
        """The mark of the frame."""
        return points.frame_symbol(self.style, text, "31")

    def rail(self) -> Symbol:
        """The head of a rail."""
        return points.rail_symbol(self.style, "+")

    def joint(self, sides: frozenset[Side]) -> Symbol:
        """A joint without a code."""
        return points.node_symbol(self.style, "", sides, terminal="1")


def make_symbol(part: Part, view: View, style: Style) -> Symbol:
    """The symbol of `part` in this view."""
    return MAKERS[type(part)](part, view, style)


def _pack(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, ResistorPack)
    taps = part.terminals[::-1] if view.mirrored else part.terminals
    ohms = part.ohms[::-1] if view.mirrored else part.ohms
    pen = Pen(style)
    lines = label_lines(part, style)
    pen.height = max(2 * LEAD + 3.0 + style.size, column_height(len(lines), style.size))
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
    pen.outline(-4.0, last + 2.0)
    pen.label(lines, last + 2 + CLEAR, pen.height / 2)
    return pen.symbol()


def _switch(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, Switch)
    poles = poles_of(part, view.rest)
    acts = acts_when(part, view.rest)
    lines = (*label_lines(part, style), *wrap(acts, style.name_width, style.size))
    if poles is None or not poles:
        return chart(part, view, style)
    pen = Pen(style)
    levels = max(jog_levels(p) for p in poles)
    pen.height = max(2 * LEAD + ZONE + levels * JOG, column_height(len(lines), style.size))
    levers = _draw_poles(pen, 0.0, poles, view)
    _gang(pen, part, levers)
    boxed = len(part.pins) > 2
    right = max([*(b.right for b in pen.body), *(p.x for p in pen.ports)]) + 1.5
    left = min([*(b.left for b in pen.body), *(w.box.left for w in pen.words)]) - 0.8
    right = max([right, *(w.box.right + 0.8 for w in pen.words)])
    if boxed:
        pen.outline(left, right, dashed=True)
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
        x += pole_width(pole, seen, pen.style) + pen.style.pitch
    return levers


_ACTUATORS = {
    "toggle": "m0 -1.3v2.6",
    "push": "m0.9 -1.3h-0.9v2.6h0.9",
    "rotary": "m0.8 -1.3c-1.4 0.4 -1.4 2.2 0 2.6",
    "door": "m-0.7 0a0.7 0.7 0 0 1 1.4 0a0.7 0.7 0 0 1 -1.4 0z",
    "level": "m-1.2 0c0 -1.4 1.2 -1.4 1.2 0c0 1.4 -1.2 1.4 -1.2 0z",
}
SIZE = 2.6  # of letters, mm, that the boxes are made for
_ACTUATOR_LETTERS = {"pressure": "p", "temperature": "ϑ"}


def _gang(pen: Pen, part: Switch, levers: list[tuple[float, float]]) -> None:
    """The dashed line that moves all levers together, and what moves it."""
    y = levers[0][1]
    start = levers[0][0] - 3.2
    letter = _ACTUATOR_LETTERS.get(part.style, "")
    wide, half = 1.0, 1.6
    if letter:  # in a box that grows with it
        grown = max(1.0, pen.style.size / SIZE)
        wide, half = 2.8 * grown, half * grown
        pen.line(start, y, f"m{-wide:g} {-half:g}h{wide:g}v{2 * half:g}h{-wide:g}z")
        pen.words.append(Words(letter, start - wide / 2, y + 0.9 * grown, pen.style.size, "middle"))
    else:
        pen.line(start, y, _ACTUATORS[part.style])
    pen.dash(start, y, f"h{levers[-1][0] - start:g}")
    pen.body.append(Box(start - wide, y - half, start + 1, y + half))


def _relay(part: Part, view: View, style: Style) -> Symbol:
    assert isinstance(part, Relay)
    pole = relay_pole(part)
    lines = label_lines(part, style)
    pen = Pen(style)
    pen.height = 2 * LEAD + ZONE + 1.2 + jog_levels(pole) * JOG
    pen.height = max(pen.height, column_height(len(lines), style.size))
    wide = pole_width(pole, PoleView(view.leaning, view.used), style)
    coil, contact = (wide + style.pitch, 0.0) if view.mirrored else (0.0, style.pitch)
    lever = draw_pole(pen, contact, pole, PoleView(view.leaning, view.used, view.mirrored))
    _coil(pen, part, view, coil)
    reach = 3.0 if view.mirrored is False else -3.0
    y = pen.height / 2
    pen.dash(coil + reach, y, f"h{lever[0] - coil - reach:g}v{lever[1] - y:g}")
    ports = [p.x for p in pen.ports]
    left = min([*(b.left for b in pen.body), *(w.box.left for w in pen.words)]) - 0.8
    right = max([*(b.right for b in pen.body), *(x + 0.7 for x in ports)]) + 0.8
    pen.outline(left, right)
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
    if relay.timer:  # slow to release: one end of the coil is filled
        pen.fills.append(Stroke(x, y - half, f"m-3 0h1.5v{2 * half:g}h-1.5z"))
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
    **dict.fromkeys(GLYPHS, pairs.two_terminal),
    Splice: points.splice,
    Ground: points.ground,
    Connector: points.cavity,
    Alternator: devices.alternator,
    TwoSpeedMotor: devices.two_speed_motor,
    Flasher: devices.flasher,
    StarterSolenoid: devices.starter_solenoid,
    ResistorPack: _pack,
    Switch: _switch,
    Relay: _relay,
}
