"""Read the circuit back from a drawing in characters.

This knows nothing of how a drawing is made. Signs and words of parts are blanked out first; what
is left must be conductors. They are followed from character to character by the arms that each
character has, as a reader's finger would. Where three arms or more meet, conductors are joined.
A level conductor that runs into an upright line goes on behind it. A stretch between two joints
or terminals with a wire's code beside it is that wire, one without joins its ends.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import networkx as nx

from quizgen.circuit.components import Ground
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.characters import BOX_ARMS, DOWN, LEFT, RIGHT, UP
from quizgen.diagram.drawing import REFERENCE
from quizgen.diagram.netcheck import Net, net_of, nets_of, say
from quizgen.diagram.terminal import TextDrawing

Cell = tuple[int, int]
STEPS = {UP: (-1, 0), DOWN: (1, 0), LEFT: (0, -1), RIGHT: (0, 1)}
BACK = {UP: DOWN, DOWN: UP, LEFT: RIGHT, RIGHT: LEFT}
SOME = {"|": UP | DOWN, "-": LEFT | RIGHT, ".": DOWN, "'": UP}  # arms that are sure, in ASCII
LEVEL, UPRIGHT = "-.'+", {UP: "|.+", DOWN: "|'+"}  # what may reach a character from there


class _Reader:
    """The conductors of one drawing."""

    def __init__(self, drawing: TextDrawing) -> None:
        self.drawing = drawing
        width = max(map(len, drawing.lines), default=0)
        self.grid = [list(line.ljust(width)) for line in drawing.lines]
        self.wrong: list[str] = []
        for word in drawing.words:
            here = self.grid[word.y][word.x : word.x + len(word.text)]
            if "".join(here) != word.text:
                self.wrong.append(f"line {word.y + 1}: {word.text!r} is written over")
            self.grid[word.y][word.x : word.x + len(word.text)] = " " * len(word.text)
        self.pins = {(p.line, p.column): p for p in drawing.pins}
        self.out = {
            (p.line, p.column, UP if p.side == "top" else DOWN): p.name
            for p in drawing.pins
            if p.side
        }
        self.arms = {
            (y, x): self._arms(y, x)
            for y, line in enumerate(self.grid)
            for x, letter in enumerate(line)
            if letter != " "
        }
        self.left = set(self.arms)  # not followed yet

    def _at(self, y: int, x: int) -> str:
        inside = 0 <= y < len(self.grid) and 0 <= x < len(self.grid[y])
        return self.grid[y][x] if inside else " "

    def _arms(self, y: int, x: int) -> int:
        letter = self.grid[y][x]
        if letter in BOX_ARMS:
            return BOX_ARMS[letter]
        if letter not in "|-.'+":
            self.wrong.append(f"line {y + 1}, column {x + 1}: stray {letter!r}")
            return 0
        found = SOME.get(letter, 0)
        if letter in ".'+":
            found |= LEFT if self._at(y, x - 1) in LEVEL else 0
            found |= RIGHT if self._at(y, x + 1) in LEVEL else 0
        if letter == "+":
            for arm, reaching in UPRIGHT.items():
                dy = STEPS[arm][0]
                pinned = (y + dy, x, BACK[arm]) in self.out
                found |= arm if pinned or self._at(y + dy, x) in reaching else 0
        return found

    def follow(self, cell: Cell, arm: int) -> tuple[list[Cell], tuple[Cell, int] | None]:
        """The characters from a node along one arm, and the node (with its arm) at the far end."""
        passed: list[Cell] = []
        y, x = cell
        while True:
            y, x = y + STEPS[arm][0], x + STEPS[arm][1]
            if (y, x, BACK[arm]) in self.out:
                return passed, ((y, x), BACK[arm])
            arms = self.arms.get((y, x), 0)
            if arm in (LEFT, RIGHT) and arms == UP | DOWN:
                continue  # behind an upright conductor
            if not arms & BACK[arm] or arms.bit_count() < 2:
                self.wrong.append(f"line {y + 1}, column {x + 1}: a conductor ends in nothing")
                return passed, None
            self.left.discard((y, x))
            if arms.bit_count() > 2:
                return passed, ((y, x), BACK[arm])
            passed.append((y, x))
            arm = arms & ~BACK[arm]


def text_faults(circuit: Circuit, drawing: TextDrawing) -> tuple[str, ...]:
    """Everything wrong with a drawing of `circuit`, one sentence each; empty when it is good."""
    reader = _Reader(drawing)
    drawn = nets_in_text(circuit, reader)
    wanted = nets_of(circuit)
    return (
        *reader.wrong,
        *(f"line {y + 1}, column {x + 1}: leads nowhere" for y, x in sorted(reader.left)),
        *(f"not drawn: {say(net)}" for net in (wanted - drawn).elements()),
        *(f"drawn but not there: {say(net)}" for net in (drawn - wanted).elements()),
    )


def nets_in_text(circuit: Circuit, reader: _Reader) -> Counter[Net]:
    """The nets that a reader of the drawing would see."""
    graph: nx.Graph[object] = nx.Graph()
    graph.add_node(REFERENCE)
    for pin in reader.drawing.pins:
        graph.add_edge((pin.line, pin.column, pin.side), pin.name)
    for part in circuit.parts:
        if isinstance(part, Ground):
            graph.add_edge(f"{part.id}.31", REFERENCE)
    tags = {(t.line, t.column - 1): t.wire for t in reader.drawing.tags}
    ends: list[tuple[object, str]] = []  # of wires: the node each end is at
    for here, there, cells in _stretches(reader):
        codes = {tags[cell] for cell in cells if cell in tags}
        if len(codes) > 1:
            reader.wrong.append(f"one stretch is called {' and '.join(sorted(codes))}")
        if codes:
            ends += ((end, min(codes)) for end in (here, there))
            graph.add_nodes_from((here, there))
        else:
            graph.add_edge(here, there)
    return _nets(graph, ends)


def _nets(graph: nx.Graph[object], ends: list[tuple[object, str]]) -> Counter[Net]:
    found: Counter[Net] = Counter()
    for group in nx.connected_components(graph):
        names = [n for n in group if isinstance(n, str) and not n.startswith("joint ")]
        wires = [code for end, code in ends if end in group]
        found[net_of(names + wires)] += 1
    return found


def _stretches(reader: _Reader) -> Iterator[tuple[object, object, list[Cell]]]:
    """Every conductor from node to node, with the characters that it takes up."""
    starts: list[tuple[Cell, int]] = [((y, x), arm) for y, x, arm in reader.out]
    for cell, arms in reader.arms.items():
        if arms.bit_count() > 2:
            starts += ((cell, arm) for arm in STEPS if arms & arm)
    done: set[tuple[Cell, int]] = set()
    for start in starts:
        if start in done:
            continue
        passed, end = reader.follow(*start)
        reader.left.discard(start[0])
        if end is not None:
            done.add(end)
            pins = [cell for cell, _ in (start, end) if cell in reader.pins]
            yield _node(reader, start), _node(reader, end), [*pins, *passed]


def _node(reader: _Reader, place: tuple[Cell, int]) -> object:
    (y, x), arm = place
    if (y, x, arm) in reader.out:
        return (y, x, "top" if arm == UP else "bottom")
    return (y, x)
