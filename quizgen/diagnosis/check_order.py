"""In which order to check suspects one by one, when one of them is the cause.

Checking stops at the cause. The expected cost is least when suspects are taken by falling
probability over cost: two neighbours are exchanged without loss only if p/C says so, and the
cost of the repair, paid in any case, cancels (Kadane and Simon 1977, from memory; the
exchange argument is a line of algebra).
"""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.base.errors import InputError


def check_order(probabilities: Sequence[float], costs: Sequence[float]) -> tuple[int, ...]:
    """Indices in the best order; equals keep theirs.

    Raises InputError for a cost that is not above 0.

    >>> check_order([0.6, 0.4], [6.0, 1.0])
    (1, 0)
    """
    if any(not cost > 0.0 for cost in costs):
        raise InputError("the cost of a check must be above 0")
    pairs = list(zip(probabilities, costs, strict=True))
    return tuple(sorted(range(len(pairs)), key=lambda i: -pairs[i][0] / pairs[i][1]))


def expected_cost(
    order: Sequence[int], probabilities: Sequence[float], costs: Sequence[float]
) -> float:
    """Expected cost of checking in `order` until the cause is found.

    >>> round(expected_cost([1, 0], [0.6, 0.4], [6.0, 1.0]), 9)
    4.6
    """
    spent = total = 0.0
    for i in order:
        spent += costs[i]
        total += probabilities[i] * spent
    return total
