"""Which readings leave one claim standing, and what each of them rules out.

Works on a fault dictionary as arrays. A *cell* is what one comparison covers: a member of a
claim, or the range between two neighbouring severities of it. A claim is refuted when every
cell of it is refuted by some observation or reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from quizgen.diagnosis.clicks import NOBODY_KNOWS
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.items.sentences import tenths
from quizgen.solver.laws import FloatArray

DIGIT_VOLTS = 0.1  # last digit of a reading as printed
TOLERANCE_SHARE = 0.005  # of a common digital voltmeter, plus one digit; from memory
MOST_READINGS = 6

BoolArray = NDArray[np.bool_]


def margin_volts(shown: float) -> float:
    """Two readings differ for a technician only by more than this: twice the meter's tolerance.

    >>> round(margin_volts(12.0), 2)
    0.32
    """
    return 2.0 * (TOLERANCE_SHARE * abs(shown) + DIGIT_VOLTS)


@dataclass(frozen=True)
class Evidence:
    """Everything that could be known about the hidden fault in `row` of the dictionary."""

    dictionary: FaultDictionary
    row: int

    @cached_property
    def cells(self) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
        """(claim, row, row) of every cell."""
        found = []
        d = self.dictionary
        for claim, rows in d.rows_of.items():
            steady = [r for r in rows if d.members[r].variant == 0]
            graded = claim >= 0 and d.claims[claim].graded and len(steady) > 1
            pairs = list(pairwise(steady)) if graded else []
            pairs = pairs or [(r, r) for r in steady]
            pairs += [(r, r) for r in rows if d.members[r].variant > 0]
            found += [(claim, a, b) for a, b in pairs]
        claims, a, b = (np.array(x, dtype=np.intp) for x in zip(*found, strict=True))
        return claims, a, b

    @cached_property
    def shown(self) -> FloatArray:
        """What the meter shows at every point (points,), as printed."""
        return np.array([tenths(volts) for volts in self.dictionary.low[:, self.row].tolist()])

    @cached_property
    def bounds(self) -> tuple[FloatArray, FloatArray]:
        """Lowest and highest volts of every cell at every point (points, cells)."""
        _, a, b = self.cells
        d = self.dictionary
        low = np.minimum(d.low[:, a], d.low[:, b])
        return low, np.maximum(d.high[:, a], d.high[:, b])

    @cached_property
    def gap(self) -> FloatArray:
        """By how much a cell misses a reading beyond the margin (points, cells); > 0 refutes."""
        low, high = self.bounds
        shown = self.shown[:, None]
        margin = np.array([margin_volts(v) for v in self.shown])[:, None]
        return np.asarray(np.maximum(low - shown, shown - high) - margin)

    @cached_property
    def unseen(self) -> BoolArray:
        """(observations, cells): refuted by what the driver sees of each load, then by clicks."""
        _, a, b = self.cells
        rows = []
        for load in range(len(self.dictionary.seen[self.row])):
            level = np.array([seen[load].level for seen in self.dictionary.seen])
            sure = ~np.array([seen[load].doubtful for seen in self.dictionary.seen])
            differs = level != level[self.row]
            rows.append(differs[a] & differs[b] & (level[a] == level[b]) & sure[a] & sure[b])
        for heard in self.dictionary.heard:
            differs = (heard != heard[self.row]) & (heard != NOBODY_KNOWS)
            rows.append(differs[a] & differs[b] & (heard[a] == heard[b]))
        return np.array(rows) if rows else np.zeros((0, len(a)), dtype=bool)

    def claims_left(self, points: list[int], observations: list[int]) -> set[int]:
        """Claims that the chosen readings and observations do not refute."""
        alive = ~(self.gap[points] > 0).any(axis=0) & ~self.unseen[observations].any(axis=0)
        return set(self.cells[0][alive].tolist())


def choose_points(
    evidence: Evidence, key: int, observations: list[int], candidates: list[int]
) -> list[int] | None:
    """Points to measure so that only claims about the key's part are left; None if impossible.

    Greedy: each reading refutes the most cells that are still alive; readings that the later
    ones made needless are dropped again.
    """
    claims, _, _ = evidence.cells
    part = evidence.dictionary.claims[key].part
    own = np.array([c >= 0 and evidence.dictionary.claims[c].part == part for c in claims])
    refutes = evidence.gap > 0
    alive = ~own & ~evidence.unseen[observations].any(axis=0)
    chosen: list[int] = []
    while alive.any():
        gains = [int((refutes[p] & alive).sum()) for p in candidates]
        best = int(np.argmax(gains)) if gains else 0
        if not gains or gains[best] == 0 or len(chosen) == MOST_READINGS:
            return None
        chosen.append(candidates[best])
        alive &= ~refutes[candidates[best]]
    for point in list(chosen):
        rest = [p for p in chosen if p != point]
        covered = refutes[rest].any(axis=0) | evidence.unseen[observations].any(axis=0) | own
        if covered.all():
            chosen = rest
    return chosen
