"""Published data, written out, to hold statistics against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Ten students (A to J) by ten questions, the worked example of KR-20 by K. L. Wuensch, East
# Carolina University, core.ecu.edu/wuenschk/StatHelp/KR20.txt; it prints p, q, p·q and the
# variance 5.84 of the totals.
ECU_ROWS = (
    "1111110110", "1011011101", "1111011001", "0010001000", "0000010010",
    "1110111111", "1101110111", "1111111101", "0101111101", "1101101110",
)  # fmt: skip
ECU = np.array([[float(c) for c in row] for row in ECU_ROWS])

# LSAT section 6, 1,000 persons by five questions: R. D. Bock and M. Lieberman, Psychometrika 35
# (1970) 179-197. Counts of the answer patterns from memory; the tests hold them against the
# published numbers of each score and of each right answer.
LSAT6_PATTERNS = {
    "00000": 3, "00001": 6, "00010": 2, "00011": 11, "00100": 1, "00101": 1, "00110": 3,
    "00111": 4, "01000": 1, "01001": 8, "01011": 16, "01101": 3, "01110": 2, "01111": 15,
    "10000": 10, "10001": 29, "10010": 14, "10011": 81, "10100": 3, "10101": 28, "10110": 15,
    "10111": 80, "11000": 16, "11001": 56, "11010": 21, "11011": 173, "11100": 11, "11101": 61,
    "11110": 28, "11111": 298,
}  # fmt: skip


def lsat6() -> NDArray[np.float64]:
    """The 1,000 rows."""
    rows = [[float(c) for c in pattern] for pattern in LSAT6_PATTERNS]
    return np.repeat(np.array(rows), list(LSAT6_PATTERNS.values()), axis=0)
