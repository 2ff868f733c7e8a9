"""Classical test statistics over points: rows are students, columns questions.

One convention for variances throughout: the population variance, divided by the number of
students, as the formula of KR-20 with p·q needs it. Statistics that do not exist (a question that
everybody has right has no correlation) are nan.

Sources. KR-20 and KR-21: Kuder and Richardson 1937, Psychometrika 2:151. Alpha: Cronbach 1951,
Psychometrika 16:297. Its interval: Feldt 1965, Psychometrika 30:357. Groups of 27 %: Kelley 1939,
J Educ Psych 30:17. Interval of a correlation: Fisher's z. Formulas from memory; the tests hold
them against published data and other libraries.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from quizgen.base.proportion import Z95

Points = NDArray[np.float64]

UPPER = 0.27  # share of the students in the upper and in the lower group
NAN = float("nan")


def difficulties(points: Points) -> Points:
    """p of each question: mean points, from 0 (nobody) to 1 (everybody)."""
    return np.asarray(points.mean(axis=0), dtype=np.float64)


def correlation(x: Points, y: Points) -> float:
    """Pearson's r; nan where one of the two does not vary.

    >>> correlation(np.array([1.0, 2.0, 3.0]), np.array([2.0, 4.0, 6.0]))
    1.0
    """
    dx, dy = x - x.mean(), y - y.mean()
    # sums of points in binary may differ in their last digits though all are equal
    scale = 1e-9 * max(1.0, float(np.abs(x).max()), float(np.abs(y).max()))
    if np.abs(dx).max() <= scale or np.abs(dy).max() <= scale:
        return NAN
    r = float((dx @ dy) / math.sqrt((dx @ dx) * (dy @ dy)))
    return min(max(r, -1.0), 1.0)


def discriminations(points: Points) -> Points:
    """Corrected item-total correlation: each question with the sum of the others."""
    total = points.sum(axis=1)
    return np.array([correlation(column, total - column) for column in points.T])


def group_weights(total: Points, share: float = UPPER) -> tuple[Points, Points]:
    """How much each student belongs to the upper and to the lower 27 %, or another `share`.

    The groups have round(0.27 n) students, at least one. Those who tie at the border share its
    places in equal parts, so that D does not depend on the order of a list.

    >>> upper, lower = group_weights(np.array([3.0, 2.0, 2.0, 1.0]))
    >>> upper.tolist(), lower.tolist()
    ([1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0])
    """
    size = max(1, math.floor(share * len(total) + 0.5))
    return _top(total, size), _top(-total, size)


def _top(total: Points, size: int) -> Points:
    border = np.sort(total)[::-1][size - 1]
    above, tied = total > border, total == border
    weights: Points = above.astype(np.float64)
    weights[tied] = (size - above.sum()) / tied.sum()
    return weights


def upper_lower(points: Points) -> Points:
    """D27 of each question: p in the upper group minus p in the lower group, by total points."""
    total = points.sum(axis=1)
    return np.array([upper_minus_lower(column, total) for column in points.T])


def upper_minus_lower(column: Points, total: Points) -> float:
    """D27 of one question, the groups by `total`."""
    upper, lower = group_weights(total.round(6))
    return float(upper @ column / upper.sum() - lower @ column / lower.sum())


def alpha(points: Points) -> float:
    """Cronbach's alpha; of right and wrong alone it is KR-20. nan without variance.

    k/(k−1) · (1 − Σσ²_i/σ²_T)
    """
    k = points.shape[1]
    variance = points.sum(axis=1).var()
    if k < 2 or len(points) < 2 or variance <= 1e-12:
        return NAN
    return float(k / (k - 1) * (1 - points.var(axis=0).sum() / variance))


def kr21(points: Points) -> float:
    """KR-21: as if all questions were equally hard. nan without variance."""
    k = points.shape[1]
    total = points.sum(axis=1)
    mean, variance = total.mean(), total.var()
    if k < 2 or variance <= 1e-12:
        return NAN
    return float(k / (k - 1) * (1 - mean * (k - mean) / (k * variance)))


def alpha_interval(value: float, students: int, questions: int) -> tuple[float, float]:
    """95 % interval of alpha (Feldt 1965), from the F distribution."""
    from scipy.special import fdtri  # noqa: PLC0415  loads slowly, and coverage needs none of it

    if math.isnan(value) or students < 2 or questions < 2:
        return (NAN, NAN)
    df1, df2 = students - 1, (students - 1) * (questions - 1)
    high = 1 - (1 - value) * float(fdtri(df1, df2, 0.025))
    low = 1 - (1 - value) * float(fdtri(df1, df2, 0.975))
    return (low, high)


def standard_error(total: Points, reliability: float, *, sample: bool = False) -> float:
    """Standard error of measurement in points: s·√(1 − r).

    s is the population's; with `sample` that of n − 1, which other books print. A reliability
    below 0 counts as 0.
    """
    if math.isnan(reliability) or (sample and len(total) < 2):
        return NAN
    deviation = float(total.std(ddof=1 if sample else 0))
    return deviation * math.sqrt(1 - max(reliability, 0.0))


def correlation_interval(r: float, students: int) -> tuple[float, float]:
    """95 % interval of a correlation by Fisher's z; (−1, 1) for fewer than four students."""
    if math.isnan(r):
        return (NAN, NAN)
    if students < 4 or abs(r) == 1.0:
        return (-1.0, 1.0) if students < 4 else (r, r)
    z, half = math.atanh(r), Z95 / math.sqrt(students - 3)
    return (math.tanh(z - half), math.tanh(z + half))


def spearman_brown(r: float, times: float) -> float:
    """Reliability of a test `times` as long.

    >>> round(spearman_brown(0.5138, 2), 4)
    0.6788
    """
    return times * r / (1 + (times - 1) * r)
