"""Which of the items made for each slot go into which form.

One integer program a form (`scipy.optimize.milp`, HiGHS): one item for each slot, no two that
are alike, the predicted difficulty of the form as near as can be to that of all, items that
earlier forms have used left alone where others are there.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from quizgen.base.errors import UnprovableError
from quizgen.forms.isomorph import isomorph
from quizgen.items.difficulty import predicted_share
from quizgen.items.item import Item

USED_COST = 100.0  # of an item already in a form; differences in difficulty are far below 1


def select(pool: Sequence[Sequence[Item]], forms: int) -> tuple[tuple[Item, ...], ...]:
    """The items of each form; `pool` has those made for each slot.

    Raises UnprovableError when no choice keeps items apart that are alike.
    """
    flat = [(slot, item) for slot, items in enumerate(pool) for item in items]
    shares = np.array([predicted_share(item) for _, item in flat])
    slot_of = np.array([slot for slot, _ in flat])
    target = sum(float(shares[slot_of == slot].mean()) for slot in range(len(pool)))
    alike = _alike([item for _, item in flat])
    used = np.zeros(len(flat))
    found = []
    for _ in range(forms):
        chosen = _one_form(shares, slot_of, alike, used, target)
        used[chosen] += 1.0
        found.append(tuple(flat[i][1] for i in chosen))
    return tuple(found)


def _one_form(
    shares: np.ndarray[tuple[int], np.dtype[np.float64]],
    slot_of: np.ndarray[tuple[int], np.dtype[np.int_]],
    alike: Sequence[tuple[int, int]],
    used: np.ndarray[tuple[int], np.dtype[np.float64]],
    target: float,
) -> list[int]:
    """Indices of the items taken, by slot. The last unknown is the distance from the target."""
    n = len(shares)
    rows = [np.append((slot_of == slot).astype(float), 0.0) for slot in range(slot_of.max() + 1)]
    limits = [LinearConstraint(np.array(rows), 1.0, 1.0)]
    for sign in (1.0, -1.0):
        limits.append(LinearConstraint(np.append(sign * shares, -1.0), -np.inf, sign * target))
    if alike:
        apart = np.zeros((len(alike), n + 1))
        for row, (a, b) in enumerate(alike):
            apart[row, [a, b]] = 1.0
        limits.append(LinearConstraint(apart, -np.inf, 1.0))
    found = milp(
        np.append(USED_COST * used, 1.0),
        integrality=np.append(np.ones(n), 0.0),
        bounds=Bounds(np.zeros(n + 1), np.append(np.ones(n), np.inf)),
        constraints=limits,
    )
    if found.x is None:
        raise UnprovableError(
            "the questions found for this plan are too much alike for one form; "
            "allow more circuits or kinds, or ask for fewer"
        )
    return [i for i in range(n) if found.x[i] > 0.5]


def _alike(items: Sequence[Item]) -> list[tuple[int, int]]:
    """Pairs that must not meet: isomorphic, or about one and the same broken machine."""
    shapes = [isomorph(item) for item in items]
    origins = [(i.origin.template, i.origin.parameters, i.origin.fault) for i in items]
    return [
        (a, b)
        for a, b in combinations(range(len(items)), 2)
        if shapes[a] == shapes[b] or origins[a] == origins[b]
    ]
