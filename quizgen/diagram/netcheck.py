"""Read the circuit back from a drawing, and find what spoils it.

This knows nothing of how a drawing is made: it looks at end points, segments and boxes.
Two conductors are joined where one ends on the other's plain line or on the same port, and
nowhere else; a crossing in the middle of both joins nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import networkx as nx

from quizgen.circuit.components import Ground, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.drawing import (
    LEAST_TEXT,
    PAGE,
    REFERENCE,
    Drawing,
    Line,
    Placed,
    Point,
    Segment,
)
from quizgen.diagram.ink import inked
from quizgen.diagram.lettering import DESCENT, Box, Words
from quizgen.diagram.symbols import Port

TOUCH = 0.01  # mm
HALF_WIRE = 0.5  # half the width of a painted wire, mm
HANGING = "gjpqyQ,;()[]/_@µ"  # letters that reach below the line
HAIR = 0.15  # estimated widths of letters are that generous, mm

Net = frozenset[tuple[str, int]]  # what meets at a point, each with how many times


def drawing_faults(circuit: Circuit, drawing: Drawing) -> tuple[str, ...]:
    """Everything wrong with a drawing of `circuit`, one sentence each; empty when it is good."""
    return (
        *net_faults(circuit, drawing),
        *_overlaid(drawing),
        *_pierced(drawing),
        *_words_hidden(drawing),
        *_words_struck(drawing),
        *_too_small(drawing),
    )


# --- connectivity ---------------------------------------------------------------------


def net_faults(circuit: Circuit, drawing: Drawing) -> Iterator[str]:
    """Nets that are in the circuit and not in the drawing, or the other way round."""
    wanted, drawn = nets_of(circuit), nets_drawn(circuit, drawing)
    for net in (wanted - drawn).elements():
        yield f"not drawn: {say(net)}"
    for net in (drawn - wanted).elements():
        yield f"drawn but not there: {say(net)}"


def say(net: Net) -> str:
    """A net as a person would write it."""
    return " = ".join(sorted(name for name, _ in net))


def nets_of(circuit: Circuit) -> Counter[Net]:
    """The nets of a circuit: part terminals as `K1.87`, wires by their code."""
    return Counter(
        net_of(
            [
                *(
                    part_id if isinstance(circuit.by_id[part_id], Wire) else f"{part_id}.{terminal}"
                    for part_id, terminal in circuit.terminals_at.get(node, ())
                ),
                *([REFERENCE] if node == circuit.reference else []),
            ]
        )
        for node in circuit.nodes
    )


def net_of(names: list[str]) -> Net:
    """What meets at a point, from the names in any order."""
    return frozenset(Counter(names).items())


def nets_drawn(circuit: Circuit, drawing: Drawing) -> Counter[Net]:
    """The nets that a reader of the drawing would see."""
    graph: nx.Graph[object] = nx.Graph()
    graph.add_node(REFERENCE)
    plain = [k for k in drawing.lines if k.wire is None]
    graph.add_nodes_from(plain)
    places: list[tuple[object, Point]] = []
    for placed in drawing.placed:
        if not placed.key.startswith("rail "):  # nothing but the bar that hangs from it
            places += _ports(circuit, graph, placed)
    for line in drawing.lines:
        if line.wire is not None:
            places += [((line.key, end), line.points[end]) for end in (0, -1)]
    graph.add_nodes_from(place for place, _ in places)
    for (a, p), (b, q) in combinations(places, 2):
        if _same(p, q):
            graph.add_edge(a, b)
    ends: list[tuple[object, Point]] = [(k, k.points[end]) for k in plain for end in (0, -1)]
    for line in plain:
        for thing, point in [*places, *ends]:
            if thing is not line and any(_on(point, s) for s in line.segments):
                graph.add_edge(line, thing)
    groups = list(nx.connected_components(graph))
    named = [[n for thing in group for n in _names(circuit, thing)] for group in groups]
    return Counter(net_of(names) for names in named)


def _ports(circuit: Circuit, graph: nx.Graph[object], placed: Placed) -> list[tuple[object, Point]]:
    """The ports of a symbol; ports of one terminal are one point, ground is the reference."""
    found: list[tuple[object, Point]] = []
    by_terminal: dict[str, tuple[str, Port]] = {}
    for port in placed.symbol.ports:
        here = (placed.key, port)
        found.append((here, placed.point(port)))
        graph.add_edge(here, by_terminal.setdefault(port.terminal, here))
        if placed.part:
            graph.add_edge(here, f"{placed.part}.{port.terminal}")
        elif placed.key.startswith("frame "):
            graph.add_edge(here, REFERENCE)
    if placed.part and isinstance(circuit.by_id[placed.part], Ground):
        graph.add_edge(f"{placed.part}.31", REFERENCE)
    return found


def _names(circuit: Circuit, thing: object) -> Iterator[str]:
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, tuple) and isinstance(thing[1], int):
        yield thing[0]


# --- geometry -------------------------------------------------------------------------


def _same(p: Point, q: Point) -> bool:
    return abs(p[0] - q[0]) < TOUCH and abs(p[1] - q[1]) < TOUCH


def _box(segment: Segment, half: float = 0.0) -> Box:
    (x0, y0), (x1, y1) = segment
    return Box(min(x0, x1) - half, min(y0, y1) - half, max(x0, x1) + half, max(y0, y1) + half)


def _on(point: Point, segment: Segment) -> bool:
    box = _box(segment, TOUCH)
    return box.left <= point[0] <= box.right and box.top <= point[1] <= box.bottom


def _overlaid(drawing: Drawing) -> Iterator[str]:
    """Slanted conductors, and conductors that run along or end on another."""
    for line in drawing.lines:
        for (x0, y0), (x1, y1) in line.segments:
            if abs(x0 - x1) > TOUCH and abs(y0 - y1) > TOUCH:
                yield f"{line.key} runs aslant"
    for a, b in combinations(drawing.lines, 2):
        if a.wire is None and b.wire is None:
            continue  # joining them is judged by the nets
        for s in a.segments:
            for t in b.segments:
                if _along(s, t):
                    yield f"{a.key} and {b.key} lie on each other"
        yield from (f"{a.key} touches {b.key}" for _ in _touches(a, b))
        yield from (f"{b.key} touches {a.key}" for _ in _touches(b, a))


def _along(s: Segment, t: Segment) -> bool:
    """Whether two segments of one direction share a stretch or are too close to tell apart."""
    p, q = _box(s), _box(t)
    if p.right - p.left < TOUCH and q.right - q.left < TOUCH:
        return abs(p.left - q.left) < 2 * HALF_WIRE and _share(p.top, p.bottom, q.top, q.bottom)
    if p.bottom - p.top < TOUCH and q.bottom - q.top < TOUCH:
        return abs(p.top - q.top) < 2 * HALF_WIRE and _share(p.left, p.right, q.left, q.right)
    return False


def _share(a0: float, a1: float, b0: float, b1: float) -> bool:
    return min(a1, b1) - max(a0, b0) > TOUCH


def _touches(a: Line, b: Line) -> Iterator[None]:
    """Corners and ends of `a` in the middle of the wire `b`."""
    corners = a.points[1:-1] if b.wire is None else a.points  # ends on a plain line are joints
    for point in corners:
        inside = any(_on(point, s) for s in b.segments)
        if inside and not any(_same(point, end) for end in (b.points[0], b.points[-1])):
            yield None


def _pierced(drawing: Drawing) -> Iterator[str]:
    """Conductors through symbols, and symbols on symbols."""
    for placed in drawing.placed:
        for body in placed.bodies:
            for line in drawing.lines:
                if any(_box(s).meets(body, -0.05) for s in line.segments):
                    yield f"{line.key} runs through {placed.key}"
    for a, b in combinations(drawing.placed, 2):
        if any(p.meets(q) for p in a.bodies for q in b.bodies):
            yield f"{a.key} lies on {b.key}"


def _words_hidden(drawing: Drawing) -> Iterator[str]:
    """Words on words, on conductors, on symbols other than their own."""
    for v, w in combinations(drawing.words, 2):
        if v.box.meets(w.box, -0.02):
            yield f"{v.text!r} of {v.about} lies on {w.text!r} of {w.about}"
    for line in drawing.lines:
        half = HALF_WIRE if line.wire is not None else 0.2
        for w in drawing.words:
            if any(_box(s, half).meets(w.box, -0.02) for s in line.segments):
                yield f"{w.text!r} of {w.about} lies on {line.key}"
    for placed in drawing.placed:
        own = set(map(id, placed.words)) and placed.part
        for w in drawing.words:
            if w.about != own and any(w.box.meets(b, -0.02) for b in placed.bodies):
                yield f"{w.text!r} of {w.about} lies on {placed.key}"
    for start, end in drawing.links:
        for w in drawing.words:
            if _box((start, end)).meets(w.box):
                yield f"{w.text!r} of {w.about} lies on a dashed line"


def _words_struck(drawing: Drawing) -> Iterator[str]:
    """Words on the strokes of symbols, their own as well, and conductors over their signs."""
    for placed in drawing.placed:
        symbol = placed.symbol
        strokes = [inked(s.moved(placed.x, placed.y)) for s in symbol.lines + symbol.fills]
        edge = _bounds(strokes)
        for w in drawing.words:
            box = _letters(w)
            if box.meets(edge) and any(_strikes(s, box) for ink in strokes for s in ink):
                yield f"{w.text!r} of {w.about} lies on a stroke of {placed.key}"
        if not placed.part:
            continue  # the dot of a joint lies on its conductors
        signs = [inked(s.moved(placed.x, placed.y)) for s in symbol.fills]
        for line in drawing.lines:
            touched = [_box(s, HALF_WIRE) for s in line.segments]
            if any(_strikes(s, box) for ink in signs for s in ink for box in touched):
                yield f"{line.key} runs over a sign of {placed.key}"


def _letters(words: Words) -> Box:
    """The room that the letters themselves take: no more below the line than they need."""
    box = words.box
    deep = words.turned or any(letter in HANGING for letter in words.text)
    return box if deep else replace(box, bottom=box.bottom - DESCENT * words.size)


def _bounds(strokes: list[tuple[Segment, ...]]) -> Box:
    points = [p for ink in strokes for s in ink for p in s] or [(0.0, 0.0)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1)


def _strikes(segment: Segment, box: Box) -> bool:
    """Whether a stretch goes into a box by more than a hair."""
    first, last = 0.0, 1.0  # where along the stretch it is inside
    (x0, y0), (x1, y1) = segment
    for start, end, low, high in ((x0, x1, box.left, box.right), (y0, y1, box.top, box.bottom)):
        if start == end:
            if not low + HAIR < start < high - HAIR:
                return False
            continue
        a, b = ((edge - start) / (end - start) for edge in (low + HAIR, high - HAIR))
        first, last = max(first, min(a, b)), min(last, max(a, b))
    return first < last


def _too_small(drawing: Drawing) -> Iterator[str]:
    if drawing.least_text < LEAST_TEXT - 1e-9:
        points = drawing.least_text / LEAST_TEXT * 7
        yield f"text prints at {points:.2f} pt within {PAGE[0]:g} mm × {PAGE[1]:g} mm"
    for w in drawing.words:
        box = w.box
        if box.left < 0 or box.top < 0 or box.right > drawing.width or box.bottom > drawing.height:
            yield f"{w.text!r} of {w.about} lies outside the figure"
