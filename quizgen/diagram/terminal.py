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
from quizgen.diagram.text_compose import Pin, Tag
from quizgen.diagram.text_layout import Plan, set_out
from quizgen.diagram.text_lists import part_list, sign_list, wire_list

LEAST_COLUMNS = 60


@dataclass(frozen=True)
class TextDrawing:
    """A wiring diagram in characters.

    `pins`, `tags` and `words` say where terminals, codes of wires, and all signs and words stand
    in `lines`; `signs`, `parts` and `wires` are the lists that belong below.
    """

    lines: tuple[str, ...]
    signs: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    pins: tuple[Pin, ...] = ()
    tags: tuple[Tag, ...] = ()
    words: tuple[Text, ...] = ()

    @property
    def page(self) -> tuple[str, ...]:
        """The drawing and its lists, with an empty line between."""
        lists = [found for found in (self.signs, self.parts, self.wires) if found]
        return (*self.lines, *(line for found in lists for line in ("", *found)))


def draw_text(circuit: Circuit, columns: int = 80, *, ascii_only: bool = False) -> TextDrawing:
    """The wiring diagram of `circuit` with at most `columns` characters a line.

    Drawings are kept in memory, so that asking again costs nothing. Raises InputError for less
    than 60 columns, and as `lay_out` does.
    """
    if columns < LEAST_COLUMNS:
        raise InputError(f"{columns} columns: a diagram needs {LEAST_COLUMNS} or more")
    drawing = _drawn(circuit, repr(circuit.layout), columns)  # equal whatever their hints
    return _in_ascii(drawing) if ascii_only else drawing


def _in_ascii(drawing: TextDrawing) -> TextDrawing:
    return replace(
        drawing,
        lines=tuple(map(plain, drawing.lines)),
        signs=tuple(map(plain, drawing.signs)),
        parts=tuple(map(plain, drawing.parts)),
        wires=tuple(map(plain, drawing.wires)),
        words=tuple(replace(w, text=plain(w.text)) for w in drawing.words),
    )


@lru_cache(maxsize=64)
def _plan(circuit: Circuit, hints: str) -> Plan:
    return Plan(circuit)


@lru_cache(maxsize=128)
def _drawn(circuit: Circuit, hints: str, columns: int) -> TextDrawing:
    sheet = set_out(_plan(circuit, hints), columns)
    return TextDrawing(
        lines=sheet.lines,
        signs=sign_list(circuit, columns),
        parts=part_list(circuit, columns),
        wires=wire_list(circuit, columns),
        pins=sheet.pins,
        tags=sheet.tags,
        words=sheet.words,
    )
