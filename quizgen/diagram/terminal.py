"""Wiring diagrams in characters, for a terminal.

The drawing has the layout of the one on paper: supply at the top, ground at the bottom, every
load in its own column. It never has a line longer than asked for. Below it come a list of wires
and one of parts, which say in full what the drawing has no room for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from quizgen.base.errors import InputError
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.characters import Text, plain
from quizgen.diagram.text_compose import Pin, Sheet, Tag
from quizgen.diagram.text_layout import Plan, set_out

LEAST_COLUMNS = 60


@dataclass(frozen=True)
class TextDrawing:
    """A wiring diagram in characters.

    `pins`, `tags` and `words` say where terminals, codes of wires, and all signs and words stand
    in `lines`.
    """

    lines: tuple[str, ...]
    pins: tuple[Pin, ...] = ()
    tags: tuple[Tag, ...] = ()
    words: tuple[Text, ...] = ()


def draw_text(circuit: Circuit, columns: int = 80, *, ascii_only: bool = False) -> TextDrawing:
    """The wiring diagram of `circuit` with at most `columns` characters a line.

    Drawings are kept in memory, so that asking again costs nothing. Raises InputError for less
    than 60 columns, and as `lay_out` does.
    """
    if columns < LEAST_COLUMNS:
        raise InputError(f"{columns} columns: a diagram needs {LEAST_COLUMNS} or more")
    sheet = _sheet(circuit, repr(circuit.layout), columns)
    lines, words = sheet.lines, sheet.words
    if ascii_only:
        lines = tuple(map(plain, lines))
        words = tuple(replace(w, text=plain(w.text)) for w in words)
    return TextDrawing(lines, sheet.pins, sheet.tags, words)


@lru_cache(maxsize=64)
def _plan(circuit: Circuit, hints: str) -> Plan:
    return Plan(circuit)


@lru_cache(maxsize=128)
def _sheet(circuit: Circuit, hints: str, columns: int) -> Sheet:
    return set_out(_plan(circuit, hints), columns)
