"""Who has mastered what: two measures that have to agree, and "too little evidence" where true.

*Wilson*: the lower end of the 95 % interval of the share of right answers reaches `CUT`. All of six
right answers are the least that do.

*Knowledge tracing*: the chance that a student knows the matter, from one answer to the next. With L
the chance before an answer, S the chance of a slip, G that of a lucky guess and T that of learning
from the question,

    after a right answer   L' = L(1-S) / (L(1-S) + (1-L)G)
    after a wrong one      L' = L S / (L S + (1-L)(1-G))
    then                   L  = L' + (1-L')T

and mastery is L >= 0.95. In the odds x = L / (1-L) this is a line,

    x' = (r x + T) / (1-T),    r = (1-S)/G after a right answer, S/(1-G) after a wrong one,

which is how it is worked out here. Source: Corbett and Anderson 1995, Knowledge tracing, User
Modeling and User-Adapted Interaction 4:253-278 (formulas as given by later tutorials). G is one
over the number of options. The other three are fixed, not fitted: a class has far too few answers
for that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from quizgen.base.proportion import wilson

START, LEARN, SLIP = 0.3, 0.2, 0.1
SURE = 0.95
CUT = 0.6
CERTAIN = 1e100  # odds that more right answers do not raise, so that they stay numbers

MASTERED, LIKELY, BEHIND, TOO_LITTLE = 0, 1, 2, 3
"""Mastered by both measures; by knowledge tracing alone; surely below the cut; undecided."""

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]
Truths = NDArray[np.bool_]
Step = tuple[Counts, Truths, Floats]


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """By pair of student and matter: how much was asked, how much was right, odds of knowing."""

    asked: NDArray[np.int32]
    right: NDArray[np.int32]
    odds: Floats


def gathered(steps: Iterable[Step], size: int) -> Evidence:
    """The evidence on `size` pairs of student and matter, for many of them at once.

    A step is what was answered at one time: for each answer the numbers of the pairs that it
    counts for (answers x pairs), whether it is right, and the chance to guess it. A pair comes once
    in a step; what is gathered on one that comes more often means nothing. Counts end at 32,767.
    """
    tally = np.zeros(size, dtype=np.int32)  # asked, and above 16 bits right: one look-up for both
    odds = np.full(size, START / (1.0 - START))
    for pairs, right, guess in steps:
        more = tally.take(pairs)
        more += (1 + (right.astype(np.int32) << 16))[:, None]
        tally[pairs] = more
        ratio = np.where(right, (1.0 - SLIP) / guess, SLIP / (1.0 - guess))
        after = odds.take(pairs)
        after *= (ratio / (1.0 - LEARN))[:, None]
        after += LEARN / (1.0 - LEARN)
        odds[pairs] = np.minimum(after, CERTAIN)
    return Evidence(asked=tally & (2**16 - 1), right=tally >> 16, odds=odds)


@cache
def bounds(cut: float, most: int) -> tuple[Counts, Counts]:
    """For each number of answers up to `most`, the fewest right ones whose Wilson interval lies at
    or above the cut whole, and the fewest with which it does not lie below it whole.

    >>> [int(fewest[6]) for fewest in bounds(0.6, 8)]
    [6, 2]
    """
    found = np.empty((2, most + 1), dtype=np.int64)
    for end in (0, 1):
        right = 0
        for total in range(most + 1):
            while right <= total and wilson(right, total)[end] < cut:
                right += 1
            found[end, total] = right
    return found[0], found[1]


def verdicts(evidence: Evidence, cut: float = CUT) -> NDArray[np.int8]:
    """MASTERED, LIKELY, BEHIND or TOO_LITTLE for each pair."""
    most = 1 << int(evidence.asked.max(initial=0)).bit_length()
    enough, fair = bounds(cut, most)
    sure = evidence.odds >= SURE / (1.0 - SURE)
    behind = evidence.right < fair[evidence.asked]
    found = np.full(evidence.right.shape, TOO_LITTLE, dtype=np.int8)
    found[sure] = LIKELY
    found[behind] = BEHIND
    found[sure & (evidence.right >= enough[evidence.asked])] = MASTERED
    return found
