"""Flags: "live at all times" beside the terminal that feeds a circuit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from quizgen.diagram.lettering import Words, column, column_height, text_width, wrap
from quizgen.diagram.pen import CLEAR, Style, on_grid
from quizgen.diagram.symbols import Port, Side, Stroke, Symbol

REACH = 2.6 + CLEAR  # from the lead to the words: the pennant is between
SIDES: tuple[Side, ...] = ("top", "bottom")


def flag_pitch(flags: Mapping[str, str], style: Style) -> float:
    """The least distance between leads that leaves room for the longest word of any flag."""
    longest = max(text_width(w, style.size) for text in flags.values() for w in text.split())
    return 2 * on_grid((REACH + longest + 2 * CLEAR) / 2)


def with_flags(symbol: Symbol, flags: Mapping[str, str], style: Style) -> Symbol:
    """The symbol with flags (terminal → text) beside its leads, which grow to make room.

    A flag lies between its lead and the next one on its right.
    """
    for side in SIDES:
        ports = [p for p in symbol.ports if p.side == side]
        here = {p: _lines(p, ports, flags[p.terminal], style) for p in ports if p.terminal in flags}
        if here:
            symbol = _flagged(symbol, side, here, style)
    return symbol


def _lines(port: Port, ports: list[Port], text: str, style: Style) -> tuple[str, ...]:
    after = min((p.x for p in ports if p.x > port.x), default=port.x + 1000)
    return wrap(text, min(style.name_width * 1.3, after - port.x - REACH - CLEAR), style.size)


def _flagged(
    symbol: Symbol, side: Side, flags: Mapping[Port, tuple[str, ...]], style: Style
) -> Symbol:
    """The symbol with one band of flags added at a side."""
    room = max(column_height(len(lines), style.size) for lines in flags.values()) + 1.0
    shift = room if side == "top" else 0.0
    base = symbol.height
    top = 0.4 if side == "top" else base + 0.8
    leads = [
        Stroke(p.x, 0 if shift else base, f"v{room:g}") for p in symbol.ports if p.side == side
    ]
    pennants = [Stroke(port.x, top + 0.1, "h2.4l-0.9 0.8l0.9 0.8h-2.4z") for port in flags]
    words: list[Words] = []
    for port, lines in flags.items():
        words += column(lines, port.x + REACH, top - 0.2, style.size)
    return replace(
        symbol,
        height=base + room,
        right=max(symbol.right, *(w.box.right for w in words)),
        body=tuple(b.moved(0, shift) for b in symbol.body),
        lines=(*(s.moved(0, shift) for s in symbol.lines), *leads),
        fills=(*(s.moved(0, shift) for s in symbol.fills), *pennants),
        dashes=tuple(s.moved(0, shift) for s in symbol.dashes),
        words=(*(w.moved(0, shift) for w in symbol.words), *words),
    )
