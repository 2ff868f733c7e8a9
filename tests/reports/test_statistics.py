"""Statistics against published data, other libraries and laws."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from quizgen.base.proportion import wilson
from quizgen.reports.statistics import (
    alpha,
    alpha_interval,
    correlation,
    correlation_interval,
    difficulties,
    discriminations,
    group_weights,
    kr21,
    spearman_brown,
    standard_error,
    upper_lower,
)
from tests.reports.published import ECU, LSAT6_PATTERNS, lsat6


def to(digits: int, values: object) -> list[float]:
    """Rounded, for comparison to the digits printed."""
    return [round(float(v), digits) for v in np.atleast_1d(values)]


def test_the_worked_example_of_kr20() -> None:
    """p and the variance 5.84 as its page prints them; the rest is derived from the ten rows."""
    assert ECU.sum(axis=1).tolist() == [8, 7, 7, 2, 2, 9, 8, 9, 7, 7]
    assert to(2, difficulties(ECU)) == [0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6]
    p = difficulties(ECU)
    assert round(float((p * (1 - p)).sum()), 2) == 2.18
    assert round(float(ECU.sum(axis=1).var()), 2) == 5.84
    assert round(alpha(ECU), 5) == 0.69635
    assert round(kr21(ECU), 5) == 0.68417
    total = ECU.sum(axis=1)
    assert round(standard_error(total, alpha(ECU)), 4) == 1.3317
    assert round(standard_error(total, alpha(ECU), sample=True), 4) == 1.4037
    assert to(4, [correlation(c, total) for c in ECU.T]) == [
        0.7946, 0.7946, 0.2027, 0.6140, 0.7095, 0.4345, 0.1625, 0.7946, 0.0828, 0.6251,
    ]  # fmt: skip
    assert to(4, discriminations(ECU)) == [
        0.7059, 0.7059, 0.0, 0.4736, 0.5839, 0.2861, -0.0274, 0.7059, -0.1236, 0.4759,
    ]  # fmt: skip
    odd, even = ECU[:, ::2].sum(axis=1), ECU[:, 1::2].sum(axis=1)
    assert round(correlation(odd, even), 4) == 0.5138
    assert round(spearman_brown(correlation(odd, even), 2), 4) == 0.6788


def test_lsat_section_6() -> None:
    """Score counts 3 20 85 237 357 298 and right answers 924 709 553 763 870 are published."""
    points = lsat6()
    assert sum(LSAT6_PATTERNS.values()) == 1000
    assert np.bincount(points.sum(axis=1).astype(int)).tolist() == [3, 20, 85, 237, 357, 298]
    assert to(3, difficulties(points)) == [0.924, 0.709, 0.553, 0.763, 0.870]
    assert round(alpha(points), 5) == 0.29500
    assert to(4, discriminations(points)) == [0.1128, 0.1532, 0.1728, 0.1444, 0.1216]
    assert round(standard_error(points.sum(axis=1), alpha(points)), 4) == 0.8686


@pytest.mark.parametrize(
    ("count", "total", "expected"),
    [(81, 263, (0.2553, 0.3662)), (15, 148, (0.0624, 0.1605)), (0, 10, (0.0, 0.2775))],
)
def test_the_interval_of_a_share(count: int, total: int, expected: tuple[float, float]) -> None:
    """Newcombe 1998, Statistics in Medicine 17:857 (first two, from memory); and scipy."""
    found = wilson(count, total)
    assert to(4, found) == list(expected)
    other = scipy.stats.binomtest(count, total).proportion_ci(method="wilson")
    assert found == pytest.approx((other.low, other.high), abs=1e-12)


def made(seed: int, students: int, questions: int) -> np.ndarray:
    """Simulated answers with a common ability behind them, some partly right."""
    rng = np.random.default_rng(seed)
    ability = rng.normal(size=(students, 1))
    right = rng.random((students, questions)) < 1 / (
        1 + np.exp(-ability - rng.normal(size=questions))
    )
    return np.where(rng.random(right.shape) < 0.1, 0.5, right.astype(float))


@pytest.mark.parametrize("points", [ECU, lsat6(), made(1, 30, 8), made(2, 12, 20)])
def test_reliability_is_that_of_pingouin(points: np.ndarray) -> None:
    """Alpha and Feldt's interval, with and without part credit."""
    pandas = pytest.importorskip("pandas")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the library's own imports
        pingouin = pytest.importorskip("pingouin")
        value, interval = pingouin.cronbach_alpha(pandas.DataFrame(points))
    assert alpha(points) == pytest.approx(value, abs=1e-12)
    # it rounds its interval to three decimals
    assert alpha_interval(value, *points.shape) == pytest.approx(tuple(interval), abs=6e-4)


@pytest.mark.parametrize("points", [ECU, made(3, 25, 6)])
def test_discrimination_is_scipys(points: np.ndarray) -> None:
    """Pearson's r with the rest of the test, and its interval by Fisher's z."""
    total = points.sum(axis=1)
    for found, column in zip(discriminations(points), points.T, strict=True):
        other = scipy.stats.pearsonr(column, total - column)
        assert found == pytest.approx(other.statistic, abs=1e-12)
        low, high = other.confidence_interval()
        assert correlation_interval(found, len(points)) == pytest.approx((low, high), abs=1e-9)


def test_upper_and_lower_groups_by_hand() -> None:
    """Ten students make groups of three (2.7 rounded). Totals 9 9 8 8 7 7 7 7 2 2: the upper
    group is both 9 and half of each 8; the lower both 2 and a quarter of each 7."""
    upper, lower = group_weights(ECU.sum(axis=1))
    assert upper.tolist() == [0.5, 0, 0, 0, 0, 1, 0.5, 1, 0, 0]
    assert lower.tolist() == [0, 0.25, 0.25, 1, 1, 0, 0, 0, 0.25, 0.25]


@given(
    arrays.arrays(
        np.float64, st.tuples(st.integers(2, 12), st.integers(2, 6)),
        elements=st.sampled_from([0.0, 0.5, 1.0]),
    ),
    st.randoms(),
)  # fmt: skip
def test_no_statistic_hangs_on_the_order_of_the_list(points: np.ndarray, random: object) -> None:
    """Shuffled students have the same statistics; all of them in their bounds or nan."""
    rows = list(range(len(points)))
    random.shuffle(rows)  # type: ignore[attr-defined]
    shuffled = points[rows]
    for statistic in (difficulties, discriminations, upper_lower, alpha, kr21):
        first, second = np.atleast_1d(statistic(points)), np.atleast_1d(statistic(shuffled))
        np.testing.assert_allclose(first, second, atol=1e-9, equal_nan=True)
    r, d = discriminations(points), upper_lower(points)
    assert np.all(np.isnan(r) | (np.abs(r) <= 1))
    assert np.all(np.abs(d) <= 1 + 1e-12)
    assert math.isnan(alpha(points)) or alpha(points) <= 1 + 1e-12
    for weights in group_weights(points.sum(axis=1)):
        assert weights.sum() == pytest.approx(max(1, math.floor(0.27 * len(points) + 0.5)))


def test_what_does_not_vary_has_no_correlation() -> None:
    """A question that everybody has right, and a class that all have the same."""
    points = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 0.0]])
    assert math.isnan(discriminations(points)[0])
    same = np.full((4, 3), 1 / 3)
    assert math.isnan(alpha(same))
    assert np.isnan(discriminations(same)).all()
    assert math.isnan(standard_error(same.sum(axis=1), alpha(same)))
