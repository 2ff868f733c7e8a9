"""An exact second opinion on linear networks: modified nodal analysis over rational numbers.

Nothing here comes from `quizgen.solver`, and the method is another one: where the solver
eliminates nodes by star-mesh in floating point, this writes Kirchhoff's laws down as one
system of equations per island and reduces it to row echelon form with `fractions.Fraction`.
A float is taken as the exact rational number that it is, so nothing is rounded anywhere.

Terms: an *edge* conducts i = g (v_a − v_b − e) from a to b. Infinite g makes it *ideal*:
v_a − v_b = e whatever the current. An *island* is a set of nodes that edges with g > 0 join.
An island without the reference node *floats*: its potentials mean nothing, its currents do.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import inf

Row = dict[int, Fraction]  # column → coefficient, no zeros; column `RIGHT` is the right side
RIGHT = -1


class Contradiction(Exception):
    """Ideal edges demand two potentials of one node."""


@dataclass(frozen=True)
class Edge:
    """Conducts i = siemens (v_a − v_b − volts) from `a` to `b`; inf siemens is ideal."""

    a: str
    b: str
    siemens: float | Fraction
    volts: float | Fraction = 0


@dataclass(frozen=True)
class Answer:
    """`volts[node]`: None when floating. `amps[i]` through edge i: None when not determined.

    Current is not determined where ideal edges lie side by side: any share satisfies
    Kirchhoff's laws.
    """

    volts: dict[str, Fraction | None]
    amps: tuple[Fraction | None, ...]

    @property
    def floating(self) -> frozenset[str]:
        """The nodes without a path to the reference."""
        return frozenset(node for node, volts in self.volts.items() if volts is None)


def resistor(a: str, b: str, ohm: float) -> Edge:
    """An edge of `ohm`; 0 is an ideal joint, inf an open. The reciprocal is exact too."""
    return Edge(a, b, inf if ohm == 0 else Fraction(0) if ohm == inf else 1 / Fraction(ohm))


def source(plus: str, minus: str, volts: float) -> Edge:
    """An ideal voltage source: `plus` is `volts` above `minus`."""
    return Edge(plus, minus, inf, volts)


def islands(edges: Sequence[Edge], nodes: Iterable[str]) -> list[list[str]]:
    """The nodes in groups that conducting edges join, by breadth-first search."""
    beside: dict[str, list[str]] = {node: [] for node in nodes}
    for edge in edges:
        if edge.siemens > 0:
            beside[edge.a].append(edge.b)
            beside[edge.b].append(edge.a)
    found: list[list[str]] = []
    seen: set[str] = set()
    for start in beside:
        if start in seen:
            continue
        seen.add(start)
        group = [start]
        for node in group:  # grows while it is read
            fresh = [other for other in dict.fromkeys(beside[node]) if other not in seen]
            seen.update(fresh)
            group.extend(fresh)
        found.append(group)
    return found


def _add(row: Row, column: int, value: Fraction) -> None:
    total = row.get(column, Fraction(0)) + value
    if total:
        row[column] = total
    else:
        row.pop(column, None)


def _subtract(row: Row, factor: Fraction, pivot: Row) -> None:
    for column, value in pivot.items():
        _add(row, column, -factor * value)


def echelon(rows: Iterable[Row]) -> dict[int, Row]:
    """Reduced row echelon form: pivot column → row with 1 there and 0 in other pivot columns.

    Raises Contradiction when a row comes down to 0 = something.
    """
    done: dict[int, Row] = {}
    for given in rows:
        row = dict(given)
        for column in [c for c in row if c in done]:
            if column in row:
                _subtract(row, row[column], done[column])
        columns = [c for c in row if c != RIGHT]
        if not columns:
            if row:
                raise Contradiction("ideal edges form a loop whose voltages do not add up to 0")
            continue
        pivot = min(columns)
        row = {c: value / row[pivot] for c, value in row.items()}
        for other in done.values():
            if pivot in other:
                _subtract(other, other[pivot], row)
        done[pivot] = row
    return done


def _equations(edges: Sequence[Edge], numbers: Sequence[int], group: Sequence[str]) -> list[Row]:
    """Kirchhoff's laws of one island. Columns: nodes of `group` but the first, ideal currents."""
    column = {node: i for i, node in enumerate(group[1:])}
    balance: dict[str, Row] = {node: {} for node in group[1:]}
    rows: list[Row] = []
    for number in numbers:
        edge = edges[number]
        ends = ((edge.a, 1), (edge.b, -1))
        if edge.siemens == inf:
            law: Row = {}
            for node, sign in ends:
                if node in column:
                    _add(law, column[node], Fraction(sign))
                    _add(balance[node], len(group) + number, Fraction(sign))
            _add(law, RIGHT, Fraction(edge.volts))
            rows.append(law)
            continue
        g = Fraction(edge.siemens)
        for node, sign in ends:
            if node in column:
                for other, towards in ends:
                    if other in column:
                        _add(balance[node], column[other], sign * towards * g)
                _add(balance[node], RIGHT, sign * g * Fraction(edge.volts))
    return [*rows, *balance.values()]


def _determined(solved: dict[int, Row], column: int) -> Fraction | None:
    """The value of an unknown, or None when free unknowns enter it."""
    row = solved.get(column)
    if row is None or any(c not in (RIGHT, column) for c in row):
        return None
    return row.get(RIGHT, Fraction(0))


def solve_exactly(edges: Sequence[Edge], reference: str, nodes: Iterable[str] = ()) -> Answer:
    """Potentials against `reference` and edge currents.

    `nodes`: further nodes, for those that no edge touches.
    Raises Contradiction for ideal edges that contradict each other, floating or not.
    """
    every = dict.fromkeys([reference, *nodes])
    for edge in edges:
        every.update(dict.fromkeys((edge.a, edge.b)))
    volts: dict[str, Fraction | None] = dict.fromkeys(every)
    amps: list[Fraction | None] = [Fraction(0)] * len(edges)
    for group in islands(edges, every):
        inside = set(group)
        numbers = [i for i, e in enumerate(edges) if e.siemens > 0 and e.a in inside]
        solved = echelon(_equations(edges, numbers, group))
        local = {group[0]: Fraction(0)}
        for i, node in enumerate(group[1:]):
            value = _determined(solved, i)
            assert value is not None, "potentials of a joined island are always determined"
            local[node] = value
        for i in numbers:
            e = edges[i]
            if e.siemens == inf:
                amps[i] = _determined(solved, len(group) + i)
            else:
                amps[i] = Fraction(e.siemens) * (local[e.a] - local[e.b] - Fraction(e.volts))
        if reference in inside:
            volts.update({node: value - local[reference] for node, value in local.items()})
    return Answer(volts, tuple(amps))
