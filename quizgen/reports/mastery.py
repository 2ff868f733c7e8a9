"""Who has mastered what: two measures that have to agree, and "too little evidence" where true.

*Wilson*: the lower end of the 95 % interval of the share of right answers reaches `CUT`. All of six
right answers are the least that do.

*Knowledge tracing*: the chance that a student knows the matter, from one answer to the next. With L
the chance before an answer, S the chance of a slip, G that of a lucky guess and T that of learning
from the question,

    after a right answer   L' = L(1-S) / (L(1-S) + (1-L)G)
    after a wrong one      L' = L S / (L S + (1-L)(1-G))
    then                   L  = L' + (1-L')T

and mastery is L >= 0.95. Source: Corbett and Anderson 1995, Knowledge tracing, User Modeling and
User-Adapted Interaction 4:253-278 (formulas as given by later tutorials). G is one over the number
of options. The other three are fixed, not fitted: a class has far too few answers for that.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from quizgen.base.proportion import Z95

START, LEARN, SLIP = 0.3, 0.2, 0.1
SURE = 0.95
CUT = 0.6

MASTERED, LIKELY, BEHIND, TOO_LITTLE = 0, 1, 2, 3
"""Mastered by both measures; by knowledge tracing alone; surely below the cut; undecided."""

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


def right_after(known: float, guess: float) -> float:
    """The chance of knowing after a right answer.

    >>> round(right_after(0.3, 0.25), 4)
    0.6854
    """
    hit = known * (1.0 - SLIP)
    after = hit / (hit + (1.0 - known) * guess)
    return after + (1.0 - after) * LEARN


def wrong_after(known: float, guess: float) -> float:
    """The chance of knowing after a wrong answer."""
    miss = known * SLIP
    after = miss / (miss + (1.0 - known) * (1.0 - guess))
    return after + (1.0 - after) * LEARN


def knowledge(answers: Iterable[bool], guess: float) -> list[float]:
    """The chance of knowing after each of one student's answers.

    >>> [round(known, 4) for known in knowledge([True, False, True], 0.25)]
    [0.6854, 0.3801, 0.7506]
    """
    known, course = START, []
    for right in answers:
        known = right_after(known, guess) if right else wrong_after(known, guess)
        course.append(known)
    return course


def traced(who: Counts, right: NDArray[np.bool_], guess: Floats, size: int) -> Floats:
    """The chance of knowing at the end, for many students and matters at once.

    Parameters
    ----------
    who : for each answer, in the order of time, the number of its pair of student and matter
    right, guess : for each answer
    size : how many pairs there are

    Returns
    -------
    One chance a pair; `START` where there was no answer.
    """
    known = np.full(size, START)
    if not len(who):
        return known
    order = _in_order(who)
    counts = np.bincount(who, minlength=size)
    turn = np.arange(len(who)) - np.repeat(np.cumsum(counts) - counts, counts)
    # every pair's first answer, then every pair's second: within a turn no pair comes twice
    by_turn = order[_in_order(turn)]
    pairs, hits, chance = who[by_turn], right[by_turn], guess[by_turn]
    if_known = np.where(hits, 1.0 - SLIP, SLIP)
    if_not = np.where(hits, chance, 1.0 - chance)
    start = 0
    for end in np.cumsum(np.bincount(turn)):
        pair, yes, no = pairs[start:end], if_known[start:end], if_not[start:end]
        before = known[pair]
        both = before * yes
        after = both / (both + (1.0 - before) * no)
        known[pair] = after + (1.0 - after) * LEARN
        start = end
    return known


def _in_order(numbers: Counts) -> Counts:
    """The stable order; numpy sorts numbers of 16 bits by counting, several times as fast."""
    small = numbers.astype(np.uint16) if numbers.max() < 2**16 else numbers
    return np.argsort(small, kind="stable")


def intervals(right: Counts, total: Counts) -> tuple[Floats, Floats]:
    """Wilson's 95 % intervals of many shares; (0, 1) without answers. See `base.proportion`."""
    n = np.maximum(total, 1).astype(np.float64)
    share = right / n
    spread = Z95 * np.sqrt(share * (1.0 - share) / n + Z95**2 / (4.0 * n * n))
    middle, scale = share + Z95**2 / (2.0 * n), 1.0 + Z95**2 / n
    low, high = (middle - spread) / scale, (middle + spread) / scale
    empty = total == 0
    return np.where(empty, 0.0, np.maximum(low, 0.0)), np.where(empty, 1.0, np.minimum(high, 1.0))


def verdicts(right: Counts, total: Counts, known: Floats, cut: float = CUT) -> Counts:
    """MASTERED, LIKELY, BEHIND or TOO_LITTLE for each."""
    low, high = intervals(right, total)
    sure = known >= SURE
    found = np.full(right.shape, TOO_LITTLE)
    found[high < cut] = BEHIND
    found[sure & (high >= cut)] = LIKELY
    found[sure & (low >= cut)] = MASTERED
    return found
