"""In which order nodes are eliminated, and which edges that makes: the same for all cases.

Minimum degree, many nodes at a time (multiple elimination: J. W. H. Liu, ACM Transactions on
Mathematical Software 11, 1985): nodes of one degree that do not touch each other are removed
in one *round*, so that the arithmetic is a few array operations and not a few per node.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.laws import FloatArray

IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Round:
    """Stars removed together: nodes `k` (stars,) with `neighbours` (degree, stars).

    Their edges stand at rows `first` to `last` of the working arrays, all stars' first edges,
    then all second ones. `signs` (degree, stars, 1): +1 where the edge is stored as running from
    k to the neighbour, else −1. `sourced`: some edge may hold a source. Neighbours `left[p]` and
    `right[p]` of every star get joined by the row `joint[p]` (pairs, stars), which runs from
    left to right where `ways` (pairs, stars, 1) is +1; no row occurs twice in a round.
    """

    k: IntArray
    neighbours: IntArray
    first: int
    last: int
    signs: FloatArray
    sourced: bool
    left: IntArray
    right: IntArray
    joint: IntArray
    ways: FloatArray

    def arms(self, rows: FloatArray) -> FloatArray:
        """The stars' own edges among the working rows (edges, m): a view (degree, stars, m)."""
        return rows[self.first : self.last].reshape(*self.neighbours.shape, rows.shape[1])

    @cached_property
    def each(self) -> tuple[Star, ...]:
        """The stars one by one."""
        joint, ways = self.joint.tolist(), self.ways[:, :, 0].tolist()
        ends = list(zip(self.left.tolist(), self.right.tolist(), strict=True))
        return tuple(
            Star(
                k,
                self.neighbours[:, s],
                self.signs[:, s],
                tuple((*ends[p], joint[p][s], ways[p][s]) for p in range(len(ends))),
            )
            for s, k in enumerate(self.k.tolist())
        )


@dataclass(frozen=True, eq=False)
class Star:
    """One star of a round: `signs` (degree, 1); `pairs` of (left, right, joint, way)."""

    k: int
    neighbours: IntArray
    signs: FloatArray
    pairs: tuple[tuple[int, int, int, float], ...]


@dataclass(frozen=True, eq=False)
class Plan:
    """Elimination of all nodes but 0 with `edges` rows, in the order in which they are used up.

    `place` (given edges,) is the row of each edge that there is at the beginning. The first
    `early` rounds remove the nodes that were not asked to stay late.
    """

    nodes: int
    edges: int
    place: IntArray
    rounds: tuple[Round, ...]
    early: int


@lru_cache(maxsize=512)
def make_plan(
    nodes: int,
    pairs: tuple[tuple[int, int], ...],
    sourced: frozenset[int],
    late: frozenset[int] = frozenset(),
) -> Plan:
    """Order of elimination by minimum degree for `nodes` nodes joined by `pairs`.

    Node 0 is the reference and stays. `pairs` must be distinct; `sourced` are the indices of
    those that may hold a source. Nodes in `late` are removed after all others.
    """
    mesh = _Mesh(nodes, pairs, sourced)
    steps: list[_Step] = []
    early = 0
    for group in (set(range(1, nodes)) - late, set(late) - {0}):
        early = len(steps)  # ends up as the number before the last group
        while group:
            taken = mesh.independent(group)
            group -= set(taken)
            steps.append(mesh.remove(taken))
    used = np.concatenate([np.empty(0, dtype=np.intp), *(step.edges.ravel() for step in steps)])
    row = np.empty(len(used), dtype=np.intp)
    row[used] = np.arange(len(used))
    rounds = tuple(_round(step, row) for step in steps)
    return Plan(nodes, len(used), row[: len(pairs)], rounds, early)


@dataclass(frozen=True, eq=False)
class _Step:
    """A round before the edges have got their rows; edges, signs are (degree, stars)."""

    k: list[int]
    neighbours: IntArray
    edges: IntArray
    signs: FloatArray
    sourced: bool
    pairs: list[tuple[int, int]]
    joint: IntArray  # (pairs, stars)
    ways: FloatArray


def _round(step: _Step, row: IntArray) -> Round:
    edges = row[step.edges].ravel()
    first = int(edges[0]) if len(edges) else 0
    left, right = np.array(step.pairs, dtype=np.intp).reshape(-1, 2).T
    return Round(
        np.array(step.k, dtype=np.intp),
        step.neighbours,
        first,
        first + len(edges),
        step.signs[:, :, None],
        step.sourced,
        left,
        right,
        row[step.joint],
        step.ways[:, :, None],
    )


class _Mesh:
    """What is joined to what while nodes are taken away."""

    def __init__(
        self, nodes: int, pairs: tuple[tuple[int, int], ...], sourced: frozenset[int]
    ) -> None:
        self.adjacent: list[dict[int, int]] = [{} for _ in range(nodes)]
        self.ends = list(pairs)
        self.live = set(sourced)
        for edge, (a, b) in enumerate(pairs):
            self.adjacent[a][b] = self.adjacent[b][a] = edge

    def independent(self, group: set[int]) -> list[int]:
        """Nodes of the least degree that neither touch nor join the same two nodes.

        Either all or none of them have an edge that may hold a source.
        """
        least = min(len(self.adjacent[n]) for n in group)
        taken: list[int] = []
        barred: set[int] = set()
        joined: set[tuple[int, int]] = set()
        for n in sorted(group):
            around = sorted(self.adjacent[n])
            alike = not taken or self.sourced(n) == self.sourced(taken[0])
            if len(around) == least and n not in barred and alike:
                pairs = set(itertools.combinations(around, 2))
                if joined.isdisjoint(pairs):
                    taken.append(n)
                    barred.update(around)
                    joined |= pairs
        return taken

    def sourced(self, node: int) -> bool:
        """May an edge at the node hold a source?"""
        return not self.live.isdisjoint(self.adjacent[node].values())

    def remove(self, taken: list[int]) -> _Step:
        """Take nodes away that `independent` has found, and join their neighbours."""
        around = [tuple(self.adjacent[k]) for k in taken]
        edges = [tuple(self.adjacent[k].values()) for k in taken]
        live = self.sourced(taken[0])
        pairs = list(itertools.combinations(range(len(around[0])), 2))
        joint = [[self._join(star[i], star[j]) for i, j in pairs] for star in around]
        ways = [
            [self._way(edge, star[i]) for edge, (i, _) in zip(made, pairs, strict=True)]
            for made, star in zip(joint, around, strict=True)
        ]
        for made, star in zip(joint, edges, strict=True):
            for edge, (i, k) in zip(made, pairs, strict=True):
                if star[i] in self.live or star[k] in self.live:
                    self.live.add(edge)
        for k, star in zip(taken, around, strict=True):
            for n in star:
                del self.adjacent[n][k]
        signs = [[self._way(e, k) for e in star] for k, star in zip(taken, edges, strict=True)]
        return _Step(
            taken,
            _columns(around, np.intp),
            _columns(edges, np.intp),
            _columns(signs, np.float64),
            live,
            pairs,
            _columns(joint, np.intp),
            _columns(ways, np.float64),
        )

    def _join(self, a: int, b: int) -> int:
        """The edge between two nodes, made if there is none."""
        if b not in self.adjacent[a]:
            self.adjacent[a][b] = self.adjacent[b][a] = len(self.ends)
            self.ends.append((a, b))
        return self.adjacent[a][b]

    def _way(self, edge: int, node: int) -> float:
        return 1.0 if self.ends[edge][0] == node else -1.0


def _columns(stars: Sequence[Sequence[float]], kind: type) -> NDArray[Any]:
    """One column per star."""
    return np.array(stars, dtype=kind).reshape(len(stars), -1).T.copy()


@dataclass(frozen=True, eq=False)
class Tail:
    """The late part of a plan on its own: node i is `nodes[i]` of the whole, row i `first` + i."""

    plan: Plan
    nodes: IntArray
    first: int


@lru_cache(maxsize=512)
def tail_of(plan: Plan) -> Tail:
    """The rounds of a plan after the early ones, numbered for arrays of their own."""
    rounds = plan.rounds[plan.early :]
    nodes = np.array([0, *(k for r in rounds for k in r.k.tolist())], dtype=np.intp)
    node_at = np.zeros(plan.nodes, dtype=np.intp)
    node_at[nodes] = np.arange(len(nodes))
    first = max((r.last for r in plan.rounds[: plan.early]), default=0)
    own = tuple(
        replace(
            r,
            k=node_at[r.k],
            neighbours=node_at[r.neighbours],
            first=r.first - first,
            last=r.last - first,
            joint=r.joint - first,
        )
        for r in rounds
    )
    rows = plan.edges - first
    return Tail(Plan(len(nodes), rows, np.arange(rows), own, 0), nodes, first)
