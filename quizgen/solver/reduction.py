"""Contraction of ideal joints and ideal sources: union-find with potential offsets.

A joint is a source of 0 V, a source is a joint with an offset. Nodes tied together this way
move as one: V_node = V_root + offset. What is left are resistive branches between roots.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import CircuitError

FloatArray = NDArray[np.float64]
CONTRADICTION_VOLTS = 1e-9


@dataclass(frozen=True)
class Reduction:
    """`root[n]` numbers the cluster of node n (0 holds the reference); `offset` (nodes, m)."""

    root: tuple[int, ...]
    clusters: int
    offset: FloatArray
    shared_loop: FloatArray  # (ideal branches, nodes): currents from what must leave each node


class _Forest:
    """Union-find whose links carry a potential: V_n = V_root + offset."""

    def __init__(self, nodes: int, m: int) -> None:
        self.parent = list(range(nodes))
        self.offset = np.zeros((nodes, m))  # against the parent

    def find(self, n: int) -> tuple[int, FloatArray]:
        """Root of a node and the node's offset against it (m,)."""
        total = np.zeros(self.offset.shape[1])
        while self.parent[n] != n:
            total = total + self.offset[n]
            n = self.parent[n]
        return n, total

    def join(self, a: int, b: int, volts: FloatArray) -> bool:
        """Tie V_a − V_b = volts. False if that contradicts what is tied already."""
        (root_a, off_a), (root_b, off_b) = self.find(a), self.find(b)
        if root_a == root_b:
            return not np.any(np.abs(off_a - off_b - volts) > CONTRADICTION_VOLTS)
        low, high = sorted((root_a, root_b))  # the reference is node 0 and stays a root
        shift = volts + off_b - off_a  # V_root_a − V_root_b
        self.parent[high], self.offset[high] = low, shift if high == root_a else -shift
        return True


def contract(
    nodes: int,
    ends: tuple[tuple[int, int], ...],
    ideal: tuple[int, ...],
    volts: FloatArray,
    names: tuple[str, ...],
) -> Reduction:
    """Tie the nodes joined by the `ideal` branches.

    `volts` (branches, m): offset v_a − v_b of each branch. `names` of the branches for
    messages. Raises CircuitError when a loop of ideal sources contradicts itself.
    """
    if not ideal:
        offset = np.zeros((nodes, volts.shape[1]))
        return Reduction(tuple(range(nodes)), nodes, offset, np.zeros((0, nodes)))
    forest = _Forest(nodes, volts.shape[1])
    for branch in ideal:
        if not forest.join(*ends[branch], volts[branch]):
            raise CircuitError(
                f"{names[branch]} closes a loop of ideal sources whose voltages do not add "
                "up; give one of them an internal resistance"
            )
    found = [forest.find(n) for n in range(nodes)]
    numbers = {r: i for i, r in enumerate(sorted({r for r, _ in found}))}
    return Reduction(
        tuple(numbers[r] for r, _ in found),
        len(numbers),
        np.array([off for _, off in found]),
        _current_share(nodes, ends, ideal),
    )


def _current_share(
    nodes: int, ends: tuple[tuple[int, int], ...], ideal: tuple[int, ...]
) -> FloatArray:
    """Matrix from the current entering each node (from resistive branches) to ideal currents.

    A branch outside all loops carries exactly the sum of what enters on its far side. Where
    ideal branches form a loop Kirchhoff's law leaves the split open; the least-squares
    solution is the one that equal tiny resistances would give.
    """
    up, order = _spanning_forest(nodes, ends, ideal)
    share = np.zeros((len(ideal), nodes))
    far_side = np.eye(nodes)
    for child in reversed(order):
        column, parent, sign = up[child]
        share[column] = sign * far_side[child]
        far_side[parent] += far_side[child]
    in_tree = {column for column, _, _ in up.values()}
    chords = [column for column in range(len(ideal)) if column not in in_tree]
    loops = np.zeros((len(ideal), len(chords)))
    for loop, chord in enumerate(chords):
        loops[chord, loop] = 1.0
        for end, way in zip(ends[ideal[chord]], (-1.0, 1.0), strict=True):
            node = end
            while node in up:
                column, node, sign = up[node]
                loops[column, loop] += way * sign
    return np.asarray(share - loops @ np.linalg.solve(loops.T @ loops, loops.T @ share))


def _spanning_forest(
    nodes: int, ends: tuple[tuple[int, int], ...], ideal: tuple[int, ...]
) -> tuple[dict[int, tuple[int, int, float]], list[int]]:
    """Trees of ideal branches: child → (position in `ideal`, parent, +1 if it runs upwards).

    Also the children, each after its parent.
    """
    beside: dict[int, list[tuple[int, int, float]]] = {n: [] for n in range(nodes)}
    for column, branch in enumerate(ideal):
        a, b = ends[branch]
        beside[a].append((column, b, -1.0))
        beside[b].append((column, a, 1.0))
    up: dict[int, tuple[int, int, float]] = {}
    order: list[int] = []
    seen: set[int] = set()
    for start in range(nodes):
        waiting = [] if start in seen else [start]
        seen.add(start)
        while waiting:
            parent = waiting.pop()
            for column, child, sign in beside[parent]:
                if child not in seen:
                    seen.add(child)
                    up[child] = (column, parent, sign)
                    order.append(child)
                    waiting.append(child)
    return up, order
