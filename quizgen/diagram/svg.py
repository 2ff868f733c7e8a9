"""Paint a drawing as SVG: few elements, plain attributes, one path per kind of ink.

A wire is a black tube filled with its colour; a second colour runs along it in stripes. The
letters beside it carry the meaning when colours do not. All numbers have at most three
decimals, so that equal drawings are equal texts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from quizgen.circuit.netlist import Circuit
from quizgen.circuit.wire_data import colour_parts
from quizgen.diagram.drawing import Drawing, Line, Point
from quizgen.diagram.layout import lay_out
from quizgen.diagram.lettering import FONT, Box, Words
from quizgen.diagram.marks import Marks, bands, frames
from quizgen.diagram.symbols import Stroke

LONG_NUMBER = re.compile(r"-?\d*\.\d{4,}(?:e-?\d+)?")
INK = 0.32  # line width of symbols, mm
TUBE, CORE = 1.1, 0.75  # wire with its outline, and its coloured inside

PAINT = {
    "BK": "#1a1a1a", "BN": "#8a5a2b", "RD": "#d8322a", "OG": "#f08a24", "YE": "#f7d431",
    "GN": "#2e9b4f", "BU": "#2f6fc4", "VT": "#8450a8", "GY": "#9a9a9a", "WH": "#ffffff",
    "PK": "#f2a0b8", "TQ": "#38b8b0",
}  # fmt: skip


@dataclass(frozen=True)
class MarkInk:
    """How one mark looks: colour, dashes and width of its band (mm), frames around all parts."""

    colour: str
    dashes: str
    width: float
    framed: bool = False


MARK_INK = (  # flowing, dead, faulty
    MarkInk("#8fd0f5", "none", 3.0),
    MarkInk("#7d828a", "0.3 0.8", 2.8),
    MarkInk("#e0007a", "1.8 1", 3.4, framed=True),
)
UNMARKED = Marks()


def draw_svg(circuit: Circuit, *, marks: Marks = UNMARKED) -> str:
    """The wiring diagram of `circuit` as the text of an SVG file, sizes in mm."""
    return paint(lay_out(circuit), marks)


def paint(drawing: Drawing, marks: Marks = UNMARKED) -> str:
    """A drawing as SVG text, with what `marks` names marked."""
    body = [
        *_marks(drawing, marks),
        *_wires(drawing),
        *_symbols(drawing),
        *_texts(drawing.words),
    ]
    size = f'width="{_n(drawing.width)}mm" height="{_n(drawing.height)}mm"'
    box = f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box}>'
    return "\n".join([head, *body, "</svg>", ""])


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _rounded(path: str) -> str:
    """Path data with no number longer than three decimals."""
    return LONG_NUMBER.sub(lambda found: _n(float(found[0])), path)


def _track(points: Iterable[Point]) -> str:
    """A polyline as path data."""
    data, last = "", None
    for x, y in points:
        if last is None:
            data = f"M{_n(x)} {_n(y)}"
        elif x == last[0]:
            data += f"V{_n(y)}"
        elif y == last[1]:
            data += f"H{_n(x)}"
        else:
            data += f"L{_n(x)} {_n(y)}"
        last = (x, y)
    return data


def _path(data: str, **attributes: str) -> str:
    rest = "".join(f' {k.replace("_", "-")}="{v}"' for k, v in attributes.items())
    return f'<path d="{data}"{rest}/>'


def _marks(drawing: Drawing, marks: Marks) -> list[str]:
    """Bands and frames, the fault on top of what is dead, that on top of what flows."""
    out = []
    for ids, ink in zip((marks.flowing, marks.dead, marks.faulty), MARK_INK, strict=True):
        shape = {"fill": "none", "stroke": ink.colour, "stroke_dasharray": ink.dashes}
        if tracks := "".join(map(_track, bands(drawing, ids))):
            out.append(_path(tracks, **shape, stroke_width=_n(ink.width), stroke_linejoin="round"))
        boxes = frames(drawing, ids, all_parts=ink.framed)
        if data := "".join(map(_frame, boxes)):
            out.append(_path(data, **shape, stroke_width=_n(ink.width / 2)))
    return out


def _frame(box: Box) -> str:
    wide, high = _n(box.right - box.left), _n(box.bottom - box.top)
    return f"M{_n(box.left)} {_n(box.top)}h{wide}v{high}h-{wide}z"


def _wires(drawing: Drawing) -> list[str]:
    wires = [k for k in drawing.lines if k.wire is not None]
    plain = [k for k in drawing.lines if k.wire is None]
    out = []
    if wires:
        out.append(_stroke(wires, "#000", TUBE))
    for code, shade in PAINT.items():
        same = [k for k in wires if k.wire and colour_parts(k.wire.colour)[0] == code]
        if same:
            out.append(_stroke(same, shade, CORE))
    for code, shade in PAINT.items():
        striped = [k for k in wires if k.wire and colour_parts(k.wire.colour)[1:] == (code,)]
        if striped:
            out.append(_stroke(striped, shade, CORE, stroke_dasharray="1.2 1.8"))
    if plain:
        out.append(_stroke(plain, "#000", INK, stroke_linecap="square"))
    return out


def _stroke(lines: list[Line], colour: str, width: float, **more: str) -> str:
    data = "".join(_track(k.points) for k in lines)
    return _path(data, fill="none", stroke=colour, stroke_width=_n(width),
                 stroke_linejoin="round", **more)  # fmt: skip


def _symbols(drawing: Drawing) -> list[str]:
    def data(kind: str) -> str:
        found = []
        for p in drawing.placed:
            strokes: tuple[Stroke, ...] = getattr(p.symbol, kind)
            found += [f"M{_n(p.x + s.x)} {_n(p.y + s.y)}{_rounded(s.path)}" for s in strokes]
        return "".join(found)

    out = []
    ink = {"fill": "none", "stroke": "#000", "stroke_width": _n(INK)}
    if lines := data("lines"):
        out.append(_path(lines, **ink, stroke_linejoin="round", stroke_linecap="round"))
    dashes = data("dashes") + "".join(_track(pair) for pair in drawing.links)
    if dashes:
        out.append(_path(dashes, **{**ink, "stroke_width": "0.2"}, stroke_dasharray="1 0.7"))
    dots = "".join(
        f"M{_n(x)} {_n(y)}m-0.6 0a0.6 0.6 0 0 1 1.2 0a0.6 0.6 0 0 1 -1.2 0z"
        for x, y in drawing.dots
    )
    if fills := data("fills") + dots:
        out.append(_path(fills, fill="#000"))
    return out


def _texts(words: Iterable[Words]) -> list[str]:
    out = []
    groups: dict[tuple[float, bool, str], list[Words]] = {}
    for w in words:
        groups.setdefault((w.size, w.bold, w.anchor), []).append(w)
    for (size, bold, anchor), members in groups.items():
        weight = ' font-weight="bold"' if bold else ""
        place = "" if anchor == "start" else f' text-anchor="{anchor}"'
        out.append(f'<g font-family="{FONT}" font-size="{_n(size)}"{weight}{place}>')
        for w in members:
            x, y = _n(w.x), _n(w.y)
            spin = f' transform="rotate(-90 {x} {y})"' if w.turned else ""
            out.append(f'<text x="{x}" y="{y}"{spin}>{escape(w.text)}</text>')
        out.append("</g>")
    return out
