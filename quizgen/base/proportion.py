"""How sure one can be of a share that was counted."""

from __future__ import annotations

from math import sqrt

Z95 = 1.959963984540054  # two-sided 95 % point of the normal distribution


def wilson(count: float, total: int, z: float = Z95) -> tuple[float, float]:
    """The Wilson score interval of the share `count` of `total` (Wilson 1927, from memory).

    (0.0, 1.0) without observations. A `count` with fractions is that of points with part credit.

    >>> [round(end, 4) for end in wilson(81, 263)]
    [0.2553, 0.3662]
    """
    if not total:
        return (0.0, 1.0)
    share = count / total
    spread = z * sqrt(share * (1.0 - share) / total + z * z / (4.0 * total * total))
    middle = share + z * z / (2.0 * total)
    scale = 1.0 + z * z / total
    return (max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale))
