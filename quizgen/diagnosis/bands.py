"""The outcomes of a reading: stretches of the scale that leave different suspects.

Each cell may show anything from a lowest to a highest figure, tolerance included. The scale is
cut where the figures of some group of suspects begin or end; a cell shows a stretch with the
share of its range that lies in it. Beginnings nearer to each other than the meter can tell are
one, and so are ends, and a stretch too narrow to be told from the next joins it, so that
nothing is told apart by a hair.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np

from quizgen.solver.laws import FloatArray

Stretch = tuple[float, float]


def stretches(
    low: FloatArray, high: FloatArray, groups: Sequence[int], blur: float
) -> tuple[list[Stretch], FloatArray]:
    """Stretches of the scale in rising order, and how likely each range shows them.

    `low`, `high` (ranges,) with low < high; `groups` number what needs no telling apart;
    `blur` is how far two beginnings may lie apart and count as one. The likelihood is
    (stretches, ranges); every column sums to 1.

    >>> stretches(np.array([0.0, 11.0]), np.array([1.0, 12.0]), [0, 1], 0.2)[0]
    [(0.0, 1.0), (11.0, 12.0)]
    """
    reaches = list(_reaches(low, high, groups))
    starts = _clusters([a for a, _ in reaches], blur)
    stops = _clusters([b for _, b in reaches], blur)
    low = np.array([_snapped(x, starts, 0) for x in low])
    high = np.array([_snapped(x, stops, 1) for x in high])
    edges = np.array(sorted({a for a, _ in starts} | {b for _, b in stops}))
    inside = np.minimum(high[None, :], edges[1:, None]) - np.maximum(low[None, :], edges[:-1, None])
    share = np.clip(inside, 0.0, None) / (high - low)[None, :]
    kept = np.flatnonzero(share.sum(axis=1) > 1e-12)
    found = [(float(edges[i]), float(edges[i + 1])) for i in kept]
    return _widened(found, share[kept], blur)


def _widened(
    found: list[Stretch], share: FloatArray, blur: float
) -> tuple[list[Stretch], FloatArray]:
    """Stretches narrower than `blur` go to the narrower neighbour that they touch."""
    while True:
        narrow = [
            (b[1] - a[0], i)
            for i, (a, b) in enumerate(pairwise(found))
            if a[1] == b[0] and min(a[1] - a[0], b[1] - b[0]) < blur
        ]
        if not narrow:
            return found, share
        _, i = min(narrow)
        found = [*found[:i], (found[i][0], found[i + 1][1]), *found[i + 2 :]]
        share = np.concatenate([share[:i], share[i : i + 2].sum(axis=0)[None], share[i + 2 :]])


def _reaches(low: FloatArray, high: FloatArray, groups: Sequence[int]) -> Iterable[Stretch]:
    """Where the figures of each group begin and end; a group may have several reaches."""
    by_group: dict[int, list[Stretch]] = {}
    for group, a, b in zip(groups, low.tolist(), high.tolist(), strict=True):
        by_group.setdefault(group, []).append((a, b))
    for ranges in by_group.values():
        start, stop = min(ranges)
        for a, b in sorted(ranges):
            if a > stop:
                yield start, stop
                start = a
            stop = max(stop, b)
        yield start, stop


def _clusters(values: Iterable[float], blur: float) -> list[Stretch]:
    """(first, last) of neighbours that lie within `blur` of their first."""
    found: list[Stretch] = []
    for value in sorted(values):
        if found and value - found[-1][0] <= blur:
            found[-1] = found[-1][0], value
        else:
            found.append((value, value))
    return found


def _snapped(value: float, clusters: Sequence[Stretch], side: int) -> float:
    return next((c[side] for c in clusters if c[0] <= value <= c[1]), float(value))
