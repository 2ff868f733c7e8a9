"""How hard an item is likely to be: a hypothesis from its structure, until answers are in.

The predicted share of right answers is a guess allowance plus a logistic curve:
p = g + (1 − g) / (1 + exp(−(b − Σ w·x))), g = 1/options, for features x of the item.
"""

from __future__ import annotations

from math import exp

from quizgen.items.item import LEVELS, Item

BASE = 1.6
LEVEL_STEP = 0.35


def predicted_share(item: Item) -> float:
    """The share of a class that is expected to answer right, 0 to 1."""
    logit = BASE - LEVEL_STEP * LEVELS.index(item.level)
    guess = 1.0 / len(item.options) if item.response == "one" and item.options else 0.0
    return guess + (1.0 - guess) / (1.0 + exp(-logit))
