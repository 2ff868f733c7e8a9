"""When a fuse, fusible link or breaker opens.

Blade fuse opening times: ISO 8820-3 gives a shortest and a longest time at multiples of the
rating (table from memory; the longest times also as quoted in a relay datasheet). The nominal
time here is their geometric mean, joined by straight lines on a log-log scale; beyond six
times the rating the melting integral i²t is constant.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.laws import FloatArray

# multiple of the rating: shortest, longest seconds
OPENING_SECONDS: dict[float, tuple[float, float]] = {
    1.35: (0.75, 1800.0),
    1.60: (0.25, 50.0),
    2.00: (0.15, 5.0),
    3.50: (0.04, 0.5),
    6.00: (0.02, 0.1),
}
HOLDS_RATIO = 1.10  # carries this for at least 100 h
HOLDS_SECONDS = 360_000.0
SURE_RATIO = 1.35  # from here on it opens within half an hour
PATIENCE_SECONDS = 3600.0  # an opening later than this is not waited for
AMBIGUOUS_FACTOR = 1.5  # two opening times closer than this may come in either order

_RATIO = np.log([HOLDS_RATIO, *OPENING_SECONDS])
_SECONDS = np.log([HOLDS_SECONDS, *(np.sqrt(a * b) for a, b in OPENING_SECONDS.values())])


def opening_seconds(ratio: FloatArray) -> FloatArray:
    """Nominal opening time at `ratio` times the rating; inf when it carries that for an hour.

    >>> [float(round(t, 3)) for t in opening_seconds(np.array([1.0, 2.0, 6.0, 12.0]))]
    [inf, 0.866, 0.045, 0.011]
    """
    ratio = np.maximum(ratio, 1e-9)
    log_ratio = np.log(ratio)
    seconds = np.exp(np.interp(log_ratio, _RATIO, _SECONDS))
    seconds = np.where(log_ratio > _RATIO[-1], seconds * (ratio / 6.0) ** -2.0, seconds)
    return np.where((ratio < HOLDS_RATIO) | (seconds > PATIENCE_SECONDS), np.inf, seconds)


def marginal(ratio: FloatArray) -> NDArray[np.bool_]:
    """Currents at which a sound protector may or may not open: no question rests on these."""
    return np.asarray((ratio > HOLDS_RATIO) & (ratio < SURE_RATIO))
