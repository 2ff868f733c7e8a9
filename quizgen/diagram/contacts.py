"""Contacts of switches and relays: poles with one common, or a chart of positions.

A *pole* has a common terminal and throws; at any time at most one throw is joined to the
common. A switch that cannot be taken apart into such poles is drawn as a chart: a column
per terminal, a row per position, dots joined where the position joins terminals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from quizgen.circuit.components import Relay, Switch
from quizgen.diagram.lettering import ASCENT, DESCENT, Box, Words, text_width
from quizgen.diagram.pen import CLEAR, LEAD, Pen, Style, on_grid
from quizgen.diagram.symbols import Side

ZONE = 5.0  # height of the moving contact
STUDS = 4.0  # between the studs of neighbouring throws
JOG = 1.3  # between leads that run sideways inside a symbol
ACTING = ("pressure", "temperature", "door", "level")  # moved by the machine, not by a hand
SPARE = 6.5  # pitch of a terminal that nothing is connected to


@dataclass(frozen=True)
class Pole:
    """One moving contact. `closed` is the throw joined at rest, or empty."""

    common: str
    throws: tuple[str, ...]
    closed: str = ""
    named: tuple[tuple[str, str], ...] = ()  # (throw, the positions that close it)


def poles_of(switch: Switch, rest: int) -> tuple[Pole, ...] | None:
    """The poles of a switch, in the order of its pins, or None when it needs a chart."""
    graph: nx.Graph[str] = nx.Graph()
    graph.add_edges_from((c.a, c.b) for c in switch.contacts)
    poles = []
    if set(graph) != set(switch.pins):
        return None  # a pin without a contact has no place in a pole
    for pins in nx.connected_components(graph):
        pole = _pole(switch, rest, [p for p in switch.pins if p in pins], graph)
        if pole is None:
            return None
        poles.append(pole)
    return tuple(sorted(poles, key=lambda p: min(map(switch.pins.index, (p.common, *p.throws)))))


def _pole(switch: Switch, rest: int, pins: list[str], graph: nx.Graph[str]) -> Pole | None:
    degree = dict(graph.degree(pins))
    common = max(pins, key=lambda p: degree[p])
    throws = tuple(p for p in pins if p != common)
    if any(degree[p] != 1 for p in throws):
        return None
    closing: dict[str, list[str]] = {t: [] for t in throws}
    for position, row in zip(switch.positions, switch.closes, strict=True):
        here = [t for t in throws if any({c.a, c.b} == {common, t} for c in row)]
        if len(here) > 1:
            return None
        for t in here:
            closing[t].append(position)
    closed = next((t for t in throws if switch.positions[rest] in closing[t]), "")
    named = tuple((t, ", ".join(closing[t])) for t in throws if closing[t] != [t])
    several = len(throws) > 1 or len(switch.positions) > 2
    return Pole(common, throws, closed, named if several else ())


def acts_when(switch: Switch, rest: int) -> str:
    """What makes a two-pin switch move that no hand moves: "closes when hot"."""
    if switch.style not in ACTING or len(switch.pins) != 2:
        return ""
    at_rest = bool(switch.closes[rest])
    other = [
        p for p, row in zip(switch.positions, switch.closes, strict=True) if bool(row) != at_rest
    ]
    return f"{'opens' if at_rest else 'closes'} when {' or '.join(other)}" if other else ""


def relay_pole(relay: Relay) -> Pole:
    """The contact of a relay, at rest."""
    throws = tuple(t for t in relay.terminals if t in ("87", "87a"))
    return Pole("30", throws, "87a" if "87a" in throws else "")


@dataclass(frozen=True)
class PoleView:
    """How a pole is laid out: which way its terminals leave, and which are in use."""

    sides: Mapping[str, Side]
    used: frozenset[str]
    mirrored: bool = False


def jog_levels(pole: Pole) -> int:
    """How many lead levels the throws of a pole need beside the moving contact."""
    return max(1, len(pole.throws) // 2) if len(pole.throws) > 1 else 0


def pole_width(pole: Pole, view: PoleView, style: Style) -> float:
    """Distance from the first throw's port to where the next pole may begin, less a pitch."""
    names = dict(pole.named)
    last = text_width(names.get(_order(pole, view)[-1], ""), style.size)
    return _port_places(pole, view, style)[-1] + on_grid(last)


def _order(pole: Pole, view: PoleView) -> list[str]:
    """Throws from left to right; those that leave on the common's side come last."""
    away = [t for t in pole.throws if view.sides[t] != view.sides[pole.common]]
    back = [t for t in pole.throws if view.sides[t] == view.sides[pole.common]]
    return (back + away[::-1]) if view.mirrored else away + back


def _port_places(pole: Pole, view: PoleView, style: Style) -> list[float]:
    """Places of the throws' ports, wide enough for conductors, numbers and position names."""
    order = _order(pole, view)
    names = dict(pole.named)
    places = [0.0]
    for left, right in pairwise(order):
        wide = left in view.used and right in view.used
        words = text_width(names.get(left, ""), style.size) + text_width(right, style.size)
        least = max(style.pitch if wide else SPARE, words + 3 * CLEAR)
        places.append(places[-1] + on_grid(least))
    return places


def draw_pole(pen: Pen, x: float, pole: Pole, view: PoleView) -> tuple[float, float]:
    """Draw a pole whose first throw's port is at `x`; returns the middle of the lever."""
    order = _order(pole, view)
    places = [x + p for p in _port_places(pole, view, pen.style)]
    down = view.sides[pole.common] == "top"
    levels = jog_levels(pole)
    near, far = LEAD, pen.height - LEAD - levels * JOG
    y_common, y_throw = (near, far) if down else (pen.height - near, pen.height - far)
    backs = [t for t in order if view.sides[t] == view.sides[pole.common]]
    straight = [i for i, t in enumerate(order) if t not in backs]
    middle = straight[(len(straight) - 1) // 2] if straight else 0
    x_common = places[middle]
    pen.port(pole.common, view.sides[pole.common], x_common)
    edge = 0.0 if down else pen.height
    pen.line(x_common, edge, f"v{y_common - edge:g}")
    studs = [x_common + (i - middle) * STUDS for i in range(len(order))]
    for i, throw in enumerate(order):
        level = levels - abs(i - middle) if len(order) > 1 else 0
        _throw(pen, throw, view.sides[throw], (studs[i], y_throw), places[i], (down, level))
    _names(pen, pole, view, dict(zip(order, places, strict=True)))
    lever = _lever(pen, pole, order, studs, (x_common, y_common, y_throw))
    reach = 2.2 if len(order) == 1 and pole.closed else 0.7  # a break contact has a tick
    top, bottom = sorted((y_common, y_throw))
    pen.body.append(Box(min(*studs, x_common) - 3, top, max(studs) + reach, bottom))
    return lever


def _throw(pen: Pen, throw: str, side: Side, stud: tuple[float, float], place: float,
           run: tuple[bool, int]) -> None:  # fmt: skip
    """The lead from a stud to the port of its throw."""
    down, level = run
    x, y = stud
    ahead = 1 if down else -1
    pen.line(x, y, f"v{ahead * JOG * max(level, 0) + 0.0:g}h{place - x:g}")
    edge = pen.height if side == "bottom" else 0.0
    start = y + ahead * JOG * max(level, 0)
    pen.line(place, start, f"v{edge - start:g}")
    pen.port(throw, side, place)


def _names(pen: Pen, pole: Pole, view: PoleView, places: dict[str, float]) -> None:
    """The positions that close a throw, beside its lead."""
    size = pen.style.size
    for throw, text in pole.named:
        top = view.sides[throw] == "top"
        y = ASCENT * size + 0.2 if top else pen.height - DESCENT * size - 0.1
        pen.words.append(Words(text, places[throw] + CLEAR, y, size))


def _lever(pen: Pen, pole: Pole, order: list[str], studs: list[float],
           ends: tuple[float, float, float]) -> tuple[float, float]:  # fmt: skip
    """The moving contact at rest; returns its middle."""
    x, y, y_throw = ends
    back = 0.5 if y > y_throw else -0.5  # from the throws towards the common
    if len(order) == 1 and not pole.closed:  # make contact: swung away
        tip = (x - 2.5, y_throw + 2 * back)
    elif len(order) == 1:  # break contact: rests against a tick
        pen.line(x, y_throw, "h2")
        tip = (x + 1.7, y_throw - back)
    elif pole.closed:
        tip = (studs[order.index(pole.closed)], y_throw + back)
    else:
        tip = (min(studs) - 2.2, y_throw + 2 * back)
    if len(order) > 1:
        for stud in studs:
            pen.stud(stud, y_throw)
    pen.line(x, y, f"l{tip[0] - x:g} {tip[1] - y:g}")
    return ((x + tip[0]) / 2, (y + tip[1]) / 2)
