"""Outcomes that a real circuit might settle otherwise, so that no question may rest on them."""

from __future__ import annotations

from typing import Any

import numpy as np

from quizgen.solver.history import Settled
from quizgen.solver.movers import Local, heats_next, overload
from quizgen.solver.network import IntArray, Network
from quizgen.solver.part_model import Heats
from quizgen.solver.protectors import AMBIGUOUS_FACTOR, marginal


def note_doubts(
    network: Network,
    settled: Settled,
    found: list[tuple[int, IntArray, Any, Local]],
    cases: IntArray,
) -> None:
    """Mark cases where a protector may or may not open, or two may open in either order."""
    first = np.full(len(cases), np.inf)
    second = np.full(len(cases), np.inf)
    who = np.full((2, len(cases)), -1)
    for slot, at, mover, view in found:
        if not isinstance(mover, Heats):
            continue
        closed = view.state == 0
        ratio = overload(mover, view)
        for i in np.flatnonzero(closed & marginal(ratio)).tolist():
            settled.histories[cases[at[i]]].ambiguous.append(
                f"{network.slots[slot].id} carries {ratio[i]:.2f} times its rating: "
                "it may or may not open"
            )
        due = np.where(closed, heats_next(mover, view)[0], np.inf)
        sooner = due < first[at]
        later = ~sooner & (due < second[at])
        second[at] = np.where(sooner, first[at], np.where(later, due, second[at]))
        who[1, at] = np.where(sooner, who[0, at], np.where(later, slot, who[1, at]))
        first[at] = np.where(sooner, due, first[at])
        who[0, at] = np.where(sooner, slot, who[0, at])
    close = np.isfinite(second) & (second < AMBIGUOUS_FACTOR * first)
    for i in np.flatnonzero(close).tolist():
        names = " and ".join(network.slots[s].id for s in sorted(who[:, i].tolist()))
        settled.histories[cases[i]].ambiguous.append(f"{names} would open at about the same time")
