"""Flags: "live at all times" beside the terminal that feeds a circuit."""

from __future__ import annotations

from dataclasses import replace

from quizgen.diagram.lettering import column, column_height, wrap
from quizgen.diagram.pen import CLEAR, Style
from quizgen.diagram.symbols import Port, Stroke, Symbol


def with_flag(symbol: Symbol, terminal: str, text: str, style: Style) -> Symbol:
    """The symbol with a flag beside the lead of `terminal`, which grows to make room."""
    port = next((p for p in symbol.ports if p.terminal == terminal), None)
    if port is None:
        return symbol
    lines = wrap(text, style.name_width * 1.3, style.size)
    room = column_height(len(lines), style.size) + 0.8
    shift = room if port.side == "top" else 0.0
    base = symbol.height
    moved = replace(
        symbol,
        height=base + room,
        body=tuple(b.moved(0, shift) for b in symbol.body),
        lines=tuple(s.moved(0, shift) for s in symbol.lines),
        fills=tuple(s.moved(0, shift) for s in symbol.fills),
        dashes=tuple(s.moved(0, shift) for s in symbol.dashes),
        words=tuple(w.moved(0, shift) for w in symbol.words),
    )
    leads = tuple(_longer(p, shift, base, room) for p in symbol.ports if _grows(p, port))
    top = 0.4 if port.side == "top" else base + 0.4
    pennant = Stroke(port.x, top + 0.1, "h2.4l-0.9 0.8l0.9 0.8h-2.4z")
    words = column(lines, port.x + 2.6 + CLEAR, top - 0.2, style.size)
    right = max(symbol.right, *(w.box.right for w in words))
    return replace(
        moved,
        right=right,
        lines=(*moved.lines, *leads),
        fills=(*moved.fills, pennant),
        words=(*moved.words, *words),
    )


def _grows(port: Port, flagged: Port) -> bool:
    return port.side == flagged.side


def _longer(port: Port, shift: float, base: float, room: float) -> Stroke:
    return Stroke(port.x, 0 if shift else base, f"v{room:g}")
