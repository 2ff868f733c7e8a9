"""One linear solve of many cases: contraction, elimination, branch currents, certificate.

Cases may differ in which branches are ideal; they are grouped by that pattern, and each
group is one batched elimination.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.elimination import eliminate, self_resistance
from quizgen.solver.plans import Plan, make_plan
from quizgen.solver.reduction import Reduction, contract

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int32]


@dataclass(frozen=True)
class Wiring:
    """Which branches there are. Node 0 is the reference."""

    nodes: int
    ends: tuple[tuple[int, int], ...]
    names: tuple[str, ...]

    @cached_property
    def a(self) -> NDArray[np.intp]:
        """First node of every branch."""
        return np.array([e[0] for e in self.ends], dtype=np.intp)

    @cached_property
    def b(self) -> NDArray[np.intp]:
        """Second node of every branch."""
        return np.array([e[1] for e in self.ends], dtype=np.intp)


@dataclass(frozen=True)
class LinearSolution:
    """`volts`, `island` (nodes, m); `amps` (branches, m) from a to b of each branch.

    Floating nodes (`island` ≠ 0) carry volts against one node of their own island.
    """

    volts: FloatArray
    island: IntArray
    amps: FloatArray


def solve_linear(wiring: Wiring, siemens: FloatArray, emf: FloatArray) -> LinearSolution:
    """Solve m cases. `siemens`, `emf` (branches, m); siemens may be inf (ideal) or 0 (open).

    Raises CircuitError for contradictory ideal sources.
    """
    m = siemens.shape[1]
    groups = list(patterns(siemens))
    if len(groups) == 1:
        return _solve_group(wiring, groups[0][0], siemens, emf)
    out = LinearSolution(
        np.empty((wiring.nodes, m)),
        np.empty((wiring.nodes, m), dtype=np.int32),
        np.empty(siemens.shape),
    )
    for ideal, cases in groups:
        found = _solve_group(wiring, ideal, siemens[:, cases], emf[:, cases])
        out.volts[:, cases], out.island[:, cases] = found.volts, found.island
        out.amps[:, cases] = found.amps
    return out


def patterns(siemens: FloatArray) -> Iterator[tuple[tuple[int, ...], NDArray[np.intp]]]:
    """Groups of cases with the same ideal branches: (branch indices, case indices)."""
    infinite = np.isinf(siemens)
    rows = np.flatnonzero(infinite.any(axis=1))
    if rows.size == 0:
        yield (), np.arange(siemens.shape[1])
        return
    kinds, which = np.unique(infinite[rows].T, axis=0, return_inverse=True)
    for i, kind in enumerate(kinds):
        yield tuple(int(r) for r in rows[kind]), np.flatnonzero(which.ravel() == i)


def _solve_group(
    wiring: Wiring, ideal: tuple[int, ...], siemens: FloatArray, emf: FloatArray
) -> LinearSolution:
    reduction = contract(wiring.nodes, wiring.ends, ideal, emf, wiring.names)
    merged = merge(wiring, reduction, ideal, siemens, emf)
    potentials = eliminate(merged.plan, merged.conductance, merged.source)
    volts, island = potentials.volts, potentials.island
    if ideal:
        root = list(reduction.root)
        volts, island = volts[root] + reduction.offset, island[root]
    amps = branch_currents(wiring, reduction, ideal, siemens, emf, volts)
    return LinearSolution(volts, island, amps)


def resistance_to_reference(wiring: Wiring, siemens: FloatArray, emf: FloatArray) -> FloatArray:
    """What an ohmmeter would see from every node to the reference, sources dead: (nodes, m).

    Meaningful only where the node does not float; see `LinearSolution.island`.
    """
    out = np.empty((wiring.nodes, siemens.shape[1]))
    for ideal, cases in patterns(siemens):
        g, e = siemens[:, cases], emf[:, cases]
        reduction = contract(wiring.nodes, wiring.ends, ideal, e, wiring.names)
        merged = merge(wiring, reduction, ideal, g, e)
        behind = self_resistance(merged.plan, merged.conductance)
        out[:, cases] = behind[list(reduction.root)]
    return out


@dataclass(frozen=True)
class Merged:
    """Parallel branches between the same two clusters as one edge.

    `at` maps a branch to its edge and +1, or −1 if it runs against it; branches inside one
    cluster have none.
    """

    plan: Plan
    at: dict[int, tuple[int, float]]
    conductance: FloatArray
    source: FloatArray


def merge(
    wiring: Wiring,
    reduction: Reduction,
    ideal: tuple[int, ...],
    siemens: FloatArray,
    emf: FloatArray,
    late: tuple[int, ...] = (),
) -> Merged:
    """The edges of m cases; the ends of the `late` branches are to be removed last."""
    edges, at = _edges(wiring.ends, reduction.root, ideal)
    shifted = set(np.flatnonzero(reduction.offset.any(axis=1)).tolist()) if ideal else set()
    pushing = np.flatnonzero(emf.any(axis=1)).tolist()
    if shifted:
        tied = [r for r, ends in enumerate(wiring.ends) if not shifted.isdisjoint(ends)]
        pushing = sorted({*pushing, *tied})
    conductance = _side_by_side(len(edges), at, siemens)
    source = np.zeros_like(conductance)
    sourced = {at[branch][0] for branch in late if branch in at}
    for branch in pushing:
        if branch in at:
            edge, sign = at[branch]
            a, b = wiring.ends[branch]
            volts = emf[branch] + reduction.offset[b] - reduction.offset[a]
            source[edge] += sign * siemens[branch] * volts
            sourced.add(edge)
    last = {reduction.root[n] for branch in late for n in wiring.ends[branch]} - {0}
    plan = make_plan(reduction.clusters, edges, frozenset(sourced), frozenset(last))
    return Merged(plan, at, conductance, source)


@lru_cache(maxsize=512)
def _edges(
    ends: tuple[tuple[int, int], ...], root: tuple[int, ...], ideal: tuple[int, ...]
) -> tuple[tuple[tuple[int, int], ...], dict[int, tuple[int, float]]]:
    """Pairs of clusters that branches join, and for every such branch `Merged.at`."""
    edges: dict[tuple[int, int], int] = {}
    at: dict[int, tuple[int, float]] = {}
    for branch, (a, b) in enumerate(ends):
        root_a, root_b = root[a], root[b]
        if root_a != root_b and branch not in ideal:
            key = (min(root_a, root_b), max(root_a, root_b))
            at[branch] = (edges.setdefault(key, len(edges)), 1.0 if root_a == key[0] else -1.0)
    return tuple(edges), at


def _side_by_side(edges: int, at: dict[int, tuple[int, float]], siemens: FloatArray) -> FloatArray:
    """Conductances of the edges (edges, m): those of the branches of each added up."""
    first: list[int] = []  # edges are numbered in the order of their first branches
    further = []
    for branch, (edge, _) in at.items():
        if edge == len(first):
            first.append(branch)
        else:
            further.append((branch, edge))
    conductance = siemens[first] if edges else np.zeros((0, siemens.shape[1]))
    for branch, edge in further:
        conductance[edge] += siemens[branch]
    return conductance


def branch_currents(
    wiring: Wiring,
    reduction: Reduction,
    ideal: tuple[int, ...],
    siemens: FloatArray,
    emf: FloatArray,
    volts: FloatArray,
) -> FloatArray:
    """Branch currents; those of ideal branches from Kirchhoff's current law."""
    a, b = wiring.a, wiring.b
    amps = volts[a]
    amps -= volts[b]
    amps -= emf
    if not ideal:
        amps *= siemens
        return amps
    finite = siemens.copy()
    finite[list(ideal)] = 0.0
    amps *= finite
    entering = np.zeros_like(volts)
    np.subtract.at(entering, a, amps)
    np.add.at(entering, b, amps)
    amps[list(ideal)] = reduction.shared_loop @ entering
    return amps


def worst_residual(
    wiring: Wiring, siemens: FloatArray, emf: FloatArray, solution: LinearSolution
) -> FloatArray:
    """Kirchhoff's current law at every node, per case (m,): |Σ i| over what rounding can explain.

    The scale at a node is Σ g·2·V, with V the largest voltage of the case, because any potential
    is only known to eps·V, plus the currents of its ideal branches; for nodes tied by ideal
    branches it is the largest among them;
    a value of 1e-12 means twelve good digits in the balance of every node.
    """
    a, b = wiring.a, wiring.b
    ideal = np.isinf(siemens)
    g = np.where(ideal, 0.0, siemens)
    top = np.abs(np.concatenate([solution.volts, emf])).max(axis=0)
    size = 2.0 * g * top
    size += np.where(ideal, np.abs(solution.amps), 0.0)
    balance = np.zeros_like(solution.volts)
    scale = np.zeros_like(solution.volts)
    np.add.at(balance, a, solution.amps)
    np.subtract.at(balance, b, solution.amps)
    np.add.at(scale, a, size)
    np.add.at(scale, b, size)
    _share_over_joints(wiring, ideal, scale)
    # the reference takes whatever the rest leaves over, but only in its own island
    ratio = np.abs(balance) / np.maximum(scale, 1e-30)
    return np.asarray(ratio.max(axis=0))


def _share_over_joints(wiring: Wiring, ideal: NDArray[np.bool_], scale: FloatArray) -> None:
    """Give all nodes tied by ideal branches the largest scale among them, in place.

    The current of a joint is a sum over the others at its nodes, so it is as exact as the
    largest of these: a joint to a dead end beside 1000 A shows 1e-13 A, not 0.
    """
    tying = [(r, *wiring.ends[r]) for r in np.flatnonzero(ideal.any(axis=1))]
    grown = bool(tying)
    while grown:
        grown = False
        for r, a, b in tying:
            top = np.where(ideal[r], np.maximum(scale[a], scale[b]), 0.0)
            for n in (a, b):
                if np.any(top > scale[n]):
                    np.maximum(scale[n], top, out=scale[n])
                    grown = True
