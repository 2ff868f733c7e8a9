"""Can a key be guessed without reading? Its place and its length, held against chance.

If neither tells anything, the number of keys at one place, and of keys that are longer than all
other options, has a binomial distribution with p = 1 / options. Its bounds here are exact: each
tail beyond them is smaller than its share of `RISK`, which all bounds of one look divide among
them (Bonferroni), so that a fair generator fails with one seed in a hundred at the most.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from scipy.stats import binom

from quizgen.forms.slots import movable
from quizgen.items.item import Item
from quizgen.items.lint.figures import amounts
from quizgen.items.lint.item_rules import key_is_longest

RISK = 0.01  # that a fair generator is called unfair
OPTION_COUNTS = (3, 4)


@dataclass(frozen=True)
class Count:
    """`found` of `tried` keys; by chance it lies in [low, high]."""

    what: str
    found: int
    tried: int
    low: int
    high: int

    @property
    def is_chance(self) -> bool:
        """The count lies within its bounds."""
        return self.low <= self.found <= self.high

    def __str__(self) -> str:
        text = f"{self.what}: {self.found} of {self.tried}, by chance {self.low} to {self.high}"
        return text if self.is_chance else f"{text}: NOT CHANCE"


def bounds(tried: int, chance: float, risk: float) -> tuple[int, int]:
    """The least and the greatest count that is still chance: beyond lies `risk` at the most.

    Ten throws of a coin at 5 %: P(0 or 1 heads) = 11/1024 < 2.5 % < P(up to 2) = 56/1024.

    >>> bounds(10, 0.5, 0.05)
    (2, 8)
    """
    low = int(binom.ppf(risk / 2, tried, chance))
    high = int(binom.isf(risk / 2, tried, chance))
    return low, high


def guesses(items: Sequence[Item]) -> tuple[Count, ...]:
    """What a guesser would go by, over the items of one answer whose options may be moved.

    The longest option counts only where one is longest, and letters tell: not among figures.
    """
    found: list[tuple[str, int, int, int]] = []
    for options in OPTION_COUNTS:
        some = [i for i in items if movable(i) and len(i.options) == options]
        found += chain(_places(some, options), _lengths(some, options))
    risk = RISK / max(len(found), 1)
    return tuple(
        Count(what, n, tried, *bounds(tried, 1 / options, risk))
        for what, n, tried, options in found
    )


def _places(items: Sequence[Item], options: int) -> Iterator[tuple[str, int, int, int]]:
    for place in range(options if items else 0):
        n = sum(i.options.index(i.key) == place for i in items)
        yield f"{options} options, key at {'ABCD'[place]}", n, len(items), options


def _lengths(items: Sequence[Item], options: int) -> Iterator[tuple[str, int, int, int]]:
    n, tried = longest_keys(items)
    if tried:
        yield f"{options} options, key the longest", n, tried, options


def longest_keys(items: Sequence[Item]) -> tuple[int, int]:
    """How many keys are the longest option, and of how many items whose lengths could tell."""
    told = [i for i in items if movable(i) and _has_longest(i)]
    return sum(map(key_is_longest, told)), len(told)


def _has_longest(item: Item) -> bool:
    texts = [o.text for o in item.options]
    lengths = sorted(map(len, texts))
    return lengths[-1] > lengths[-2] and not amounts(texts)
