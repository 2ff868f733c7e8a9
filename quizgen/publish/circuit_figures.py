"""Figures of items: the wiring diagram for a student, and marked for the key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from quizgen.circuit.components import Relay
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.circuit.wire_data import COLOURS, colour_parts
from quizgen.diagram import Drawing, describe_diagram, lay_out
from quizgen.diagram.corner import empty_corner
from quizgen.diagram.svg import paint
from quizgen.diagram.terminal import draw_text
from quizgen.items.item import Item, Origin
from quizgen.publish.key_marks import key_marks
from quizgen.publish.symbol_pictures import symbol_name
from quizgen.publish.view import Figure, Problem, Workbook

ENDLESS_MM = 1e6  # JSON, and so a pack, has no inf
TERMINAL_COLUMNS, WIDE_COLUMNS = 80, 120
DRAWINGS_KEPT = 64  # in memory; the forms of a class share their circuits


@lru_cache(maxsize=DRAWINGS_KEPT)
def drawn(origin: Origin) -> tuple[Circuit, Drawing]:
    """The sound circuit of an item and its laid out diagram."""
    circuit = find_template(origin.template).build(dict(origin.parameters))
    return circuit, lay_out(circuit)


@lru_cache(maxsize=DRAWINGS_KEPT)
def sound_figure(origin: Origin) -> Figure:
    """The wiring diagram of a circuit as it should be."""
    circuit, drawing = drawn(origin)
    wires = [line.wire for line in drawing.lines if line.wire]
    codes = {code for wire in wires for code in colour_parts(wire.colour)}
    return Figure(
        svg=paint(drawing),
        alternative=describe_diagram(circuit),
        colours=tuple(code for code in COLOURS if code in codes),
        symbols=tuple(sorted(_symbols(circuit))),
        corner=_corner(drawing, left=False),
        left_corner=_corner(drawing, left=True),
    )


def _corner(drawing: Drawing, *, left: bool) -> tuple[tuple[float, float], ...]:
    steps = empty_corner(drawing, left=left)
    return tuple((x, min(depth, ENDLESS_MM)) for x, depth in steps)


def _symbols(circuit: Circuit) -> set[str]:
    """Names of the symbols in a diagram, those inside a relay's box included."""
    inside = {part.suppression for part in circuit.parts if isinstance(part, Relay)}
    names = {symbol_name(type(part)) for part in circuit.parts}
    return (names | (inside & {"diode", "resistor"})) - {""}


def figure_of(item: Item) -> Figure:
    """What a student sees of an item's circuit: nothing of its fault."""
    return sound_figure(_sound(item))


def _sound(item: Item) -> Origin:
    """Where the circuit of an item comes from, whatever its fault and its controls."""
    return replace(item.origin, positions=(), fault="")


def with_terminal(book: Workbook, items: Sequence[Item]) -> Workbook:
    """`book`, made from `items`, each figure with its drawing for a terminal."""
    pairs = zip(book.problems, items, strict=True)
    return replace(book, problems=tuple(_with_terminal(problem, item) for problem, item in pairs))


def _with_terminal(problem: Problem, item: Item) -> Problem:
    if problem.figure is None:
        return problem
    circuit, _ = drawn(_sound(item))
    narrow, wide = (draw_text(circuit, columns) for columns in (TERMINAL_COLUMNS, WIDE_COLUMNS))
    figure = replace(
        problem.figure, terminal=narrow.lines, wide_terminal=wide.lines, signs=narrow.signs
    )
    return replace(problem, figure=figure)


def marked_of(item: Item) -> Figure | None:
    """The same figure with what the answer is about marked, and said in words, for the key.

    None where nothing is to be marked: the workbook has that figure, and larger.
    """
    circuit, drawing = drawn(_sound(item))
    found = key_marks(item, circuit)
    if not found.marks:
        return None
    return Figure(
        svg=paint(drawing, found.marks),
        alternative=f"{describe_diagram(circuit)} {found.words}",
        caption=found.words,
    )
