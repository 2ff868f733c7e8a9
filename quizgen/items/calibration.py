"""Difficulty from real answers: the weights of `difficulty` fitted to who got what right.

Logistic regression on item features with a fixed lower bound for guessing, penalised towards
the hypothesis: with few answers the weights hardly move, with many the answers decide. The
penalty is a normal prior of standard deviation `TRUST` logits around each hypothesised weight,
divided by how much a feature varies in what is asked, so no unit counts more than another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from quizgen.items.difficulty import HYPOTHESIS, WEIGHTS, Difficulty, features, guessed
from quizgen.items.item import Item

TRUST = 0.5
FIXED = 1e9
FEWEST_ANSWERS = 200  # with fewer a report still calls the shares predictions (ours)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Answers:
    """How often an item was answered, and how often right."""

    item: Item
    count: int
    right: int


def calibrate(answers: Sequence[Answers], trust: float = TRUST) -> Difficulty:
    """The weights that fit best; the hypothesis itself when there are no answers."""
    asked = [a for a in answers if a.count > 0]
    if not asked:
        return HYPOTHESIS
    names = list(WEIGHTS)
    x = np.array([[features(a.item)[name] for name in names] for a in asked])
    guess = np.array([guessed(a.item) for a in asked])
    count = np.array([float(a.count) for a in asked])
    right = np.array([float(a.right) for a in asked])
    prior = np.array([HYPOTHESIS.base, *(WEIGHTS[name] for name in names)])
    design = np.column_stack([np.ones(len(asked)), x])
    fitted = fit(design, guess, count, right, prior, trust)
    weights = dict(zip(names, fitted[1:].tolist(), strict=True))
    return Difficulty(float(fitted[0]), weights, calibrated=bool(count.sum() >= FEWEST_ANSWERS))


def fit(
    design: FloatArray,
    guess: FloatArray,
    count: FloatArray,
    right: FloatArray,
    prior: FloatArray,
    trust: float = TRUST,
) -> FloatArray:
    """Weights (n,) of `design` (items, n), ones in its first column, by penalised likelihood.

    `guess`, `count` and `right` by item; `prior` (n,) are the weights without any answers.
    """
    spread = design.std(axis=0)
    spread[0] = 1.0
    # of a feature that is the same in all items nothing can be learnt: it keeps its weight
    penalty = np.where(spread > 0.0, (spread / trust) ** 2, FIXED)

    def loss(weights: FloatArray) -> tuple[float, FloatArray]:
        logistic = 1.0 / (1.0 + np.exp(-np.clip(design @ weights, -30.0, 30.0)))
        p = np.clip(guess + (1.0 - guess) * logistic, 1e-12, 1.0 - 1e-12)
        away = weights - prior
        value = -(right * np.log(p) + (count - right) * np.log1p(-p)).sum()
        value += 0.5 * (penalty * away**2).sum()
        by_p = (count - right) / (1.0 - p) - right / p
        slope = by_p * (1.0 - guess) * logistic * (1.0 - logistic)
        return float(value), np.asarray(design.T @ slope + penalty * away)

    found = minimize(loss, prior.copy(), jac=True, method="L-BFGS-B")
    return np.asarray(found.x, dtype=np.float64)
