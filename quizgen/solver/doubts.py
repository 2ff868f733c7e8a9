"""Outcomes that a real circuit might settle otherwise, so that no question may rest on them."""

from __future__ import annotations

import numpy as np

from quizgen.solver.history import Settled
from quizgen.solver.network import IntArray, Network
from quizgen.solver.protectors import AMBIGUOUS_FACTOR, marginal
from quizgen.solver.waiting import Ahead


def note_doubts(network: Network, settled: Settled, ahead: Ahead, cases: IntArray) -> None:
    """Mark cases where a protector may or may not open, or two may open in either order."""
    unsure = np.nonzero(ahead.closed & marginal(ahead.ratio))
    for row, i in zip(*(found.tolist() for found in unsure), strict=True):
        settled.histories[cases[i]].ambiguous.append(
            f"{network.slots[ahead.slots[row]].id} carries {ahead.ratio[row, i]:.2f} times its "
            "rating: it may or may not open"
        )
    due = np.where(ahead.closed, ahead.due, np.inf)
    for i in np.flatnonzero(np.isfinite(due).sum(axis=0) > 1).tolist():
        first, second = np.argsort(due[:, i], kind="stable")[:2]
        if due[second, i] < AMBIGUOUS_FACTOR * due[first, i]:
            pair = sorted(ahead.slots[[first, second]].tolist())
            names = " and ".join(network.slots[s].id for s in pair)
            settled.histories[cases[i]].ambiguous.append(
                f"{names} would open at about the same time"
            )
