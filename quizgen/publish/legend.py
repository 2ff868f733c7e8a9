"""The legend of a workbook: only what its figures and questions use."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from quizgen.circuit.components import LedLamp, Part
from quizgen.circuit.wire_data import COLOURS
from quizgen.diagram.symbols import GLYPHS, Glyph, Stroke
from quizgen.publish.figure import data_address
from quizgen.publish.view import Problem, Workbook

# What to look for in the text, and what to remember about that instrument. Common practice of
# the trade, no source; the order is that of the legend.
INSTRUMENTS = (
    (r"voltmeter", "Voltmeter: reads the voltage between its two leads; across, never in series."),
    (
        r"(?<!self-powered )test lamp",
        "Test lamp: draws a current; the rest must feed it.",
    ),
    (
        r"ohmmeter",
        "Ohmmeter: only on a dead circuit; the part cut off. OL: no way.",
    ),
    (r"self-powered test lamp", "Self-powered test lamp: only on a dead circuit."),
    (r"clamp", "Clamp: around one wire; reads the current in it."),
    (r"jumper", "Jumper wire: fused, and never from supply to ground."),
)
LEAD = 1.6  # mm of conductor above and below a symbol
INK = 0.32  # mm


@dataclass(frozen=True)
class SymbolKey:
    """A symbol as a picture, its size in mm, and its name."""

    name: str
    address: str
    width: float
    height: float


@dataclass(frozen=True)
class Legend:
    """Symbols, colour codes with their names, and reminders about instruments."""

    symbols: tuple[SymbolKey, ...]
    colours: tuple[tuple[str, str], ...]
    instruments: tuple[str, ...]


def legend_of(book: Workbook) -> Legend:
    """What the figures and the texts of `book` use, each in a fixed order."""
    figures = [problem.figure for problem in book.problems if problem.figure]
    kinds = {kind for figure in figures for kind in figure.symbols}
    codes = {code for figure in figures for code in figure.colours}
    texts = "\n".join(_text(problem) for problem in book.problems).lower()
    return Legend(
        symbols=tuple(key for key in _symbol_keys() if key.name in kinds),
        colours=tuple((code, name) for code, name in COLOURS.items() if code in codes),
        instruments=tuple(words for look, words in INSTRUMENTS if re.search(look, texts)),
    )


def symbol_name(part: type[Part]) -> str:
    """What the legend calls a kind of part; "" for one that it does not show.

    >>> from quizgen.circuit.components import FusibleLink
    >>> symbol_name(FusibleLink)
    'fusible link'
    """
    if part not in GLYPHS:
        return ""
    if part is LedLamp:
        return "LED lamp"
    return re.sub(r"(?<!^)(?=[A-Z])", " ", part.__name__).lower()


def _text(problem: Problem) -> str:
    table = problem.readings
    found = [table.shared, *(cell for row in table.rows for cell in row)] if table else []
    options = (choice.text for choice in problem.choices)
    return "\n".join([*problem.stem, problem.question, *options, *found])


@cache
def _symbol_keys() -> tuple[SymbolKey, ...]:
    return tuple(_symbol_key(symbol_name(part), glyph) for part, glyph in GLYPHS.items())


def _symbol_key(name: str, glyph: Glyph) -> SymbolKey:
    width, height = 2 * glyph.half + 1.0, glyph.height + 2 * LEAD
    middle, foot = width / 2, LEAD + glyph.height

    def data(strokes: tuple[Stroke, ...]) -> str:
        return "".join(f"M{middle + s.x:g} {LEAD + s.y:g}{s.path}" for s in strokes)

    leads = f"M{middle:g} 0V{LEAD:g}M{middle:g} {foot:g}V{height:g}"
    letter = (
        f'<text x="{middle:g}" y="{height / 2 + 1.15:g}" font-size="3.2" text-anchor="middle" '
        f'font-family="Atkinson Hyperlegible">{glyph.letter}</text>'
        if glyph.letter
        else ""
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">'
        f'<path d="{leads}{data(glyph.lines)}" fill="none" stroke="#000" stroke-width="{INK}"/>'
        f'<path d="{data(glyph.fills)}" fill="#000"/>{letter}</svg>'
    )
    return SymbolKey(name, data_address(svg), round(width, 2), round(height, 2))
