"""How sure one is, in probabilities and bits.

Pure arithmetic on arrays; knows nothing of circuits. A *hypothesis* is one way things can be,
an *outcome* one thing that a test can show. `likelihood[o, h]` is the probability of outcome o
if hypothesis h holds; every column sums to 1. Formulas: Cover and Thomas, Elements of
Information Theory, sec. 2.1 to 2.4 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from quizgen.base.errors import InputError
from quizgen.solver.laws import FloatArray


def normalised(weights: ArrayLike) -> FloatArray:
    """Weights as probabilities. Raises InputError when none is above 0, or one is below.

    >>> normalised([1.0, 3.0]).tolist()
    [0.25, 0.75]
    """
    values = np.asarray(weights, dtype=np.float64)
    total = float(values.sum())
    if (values < 0.0).any() or not 0.0 < total < np.inf:
        raise InputError("weights must not be below 0, and one must be above 0")
    return np.asarray(values / total)


def entropy(probabilities: ArrayLike) -> float:
    """Bits by which the outcome is uncertain; what is impossible counts for nothing.

    >>> entropy([0.5, 0.25, 0.25, 0.0])
    1.5
    """
    p = np.asarray(probabilities, dtype=np.float64)
    p = p[p > 0.0]
    return float(-(p * np.log2(p)).sum()) + 0.0


def posterior(prior: ArrayLike, likelihood: ArrayLike) -> FloatArray:
    """Probabilities after an outcome; `likelihood[h]` is how probable h made it.

    Raises InputError when no hypothesis allows the outcome.

    >>> posterior([0.5, 0.3, 0.2], [0.0, 1.0, 1.0]).round(3).tolist()
    [0.0, 0.6, 0.4]
    """
    joint = np.asarray(prior, dtype=np.float64) * np.asarray(likelihood, dtype=np.float64)
    if not joint.sum() > 0.0:
        raise InputError("no hypothesis allows this outcome")
    return normalised(joint)


def information(prior: ArrayLike, likelihood: ArrayLike) -> float:
    """Bits that a test is expected to tell about the hypotheses; never below 0.

    H(outcome) − Σ prior · H(outcome | hypothesis). A test whose outcome each hypothesis
    settles tells the entropy of its outcomes.

    >>> information([0.25] * 4, [[1, 1, 0, 0], [0, 0, 1, 1]])
    1.0
    """
    p = normalised(prior)
    table = np.asarray(likelihood, dtype=np.float64)
    inside = sum(share * entropy(column) for share, column in zip(p, table.T, strict=True))
    return max(entropy(table @ p) - float(inside), 0.0)


def settled(outcomes: Sequence[int]) -> FloatArray:
    """The likelihood of a test whose outcome each hypothesis settles: (outcomes, hypotheses).

    >>> settled([0, 1, 0]).tolist()
    [[1.0, 0.0, 1.0], [0.0, 1.0, 0.0]]
    """
    table = np.zeros((max(outcomes, default=-1) + 1, len(outcomes)))
    table[list(outcomes), range(len(outcomes))] = 1.0
    return table
