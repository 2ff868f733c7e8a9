"""Wilson intervals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from quizgen.base.proportion import wilson


@pytest.mark.parametrize(
    ("count", "total", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 10, 0.0, 0.2775)],
)
def test_published_examples(count: int, total: int, low: float, high: float) -> None:
    """Newcombe 1998, Statistics in Medicine 17:857, table I (from memory; the last by scipy)."""
    assert wilson(count, total) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_as_a_statistics_library_computes_it(counted: tuple[int, int]) -> None:
    """scipy's binomtest with method="wilson", an independent implementation."""
    count, total = counted
    expected = binomtest(count, total).proportion_ci(0.95, method="wilson")
    assert wilson(count, total) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_ten_of_ten_is_not_yet_certain() -> None:
    """10 of 10 gives at least 72.2 %, 17 of 20 at least 64.0 %; nothing at all says nothing."""
    assert wilson(10, 10)[0] == pytest.approx(0.722, abs=5e-4)
    assert wilson(17, 20)[0] == pytest.approx(0.640, abs=5e-4)
    assert wilson(0, 0) == (0.0, 1.0)
