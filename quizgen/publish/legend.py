"""The legend of a workbook: only what its figures and questions use."""

from __future__ import annotations

import re
from dataclasses import dataclass

from quizgen.circuit.wire_data import COLOURS
from quizgen.publish.symbol_pictures import SymbolKey, symbol_keys
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
        symbols=tuple(key for key in symbol_keys() if key.name in kinds),
        colours=tuple((code, name) for code, name in COLOURS.items() if code in codes),
        instruments=tuple(words for look, words in INSTRUMENTS if re.search(look, texts)),
    )


def _text(problem: Problem) -> str:
    table = problem.readings
    found = [table.shared, *(cell for row in table.rows for cell in row)] if table else []
    options = (choice.text for choice in problem.choices)
    return "\n".join([*problem.stem, problem.question, *options, *found])
