"""Mastery: published formulas against lines in odds, verdicts drawn from both measures."""

from __future__ import annotations

from collections.abc import Iterable

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
    Evidence,
    bounds,
    gathered,
    verdicts,
)


def knowledge(answers: Iterable[tuple[bool, float]]) -> list[float]:
    """Corbett and Anderson 1995, in chances as published: L0 = .3, T = .2, S = .1."""
    known, course = 0.3, []
    for right, guess in answers:
        yes, no = (0.9, guess) if right else (0.1, 1 - guess)
        after = known * yes / (known * yes + (1 - known) * no)
        known = after + (1 - after) * 0.2
        course.append(known)
    return course


def of(*answers: tuple[list[list[int]], list[bool], list[float]], size: int) -> Evidence:
    """What is gathered, step by step."""
    steps = ((np.array(pairs), np.array(right), np.array(guess)) for pairs, right, guess in answers)
    return gathered(steps, size)


def test_knowledge_tracing_gives_the_worked_values() -> None:
    """L0=.3 T=.2 G=.25 S=.1, answers 1 0 1 1 1: worked out apart from this code (own figures)."""
    answers = [True, False, True, True, True]
    expected = [0.6854, 0.3801, 0.7506, 0.9324, 0.9842]
    assert knowledge((a, 0.25) for a in answers) == pytest.approx(expected, abs=5e-5)
    found = of(*(([[0]], [a], [0.25]) for a in answers), size=1)
    assert found.odds[0] / (1 + found.odds[0]) == pytest.approx(0.9842, abs=5e-5)
    assert (found.asked[0], found.right[0]) == (5, 4)


@given(
    st.lists(
        st.lists(
            st.tuples(st.booleans(), st.sampled_from([0.05, 0.25, 1 / 3]), st.integers(0, 2)),
            min_size=3, max_size=3,
        ),
        max_size=20,
    )
)  # fmt: skip
def test_many_at_once_are_one_by_one(
    turns: list[list[tuple[bool, float, int]]],
) -> None:
    """Three students, three matters, two of them met at a time: each pair as by the formula."""
    steps = [
        ([[3 * who + m, 3 * who + (m + 1) % 3] for who, (_, _, m) in enumerate(turn)],
         [right for right, _, _ in turn], [guess for _, guess, _ in turn])
        for turn in turns
    ]  # fmt: skip
    found = of(*steps, size=9)
    for pair in range(9):
        mine = [
            (turn[pair // 3][0], turn[pair // 3][1])
            for turn in turns
            if pair % 3 != (turn[pair // 3][2] + 2) % 3
        ]
        course = knowledge(mine)
        known = course[-1] if mine else 0.3
        assert found.odds[pair] / (1 + found.odds[pair]) == pytest.approx(known)
        assert (found.asked[pair], found.right[pair]) == (len(mine), sum(r for r, _ in mine))


def test_no_run_of_right_answers_is_without_end() -> None:
    """A thousand lucky figures in a row are still a number, and sure."""
    found = of(*[([[0]], [True], [0.05])] * 1000, size=1)
    assert np.isfinite(found.odds[0])
    assert verdicts(found).tolist() == [MASTERED]


@pytest.mark.parametrize("cut", [0.3, 0.6, 0.95])
def test_bounds_are_where_the_interval_leaves_the_cut(cut: float) -> None:
    """Of every number of answers up to 120, tried one by one; Newcombe 1998 has 81 of 263."""
    enough, fair = bounds(cut, 120)
    for total in range(121):
        low, high = zip(*(wilson(right, total) for right in range(total + 1)), strict=True)
        assert enough[total] == sum(end < cut for end in low)
        assert fair[total] == sum(end < cut for end in high)
    assert [round(end, 4) for end in wilson(81, 263)] == [0.2553, 0.3662]


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
    odds = np.array([known / (1 - known)])
    evidence = Evidence(asked=np.array([total]), right=np.array([right]), odds=odds)
    assert verdicts(evidence).tolist() == [expected]
