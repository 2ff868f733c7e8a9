"""The diagram during a hunt: the whole, or as much around a part as the screen has room for."""

from __future__ import annotations

import re

from quizgen.circuit.netlist import Circuit
from quizgen.diagram.describe import describe_diagram
from quizgen.diagram.terminal import LEAST_COLUMNS, TextDrawing, draw_text
from quizgen.drill.hunt.words import say
from quizgen.drill.page import Block, Entry, Page, Para
from quizgen.drill.question import Picture

WHOLE = "all"
BESIDE = 5  # lines of the screen that the drawing leaves free
FEWEST_ROWS = 8
WIDEST = 160


def look_page(
    circuit: Circuit, words: tuple[str, ...], columns: int, rows: int, no_boxes: bool, plain: bool
) -> Page:
    """The diagram, or the part of it around what `words` name."""
    name = words[0] if words and words[0].lower() != WHOLE else ""
    if plain:
        return _in_words(circuit, name)
    if columns < LEAST_COLUMNS:
        told = Para(say("look_wide", columns=LEAST_COLUMNS, have=columns))
        return (told, *_in_words(circuit, name))
    drawing = draw_text(circuit, min(columns, WIDEST), ascii_only=no_boxes)
    room = max(rows - BESIDE, FEWEST_ROWS)
    if (words and not name) or len(drawing.lines) <= room:
        return (_drawn(drawing.lines),)
    line = _line_of(drawing, name) if name else 0
    if line is None:
        return (Para(say("look_none", name=name)),)
    first = min(max(line - room // 2, 0), len(drawing.lines) - room)
    shown = drawing.lines[first : first + room]
    where = say("look_part", first=first + 1, last=first + room, all=len(drawing.lines))
    return (_drawn(shown), Para(where))


def _drawn(lines: tuple[str, ...]) -> Picture:
    return Picture(svg="", spoken="", narrow=lines)


def _line_of(drawing: TextDrawing, name: str) -> int | None:
    """The middle line of what is called `name`; None if the drawing has no such name."""
    head = name.partition(".")[0]
    lines = [pin.line for pin in drawing.pins if pin.name.partition(".")[0] == head]
    lines = lines or [tag.line for tag in drawing.tags if tag.wire == head]
    lines = lines or [n for n, line in enumerate(drawing.lines) if head in line.split()]
    return (min(lines) + max(lines)) // 2 if lines else None


def _in_words(circuit: Circuit, name: str) -> Page:
    lines = describe_diagram(circuit).splitlines()
    head = name.partition(".")[0]
    kept = [line for line in lines if not head or head in re.findall(r"\w+", line)]
    blocks: list[Block] = [Entry("-", line) for line in kept]
    return tuple(blocks) or (Para(say("look_none", name=name)),)
