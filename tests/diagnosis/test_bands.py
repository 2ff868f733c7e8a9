"""Where a scale is cut into outcomes. Expected stretches worked out by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from quizgen.diagnosis.bands import stretches
from quizgen.diagnosis.beliefs import information


def test_far_apart_is_told_apart() -> None:
    """0 V and 12 V: two stretches, each suspect in its own; one bit for two equal ones."""
    found, share = stretches(np.array([-0.2, 11.8]), np.array([0.2, 12.2]), [0, 1], 0.2)
    assert found == [(-0.2, 0.2), (11.8, 12.2)]
    assert share.tolist() == [[1.0, 0.0], [0.0, 1.0]]
    assert information([1, 1], share) == pytest.approx(1.0)


def test_a_hair_tells_nothing() -> None:
    """12.00 V and 12.05 V with 0.2 V of tolerance are one stretch."""
    found, share = stretches(np.array([11.8, 11.85]), np.array([12.2, 12.25]), [0, 1], 0.2)
    assert len(found) == 1
    assert share.tolist() == [[1.0, 1.0]]


def test_a_range_falls_into_the_stretches_it_covers() -> None:
    """A severity from 0 to 10 V beside suspects at 0 to 1 and 9 to 10: .1, .8, .1."""
    low, high = np.array([0.0, 0.0, 9.0]), np.array([10.0, 1.0, 10.0])
    found, share = stretches(low, high, [0, 1, 2], 0.2)
    assert found == [(0.0, 1.0), (1.0, 9.0), (9.0, 10.0)]
    assert share[:, 0].tolist() == pytest.approx([0.1, 0.8, 0.1])


def test_the_same_suspects_on_both_sides_are_no_cut() -> None:
    """Two severities of one group that touch are one stretch."""
    found, _ = stretches(np.array([0.0, 5.0]), np.array([5.0, 9.0]), [3, 3], 0.2)
    assert found == [(0.0, 9.0)]


def test_every_range_shows_something() -> None:
    """Columns sum to 1 and stretches do not overlap, on random ranges."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        low = rng.uniform(0.0, 12.0, 20)
        high = low + rng.uniform(0.4, 4.0, 20)
        found, share = stretches(low, high, rng.integers(0, 8, 20).tolist(), 0.2)
        assert share.sum(axis=0) == pytest.approx(np.ones(20))
        assert all(a[1] <= b[0] + 1e-12 for a, b in pairwise(found))
        assert (share >= 0.0).all()
