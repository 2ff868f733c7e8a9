"""Mastery: published formulas, step by step and many at once, and the verdicts drawn from them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.proportion import wilson
from quizgen.reports.mastery import (
    BEHIND,
    LIKELY,
    MASTERED,
    TOO_LITTLE,
    intervals,
    knowledge,
    traced,
    verdicts,
)


def test_knowledge_tracing_gives_the_worked_values() -> None:
    """L0=.3 T=.2 G=.25 S=.1, answers 1 0 1 1 1: worked out apart from this code (own figures)."""
    course = knowledge([True, False, True, True, True], 0.25)
    assert course == pytest.approx([0.6854, 0.3801, 0.7506, 0.9324, 0.9842], abs=5e-5)


@given(st.lists(st.tuples(st.integers(0, 5), st.booleans(), st.sampled_from([0.25, 1 / 3]))))
def test_many_at_once_are_one_by_one(answers: list[tuple[int, bool, float]]) -> None:
    """The array form gives each pair what the formula gives its answers in their order."""
    who = np.array([a[0] for a in answers], dtype=np.int64)
    right = np.array([a[1] for a in answers], dtype=bool)
    guess = np.array([0.25 for _ in answers])
    found = traced(who, right, guess, 6)
    for pair in range(6):
        mine = [r for w, r, _ in answers if w == pair]
        assert found[pair] == pytest.approx(knowledge(mine, 0.25)[-1] if mine else 0.3)


@given(st.integers(0, 400), st.integers(0, 400))
def test_intervals_agree_with_the_single_one(a: int, b: int) -> None:
    """Newcombe 1998, 81 of 263 gives 0.2553 to 0.3662; arrays and single values are the same."""
    right, total = min(a, b), max(a, b)
    low, high = intervals(np.array([right, 81]), np.array([total, 263]))
    assert (low[0], high[0]) == pytest.approx(wilson(right, total))
    assert (round(float(low[1]), 4), round(float(high[1]), 4)) == (0.2553, 0.3662)


@pytest.mark.parametrize(
    ("right", "total", "known", "expected"),
    [
        (6, 6, 0.99, MASTERED),  # Wilson 0.610
        (5, 5, 0.99, LIKELY),  # Wilson 0.566
        (10, 10, 0.94, TOO_LITTLE),  # the other measure is not sure
        (0, 0, 0.3, TOO_LITTLE),
        (2, 12, 0.96, BEHIND),  # 12 answers outweigh a lucky end
        (1, 3, 0.5, TOO_LITTLE),
    ],
)
def test_a_verdict_needs_both_measures(right: int, total: int, known: float, expected: int) -> None:
    """Too few answers are never failure, and never mastery."""
    found = verdicts(np.array([right]), np.array([total]), np.array([known]))
    assert found.tolist() == [expected]
