"""The smallest sets of faults that explain what was found.

A set is *minimal* when it agrees with everything and no part of it does: if a blown fuse
alone explains the readings, a blown fuse and a dead lamp is no further explanation. The
candidates of de Kleer and Williams 1987, found by trying sets in the order of their size.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations
from typing import TypeVar

Thing = TypeVar("Thing")


def minimal_sets(
    things: Sequence[Thing], agrees: Callable[[tuple[Thing, ...]], bool], most: int = 2
) -> tuple[tuple[Thing, ...], ...]:
    """Every minimal set of at most `most` things for which `agrees` is true, smaller ones first.

    The empty set is tried too: nothing has to be wrong.

    >>> minimal_sets("abc", lambda s: "a" in s or set(s) >= {"b", "c"})
    (('a',), ('b', 'c'))
    """
    found: list[tuple[Thing, ...]] = []
    for size in range(most + 1):
        for some in combinations(things, size):
            if not any(set(smaller) <= set(some) for smaller in found) and agrees(some):
                found.append(some)
    return tuple(found)
