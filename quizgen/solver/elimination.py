"""Star-mesh elimination without diagonal and without subtraction, for many cases at once.

To remove node k with conductances g_kj and S = Σ g_kj, every pair of its neighbours gets
g_ki·g_kj/S between them; afterwards V_k = Σ (g_kj/S)·V_j. All terms are positive, so the
relative error stays near n·eps at any spread of values: opens of 1e12 Ω beside shorts of
1e-3 Ω cost nothing. A node with S = 0 is *floating* and comes back as that.

An edge may hold a source: i = g (V_a − V_b) − J with J = g·e. Then the pair (i, j) gets
J_ij = (g_i·J_j − g_j·J_i)/S. The difference is between offsets e_j − e_i, which are volts
of the same size, so the error stays near eps times the largest source.

The order of elimination and the list of pairs depend only on which nodes are joined: see
`plans.py`. They are applied to all cases as numpy arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.plans import Plan, Round

FloatArray = NDArray[np.float64]

NOTHING = 1e-300  # siemens; far below any sum of conductances, so that 1/S is finite
LONE = 1e299
WIDE = 250  # cases


@dataclass(frozen=True)
class Potentials:
    """Result for m cases. `volts` (n, m); a floating island counts from one node of its own,
    named by `island` (n, m); island 0 is the reference's, so island ≠ 0 means floating."""

    volts: FloatArray
    island: NDArray[np.int32]


class Sheet:
    """The working arrays of m cases during elimination.

    `g`, `j` (edges, m): conductance and source; of a removed star they hold g/S and J.
    `inverse` (nodes, m): 1/S of a removed node, at least LONE where nothing was joined to it.
    """

    def __init__(self, plan: Plan, conductance: FloatArray, source: FloatArray) -> None:
        m = conductance.shape[1]
        self.g, self.j = np.zeros((plan.edges, m)), np.zeros((plan.edges, m))
        self.g[plan.place], self.j[plan.place] = conductance, source
        self.inverse = np.zeros((plan.nodes, m))

    def remove(self, rounds: Sequence[Round]) -> None:
        """Remove the stars of some rounds in order."""
        remove = _remove_each if self.g.shape[1] > WIDE else _remove
        for stars in rounds:
            remove(stars, self.g, self.j, self.inverse)

    def restore(self, rounds: Sequence[Round], known: Potentials) -> None:
        """Find the potentials of removed stars, last first, into `known`."""
        volts, island = known.volts, known.island
        floating = np.asarray(island.any(axis=1))
        lone = np.asarray((self.inverse >= LONE).any(axis=1))
        for stars in reversed(rounds):
            k, inverse = stars.k, self.inverse[stars.k]
            weights = stars.arms(self.g)
            found = np.add.reduce(weights * volts[stars.neighbours], axis=0)
            if stars.sourced:
                found += inverse * np.add.reduce(stars.signs * stars.arms(self.j), axis=0)
            volts[k] = found
            if lone[k].any() or floating[stars.neighbours].any():
                floating[k] = True
                own = np.repeat(k[:, None].astype(np.int32), island.shape[1], axis=1)
                for n, weight in zip(stars.neighbours, weights, strict=True):
                    np.copyto(own, island[n], where=weight > 0.0)
                island[k] = own


def no_potentials(plan: Plan, m: int) -> Potentials:
    """Room for the potentials of m cases, the reference at 0 V."""
    return Potentials(np.zeros((plan.nodes, m)), np.zeros((plan.nodes, m), dtype=np.int32))


def eliminate(plan: Plan, conductance: FloatArray, source: FloatArray) -> Potentials:
    """Node potentials of m cases.

    `conductance` (given edges, m) in siemens, ≥ 0 and finite; `source` the same shape, in
    ampere (J = g·e from first to second node of the edge). Both are left unchanged.
    """
    sheet = Sheet(plan, conductance, source)
    sheet.remove(plan.rounds)
    found = no_potentials(plan, conductance.shape[1])
    sheet.restore(plan.rounds, found)
    return found


def self_resistance(plan: Plan, conductance: FloatArray) -> FloatArray:
    """Resistance from every node to the reference (nodes, m), all sources replaced by joints.

    The inverse of the network on the pattern of its own elimination, last node first:
    Z_kj = Σ w_i·Z_ij over the star of k, and Z_kk = 1/S + Σ w_j·Z_kj, again without
    subtraction. The figure of a floating node counts from its island's own node.
    """
    m = conductance.shape[1]
    sheet = Sheet(plan, conductance, np.zeros_like(conductance))
    sheet.remove(plan.rounds)
    own = np.zeros((plan.nodes, m))
    shared = np.zeros((plan.edges, m))  # Z between the ends of an edge; 0 at the reference
    for stars in reversed(plan.rounds):
        weights = stars.arms(sheet.g)
        to_centre = stars.arms(shared)
        to_centre[:] = weights * own[stars.neighbours]
        for a, b, joint in zip(stars.left, stars.right, stars.joint, strict=True):
            to_centre[a] += weights[b] * shared[joint]
            to_centre[b] += weights[a] * shared[joint]
        inverse = sheet.inverse[stars.k]
        own[stars.k] = np.add.reduce(weights * to_centre, axis=0)
        own[stars.k] += np.where(inverse < LONE, inverse, 0.0)
    return own


def _remove(stars: Round, g: FloatArray, j: FloatArray, inverse: FloatArray) -> None:
    """Join the neighbours of each star; leaves g/S in the stars' own edges."""
    arms = stars.arms(g)
    inv = 1.0 / np.maximum(np.add.reduce(arms, axis=0), NOTHING)
    inverse[stars.k] = inv
    weights = arms * inv
    if len(stars.left):
        left = weights[stars.left]
        g[stars.joint] += left * arms[stars.right]
        if stars.sourced:
            pushes = stars.signs * stars.arms(j)
            left *= pushes[stars.right]
            left -= weights[stars.right] * pushes[stars.left]
            left *= stars.ways
            j[stars.joint] += left
    arms[:] = weights


def _remove_each(stars: Round, g: FloatArray, j: FloatArray, inverse: FloatArray) -> None:
    """The same star by star and pair by pair: where there are many cases, rows stay in the
    processor's cache and need not be picked."""
    all_arms, all_pushes = stars.arms(g), stars.arms(j)
    for s, star in enumerate(stars.each):
        arms = all_arms[:, s]
        inv = inverse[star.k]
        np.divide(1.0, np.maximum(np.add.reduce(arms, axis=0), NOTHING), out=inv)
        weights = arms * inv
        pushes = star.signs * all_pushes[:, s] if stars.sourced and star.pairs else arms
        for left, right, row, way in star.pairs:
            g[row] += weights[left] * arms[right]
            if stars.sourced:
                to_right = weights[left] * pushes[right]
                to_right -= weights[right] * pushes[left]
                if way > 0.0:
                    j[row] += to_right
                else:
                    j[row] -= to_right
        arms[:] = weights
