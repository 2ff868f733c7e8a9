"""Parts with two terminals: upright in the run of the current, or lying across it."""

from __future__ import annotations

from quizgen.circuit.components import Part
from quizgen.diagram.lettering import Box, Words, column_height, text_width
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style, on_grid
from quizgen.diagram.symbols import GLYPHS, Glyph, Symbol, lying, upside_down
from quizgen.diagram.view import View, label_lines


def two_terminal(part: Part, view: View, style: Style) -> Symbol:
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
    reach = on_grid(max(glyph.height / 2 + 1.5, style.pitch / 2))
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
