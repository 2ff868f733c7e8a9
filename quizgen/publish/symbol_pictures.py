"""Pictures of the symbols that a legend explains, drawn by the hand that draws the diagrams.

Parts with two terminals come from the table of glyphs. Of the others a small circuit is laid
out, and its symbols are taken without their words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from quizgen.circuit.components import (
    Battery,
    Connector,
    Contact,
    Ground,
    Lamp,
    LedLamp,
    Part,
    Relay,
    Splice,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import CHASSIS, Circuit, Control
from quizgen.diagram import lay_out
from quizgen.diagram.symbols import GLYPHS, Glyph, Stroke, Symbol
from quizgen.publish.figure import data_address

LEAD = 1.6  # mm of conductor above and below a symbol
INK, THIN = 0.32, 0.2  # mm
EDGE = 0.5  # mm around a symbol
NAMES: dict[type[Part], str] = {
    LedLamp: "LED lamp",
    Switch: "switch",
    Relay: "relay",
    Connector: "connector",
    Splice: "splice",
    Ground: "ground point",
}


@dataclass(frozen=True)
class SymbolKey:
    """A symbol as a picture, its size in mm, and its name."""

    name: str
    address: str
    width: float
    height: float


def symbol_name(part: type[Part]) -> str:
    """What the legend calls a kind of part; "" for one that is a box with its name beside it.

    >>> from quizgen.circuit.components import FusibleLink
    >>> symbol_name(FusibleLink)
    'fusible link'
    """
    if part in NAMES:
        return NAMES[part]
    if part not in GLYPHS:
        return ""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", part.__name__).lower()


@cache
def symbol_keys() -> tuple[SymbolKey, ...]:
    """All symbols that a legend can explain, in its order."""
    drawn = {p.part: p.symbol for p in lay_out(_sample()).placed}
    glyphs = [_of_glyph(symbol_name(part), glyph) for part, glyph in GLYPHS.items()]
    others = [_of_symbol(symbol_name(type(p)), drawn[p.id]) for p in _parts() if type(p) in _DRAWN]
    return (*glyphs, *others)


_DRAWN = (Switch, Relay, Connector, Splice, Ground)


def _sample() -> Circuit:
    """One of each part that has no glyph."""
    pairs = [
        ("GB1.+", "XS1"), ("XS1", "S1.1"), ("S1.2", "K1.86"), ("XS1", "K1.30"), ("K1.85", "G1"),
        ("K1.87", "X1.1a"), ("X1.1b", "E1.1"), ("E1.2", "G1"), ("GB1.-", "G1"),
    ]  # fmt: skip
    wires = (
        Wire(id=f"W{n}", nodes=ends, colour="RD", mm2=1.5, metres=1.0)
        for n, ends in enumerate(pairs, 1)
    )
    control = Control(name="S1", positions=("off", "on"), rest="off")
    return Circuit(
        name="legend", title="", system_volts=12, parts=(*_parts(), *wires), controls=(control,)
    )


def _parts() -> tuple[Part, ...]:
    pins = ("1", "2")
    return (
        Battery(id="GB1", nodes=("GB1.+", "GB1.-"), emf_volts=12.6),
        Switch(
            id="S1", nodes=("S1.1", "S1.2"), pins=pins, positions=("off", "on"),
            closes=((), (Contact(a="1", b="2"),)), control="S1",
        ),
        Relay(id="K1", nodes=("K1.86", "K1.85", "K1.30", "K1.87"), contact="make"),
        Connector(id="X1", nodes=("X1.1a", "X1.1b"), cavities=("1",), cavity_ohm=(0.003,)),
        Splice(id="XS1", nodes=("XS1",)),
        Ground(id="G1", nodes=("G1", CHASSIS)),
        Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=5, volts=13.5),
    )  # fmt: skip


def _of_symbol(name: str, symbol: Symbol) -> SymbolKey:
    """The ink of a whole symbol, without terminal numbers and names."""
    left = min([*(b.left for b in symbol.body), *(p.x for p in symbol.ports)]) - EDGE
    right = max([*(b.right for b in symbol.body), *(p.x for p in symbol.ports)]) + EDGE
    lines, dashes, fills = (
        _data(strokes, -left, 0.0) for strokes in (symbol.lines, symbol.dashes, symbol.fills)
    )
    return _picture(name, right - left, symbol.height, lines, fills, dashes)


def _of_glyph(name: str, glyph: Glyph) -> SymbolKey:
    width, height = 2 * (glyph.half + EDGE), glyph.height + 2 * LEAD
    middle, foot = width / 2, LEAD + glyph.height
    leads = f"M{middle:g} 0V{LEAD:g}M{middle:g} {foot:g}V{height:g}"
    letter = (
        f'<text x="{middle:g}" y="{height / 2 + 1.15:g}" font-size="3.2" text-anchor="middle" '
        f'font-family="Atkinson Hyperlegible">{glyph.letter}</text>'
        if glyph.letter
        else ""
    )
    lines = leads + _data(glyph.lines, middle, LEAD)
    return _picture(name, width, height, lines, _data(glyph.fills, middle, LEAD), letter=letter)


def _data(strokes: tuple[Stroke, ...], x: float, y: float) -> str:
    return "".join(f"M{x + s.x:.3f} {y + s.y:.3f}{s.path}" for s in strokes)


def _picture(
    name: str, width: float, height: float, lines: str, fills: str, dashes: str = "",
    letter: str = "",
) -> SymbolKey:  # fmt: skip
    dashed = (
        f'<path d="{dashes}" fill="none" stroke="#000" stroke-width="{THIN}" '
        'stroke-dasharray="1 0.7"/>'
        if dashes
        else ""
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">'
        f'<path d="{lines}" fill="none" stroke="#000" stroke-width="{INK}"/>{dashed}'
        f'<path d="{fills}" fill="#000"/>{letter}</svg>'
    )
    return SymbolKey(name, data_address(svg), round(width, 2), round(height, 2))
