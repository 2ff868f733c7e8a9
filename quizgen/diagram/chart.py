"""Chart of a switch that has no plain poles: columns of terminals, rows of positions.

In each row a line joins the terminals that the position joins, with a dot at each.
"""

from __future__ import annotations

import networkx as nx

from quizgen.circuit.components import Contact, Switch
from quizgen.diagram.lettering import Words, column_height, text_width
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style
from quizgen.diagram.symbols import Symbol
from quizgen.diagram.view import View, label_lines

APART = 1.25  # between the lines of one row, mm


def joined(contacts: tuple[Contact, ...], pins: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Terminals that the contacts of one position join, in the order of `pins`."""
    graph: nx.Graph[str] = nx.Graph([(c.a, c.b) for c in contacts])
    groups = [tuple(p for p in pins if p in group) for group in nx.connected_components(graph)]
    return sorted(groups, key=lambda group: pins.index(group[0]))


def chart(part: Switch, view: View, style: Style) -> Symbol:
    """The switch as a box with its chart in it."""
    pins = part.pins[::-1] if view.mirrored else part.pins
    groups = [joined(contacts, pins) for contacts in part.closes]
    rows = [max(style.size * 1.45, APART * (len(g) + 1)) for g in groups]
    pen = Pen(style)
    lines = label_lines(part, style)
    pen.height = max(2 * LEAD + sum(rows), column_height(len(lines), style.size))
    places = {pin: i * style.pitch for i, pin in enumerate(pins)}
    for pin, x in places.items():
        down = view.leaning[pin] == "top"
        pen.line(x, 0 if down else pen.height, f"v{(pen.height - LEAD) * (1 if down else -1):g}")
        pen.port(pin, view.leaning[pin], x)
    names = max(text_width(p, style.size, bold=True) for p in part.positions)
    left = -names - 2 * CLEAR - 1.0
    y = LEAD
    for i, (position, found) in enumerate(zip(part.positions, groups, strict=True)):
        middle = y + rows[i] / 2
        base = middle + 0.36 * style.size
        pen.words.append(Words(position, left + CLEAR, base, style.size, bold=i == view.rest))
        _join(pen, middle, found, places)
        y += rows[i]
    right = (len(pins) - 1) * style.pitch + 1.6
    pen.outline(left, right)
    pen.label(lines, right + CLEAR, pen.height / 2)
    return pen.symbol()


def _join(pen: Pen, middle: float, groups: list[tuple[str, ...]], places: dict[str, float]) -> None:
    """The lines of one row."""
    for k, group in enumerate(groups):
        level = middle + (k - (len(groups) - 1) / 2) * APART
        xs = [places[pin] for pin in group]
        pen.line(xs[0], level, f"h{xs[-1] - xs[0]:g}")
        for x in xs:
            pen.dot(x, level)
