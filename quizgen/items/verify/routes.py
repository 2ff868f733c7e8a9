"""Where the current of a load comes from and goes to, as a graph of the solved circuit.

An edge is a branch that carries a noticeable share of the load's current, in its direction.
The way is settled if there is one route from the battery's plus pole to the load and one from
the load to the frame, and every edge of both carries all of the load's current.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice
from typing import Any

import networkx as nx

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.items.verify.meter import Moves
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.models import part_model

NOTICEABLE = 0.01
NEAR_ALL = 0.98
MOST_ROUTES = 8
SUPPLIES = (c.Battery, c.Source)
AMOUNT = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) (mA|A|V)\b")


@dataclass(frozen=True)
class Edge:
    """A branch from node `a` to node `b`, the way its current goes."""

    label: str
    part: c.Part
    a: str
    b: str
    amps: float


@dataclass(frozen=True, eq=False)
class Routes:
    """The routes of the current through `load`. Raises InputError for a part that is no load."""

    point: OperatingPoint
    load: str

    @cached_property
    def edges(self) -> dict[str, Edge]:
        """Label → branch, all that carry current."""
        return {e.label: e for part in self.point.circuit.parts for e in _edges(self.point, part)}

    @cached_property
    def own(self) -> Edge:
        """The branch of the load. Raises InputError if no current, or more than one, passes it."""
        part = self.point.circuit.part(self.load)
        found = [e for e in self.edges.values() if e.part.id == part.id]
        if not isinstance(part, c.LOADS) or len(found) != 1:
            raise InputError(f"{self.load} is no load with one current through it")
        return found[0]

    @cached_property
    def supply(self) -> str:
        """The battery that the current comes from. Raises InputError unless it is one."""
        giving = [
            e.part.id
            for e in self.edges.values()
            if isinstance(e.part, SUPPLIES) and e.b == e.part.node("+")
        ]
        if len(giving) != 1:
            raise InputError(f"{len(giving)} batteries give current; there must be one")
        return giving[0]

    @cached_property
    def way(self) -> tuple[Edge, ...]:
        """All edges from the plus pole to the frame, in order; () if there is not one way."""
        graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
        plus, frame = self.point.circuit.part(self.supply).node("+"), self.point.circuit.reference
        graph.add_nodes_from((plus, frame, self.own.a, self.own.b))
        for e in self.edges.values():
            passed_on = not isinstance(e.part, SUPPLIES) and e.a != frame and e is not self.own
            if passed_on and e.amps > NOTICEABLE * self.own.amps:
                graph.add_edge(e.a, e.b, key=e.label)
        there = _routes(graph, plus, self.own.a)
        back = _routes(graph, self.own.b, frame)
        if len(there) != 1 or len(back) != 1:
            return ()
        labels = (*there[0], self.own.label, *back[0])
        found = tuple(self.edges[label] for label in labels)
        return found if min(e.amps for e in found) >= NEAR_ALL * self.own.amps else ()

    def amps(self, label: str) -> float:
        """The current through a branch. Raises InputError if the circuit has no such branch."""
        check_label(self.point.circuit, label)
        return self.edges[label].amps if label in self.edges else 0.0

    def amps_without(self, label: str) -> float:
        """The load's current with a branch taken off one of its ends: the larger of the two."""
        self.amps(label)
        if label not in self.edges:
            return self.own.amps
        edge = self.edges[label]
        circuit = self.point.circuit
        moves: Moves = self.point.solutions.moves[self.point.case]
        apart = []
        for end in (edge.a, edge.b):
            nodes = tuple(f"{n}~apart" if n == end else n for n in edge.part.nodes)
            apart.append(circuit.with_parts(changed=[replace(edge.part, nodes=nodes)]))
        solutions = solve_cases(apart, [(0, moves), (1, moves)])
        left = (solutions.point(i).flows(apart[i].by_id[self.load]) for i in (0, 1))
        return max(abs(f.amps) for flows in left for f in flows)


def _routes(graph: nx.MultiDiGraph[str], start: str, end: str) -> list[list[str]]:
    """Labels along every route, up to a few; [[]] if start and end are one node."""
    if start == end:
        return [[]]
    find: Any = nx.all_simple_edge_paths  # its stubs do not know the keys of a multigraph
    return [[edge[2] for edge in route] for route in islice(find(graph, start, end), MOST_ROUTES)]


def _edges(point: OperatingPoint, part: c.Part) -> Iterator[Edge]:
    for name, branch, flow in zip(
        branch_labels(part), part_model(part).branches, point.flows(part), strict=True
    ):
        a, b = (branch.a, branch.b) if flow.amps >= 0.0 else (branch.b, branch.a)
        if flow.amps != 0.0:
            yield Edge(name, part, a, b, abs(flow.amps))


def branch_labels(part: c.Part) -> tuple[str, ...]:
    """The notation of claims: the part, and the branch where it has several."""
    names = [branch.name for branch in part_model(part).branches]
    alone = isinstance(part, c.LOADS) or len(names) == 1
    return tuple(part.id if alone else f"{part.id}:{name}" for name in names)


def check_label(circuit: Circuit, label: str) -> None:
    """Raises InputError if no branch of the circuit is called so."""
    if label not in branch_labels(circuit.part(label.partition(":")[0])):
        raise InputError(f"{circuit.name} has no branch {label!r}")


def amounts(text: str) -> Iterator[tuple[float, str, float]]:
    """Every amount in a text: value in A or V, unit, half of its last digit.

    >>> [(round(value, 6), unit) for value, unit, half in amounts("0.15 A, 18 mA and 12.4 V")]
    [(0.15, 'A'), (0.018, 'A'), (12.4, 'V')]
    """
    for number, unit in AMOUNT.findall(text):
        scale = 0.001 if unit == "mA" else 1.0
        digits = len(number.partition(".")[2])
        yield float(number) * scale, unit[-1], 0.5 * 10.0**-digits * scale
