"""Star-mesh elimination without diagonal and without subtraction, for many cases at once.

To remove node k with conductances g_kj and S = Σ g_kj, every pair of its neighbours gets
g_ki·g_kj/S between them; afterwards V_k = Σ (g_kj/S)·V_j. All terms are positive, so the
relative error stays near n·eps at any spread of values: opens of 1e12 Ω beside shorts of
1e-3 Ω cost nothing. A node with S = 0 is *floating* and comes back as that.

An edge may hold a source: i = g (V_a − V_b) − J with J = g·e. Then the pair (i, j) gets
J_ij = (g_i·J_j − g_j·J_i)/S. The difference is between offsets e_j − e_i, which are volts
of the same size, so the error stays near eps times the largest source.

The order of elimination and the list of pairs depend only on which nodes are joined. They
are worked out once (minimum degree) and applied to all cases as numpy arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Star:
    """One step: node `k`, its neighbours and edges, and the pairs it joins.

    `signs[i]` is +1 if edge i is stored as running from k to the neighbour, else −1.
    `pairs` holds (i, j, edge, sign, sourced): neighbours i and j of the star get joined by `edge`.
    """

    k: int
    neighbours: tuple[int, ...]
    edges: tuple[int, ...]
    signs: tuple[float, ...]
    sourced: tuple[int, ...]  # positions in `edges` that may hold a source
    pairs: tuple[tuple[int, int, int, float, bool], ...]


@dataclass(frozen=True)
class Plan:
    """Elimination of all nodes but 0. Edges beyond the first `given` are made on the way.

    The first `early` stars remove the nodes that were not asked to stay late.
    """

    nodes: int
    given: int
    edges: int
    stars: tuple[Star, ...]
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
    adjacent: list[dict[int, int]] = [{} for _ in range(nodes)]
    ends = list(pairs)
    live = set(sourced)
    for edge, (a, b) in enumerate(pairs):
        adjacent[a][b] = adjacent[b][a] = edge
    left = set(range(1, nodes))
    stars = []
    while left:
        k = min(left, key=lambda n: (n in late, len(adjacent[n]), n))
        left.remove(k)
        stars.append(_star(k, adjacent, ends, live))
    return Plan(nodes, len(pairs), len(ends), tuple(stars), nodes - 1 - len(late - {0}))


@dataclass(frozen=True)
class Tail:
    """The late part of a plan on its own: its node i is `nodes[i]` of the whole, edge likewise."""

    plan: Plan
    nodes: tuple[int, ...]
    edges: tuple[int, ...]


@lru_cache(maxsize=512)
def tail_of(plan: Plan) -> Tail:
    """The stars of a plan after the early ones, numbered for arrays of their own."""
    stars = plan.stars[plan.early :]
    nodes = (0, *(star.k for star in stars))
    used = [e for star in stars for e in (*star.edges, *(pair[2] for pair in star.pairs))]
    edges = tuple(dict.fromkeys(used))
    node_at = {n: i for i, n in enumerate(nodes)}
    edge_at = {e: i for i, e in enumerate(edges)}
    own = tuple(
        Star(
            node_at[star.k],
            tuple(node_at[n] for n in star.neighbours),
            tuple(edge_at[e] for e in star.edges),
            star.signs,
            star.sourced,
            tuple((i, j, edge_at[e], sign, holds) for i, j, e, sign, holds in star.pairs),
        )
        for star in stars
    )
    return Tail(Plan(len(nodes), len(edges), len(edges), own, 0), nodes, edges)


def _star(
    k: int, adjacent: list[dict[int, int]], ends: list[tuple[int, int]], live: set[int]
) -> Star:
    neighbours = tuple(adjacent[k])
    edges = tuple(adjacent[k].values())
    signs = tuple(1.0 if ends[e][0] == k else -1.0 for e in edges)
    pairs = []
    for i, a in enumerate(neighbours):
        for j in range(i + 1, len(neighbours)):
            b = neighbours[j]
            if b not in adjacent[a]:
                adjacent[a][b] = adjacent[b][a] = len(ends)
                ends.append((a, b))
            edge = adjacent[a][b]
            holds = edges[i] in live or edges[j] in live
            if holds:
                live.add(edge)
            pairs.append((i, j, edge, 1.0 if ends[edge][0] == a else -1.0, holds))
    for n in neighbours:
        del adjacent[n][k]
    sourced = tuple(i for i, e in enumerate(edges) if e in live)
    return Star(k, neighbours, edges, signs, sourced, tuple(pairs))


@dataclass(frozen=True)
class Potentials:
    """Result for m cases. `volts` (n, m); a floating island counts from one node of its own,
    named by `island` (n, m); island 0 is the reference's, so island ≠ 0 means floating."""

    volts: FloatArray
    island: NDArray[np.int32]


class Sheet:
    """The working arrays of m cases during elimination.

    `g`, `j` (edges, m): conductance and source; of a removed star they hold g/S and J.
    `inverse` (nodes, m): 1/S of a removed node, 0 where nothing was joined to it.
    """

    def __init__(self, plan: Plan, conductance: FloatArray, source: FloatArray) -> None:
        m = conductance.shape[1]
        self.g = np.empty((plan.edges, m))
        self.j = np.empty((plan.edges, m))
        for own, given in ((self.g, conductance), (self.j, source)):
            own[: plan.given] = given
            own[plan.given :] = 0.0
        self.inverse = np.empty((plan.nodes, m))

    def remove(self, stars: Sequence[Star]) -> None:
        """Remove stars in order."""
        for star in stars:
            _remove(star, self.g, self.j, self.inverse)

    def restore(self, stars: Sequence[Star], known: Potentials) -> None:
        """Find the potentials of removed stars, last first, into `known`."""
        volts, island = known.volts, known.island
        floating = set(np.flatnonzero(island.any(axis=1)).tolist())
        for star in reversed(stars):
            k = star.k
            volts[k] = 0.0
            for i in star.sourced:
                volts[k] += star.signs[i] * self.j[star.edges[i]]
            volts[k] *= self.inverse[k]
            for n, e in zip(star.neighbours, star.edges, strict=True):
                volts[k] += self.g[e] * volts[n]
            if not floating.isdisjoint(star.neighbours) or not self.inverse[k].all():
                floating.add(k)
                island[k] = k
                for n, e in zip(star.neighbours, star.edges, strict=True):
                    np.copyto(island[k], island[n], where=self.g[e] > 0.0)


def no_potentials(plan: Plan, m: int) -> Potentials:
    """Room for the potentials of m cases, the reference at 0 V."""
    return Potentials(np.zeros((plan.nodes, m)), np.zeros((plan.nodes, m), dtype=np.int32))


def eliminate(plan: Plan, conductance: FloatArray, source: FloatArray) -> Potentials:
    """Node potentials of m cases.

    `conductance` (given edges, m) in siemens, ≥ 0 and finite; `source` the same shape, in
    ampere (J = g·e from first to second node of the edge). Both are left unchanged.
    """
    sheet = Sheet(plan, conductance, source)
    sheet.remove(plan.stars)
    found = no_potentials(plan, conductance.shape[1])
    sheet.restore(plan.stars, found)
    return found


def self_resistance(plan: Plan, conductance: FloatArray) -> FloatArray:
    """Resistance from every node to the reference (nodes, m), all sources replaced by joints.

    The inverse of the network on the pattern of its own elimination, last node first:
    Z_kj = Σ w_i·Z_ij over the star of k, and Z_kk = 1/S + Σ w_j·Z_kj, again without
    subtraction. The figure of a floating node counts from its island's own node.
    """
    m = conductance.shape[1]
    sheet = Sheet(plan, conductance, np.zeros((plan.given, m)))
    sheet.remove(plan.stars)
    g, inverse = sheet.g, sheet.inverse
    own = np.zeros((plan.nodes, m))
    shared = np.zeros((plan.edges, m))  # Z between the ends of an edge; 0 at the reference
    for star in reversed(plan.stars):
        for n, e in zip(star.neighbours, star.edges, strict=True):
            shared[e] = g[e] * own[n]
        for a, b, edge, _, _ in star.pairs:
            shared[star.edges[a]] += g[star.edges[b]] * shared[edge]
            shared[star.edges[b]] += g[star.edges[a]] * shared[edge]
        own[star.k] = inverse[star.k]
        for e in star.edges:
            own[star.k] += g[e] * shared[e]
    return own


def _remove(star: Star, g: FloatArray, j: FloatArray, inverse: FloatArray) -> None:
    """Join the neighbours of a star; leaves g/S in the star's own edges."""
    total = _sum([g[e] for e in star.edges], g.shape[1])
    inv = inverse[star.k]
    inv[:] = 0.0
    np.divide(1.0, total, out=inv, where=total > 0.0)
    weights = [g[e] * inv for e in star.edges]
    for a, b, edge, sign, sourced in star.pairs:
        g[edge] += weights[a] * g[star.edges[b]]
        if sourced:
            to_b = star.signs[b] * weights[a] * j[star.edges[b]]
            to_a = star.signs[a] * weights[b] * j[star.edges[a]]
            j[edge] += sign * (to_b - to_a)
    for e, w in zip(star.edges, weights, strict=True):
        g[e] = w


def _sum(rows: Sequence[FloatArray], m: int) -> FloatArray:
    total = rows[0].copy() if rows else np.zeros(m)
    for row in rows[1:]:
        total += row
    return total
