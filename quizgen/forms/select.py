"""Which of the items made for each slot go into which form.

One integer program a form (`scipy.optimize.milp`, HiGHS): one item for each slot, no two that
are alike, the predicted difficulty of the form as near as can be to that of all, items that
earlier forms have used left alone where others are there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from quizgen.base.errors import UnprovableError
from quizgen.forms.isomorph import isomorph
from quizgen.forms.lint_form import most_longest_keys
from quizgen.items.difficulty import predicted_share
from quizgen.items.item import Item
from quizgen.items.lint.item_rules import key_is_longest

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int_]

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
    longest = np.array([key_is_longest(item) for _, item in flat], dtype=float)
    rules = [*_one_of_each(slot_of), *_apart(alike, len(flat)), _seldom_longest(longest, pool)]
    used = np.zeros(len(flat))
    found = []
    for _ in range(forms):
        chosen = _one_form(shares, rules, used, target)
        used[chosen] += 1.0
        found.append(tuple(flat[i][1] for i in chosen))
    return tuple(found)


def _one_form(
    shares: FloatArray, rules: Sequence[LinearConstraint], used: FloatArray, target: float
) -> list[int]:
    """Indices of the items taken, by slot. The last unknown is the distance from the target."""
    n = len(shares)
    near = [
        LinearConstraint(np.append(sign * shares, -1.0), -np.inf, sign * target)
        for sign in (1.0, -1.0)
    ]
    found = milp(
        np.append(USED_COST * used, 1.0),
        integrality=np.append(np.ones(n), 0.0),
        bounds=Bounds(np.zeros(n + 1), np.append(np.ones(n), np.inf)),
        constraints=[*rules, *near],
    )
    if found.x is None:
        raise UnprovableError(
            "the questions found for this plan are too much alike for one form; "
            "allow more circuits or kinds, or ask for fewer"
        )
    return [i for i in range(n) if found.x[i] > 0.5]


def _one_of_each(slot_of: IntArray) -> Iterator[LinearConstraint]:
    for slot in range(slot_of.max() + 1):
        yield LinearConstraint(np.append(slot_of == slot, 0.0), 1.0, 1.0)


def _apart(alike: Sequence[tuple[int, int]], n: int) -> Iterator[LinearConstraint]:
    for pair in alike:
        row = np.zeros(n + 1)
        row[list(pair)] = 1.0
        yield LinearConstraint(row, -np.inf, 1.0)


def _seldom_longest(longest: FloatArray, pool: Sequence[Sequence[Item]]) -> LinearConstraint:
    """The longest option is the key no oftener than chance has it (rule L01)."""
    options = min((len(i.options) for items in pool for i in items if i.options), default=1)
    forced = sum(all(key_is_longest(i) for i in items) for items in pool)
    most = max(forced, most_longest_keys(len(pool), options))
    return LinearConstraint(np.append(longest, 0.0), -np.inf, most)


def _alike(items: Sequence[Item]) -> list[tuple[int, int]]:
    """Pairs that must not meet: isomorphic, or about one and the same broken machine."""
    shapes = [isomorph(item) for item in items]
    origins = [(i.origin.template, i.origin.parameters, i.origin.fault) for i in items]
    return [
        (a, b)
        for a, b in combinations(range(len(items)), 2)
        if shapes[a] == shapes[b] or origins[a] == origins[b]
    ]
