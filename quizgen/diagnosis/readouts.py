"""What a test may show under each suspect: outcomes in words, and how likely each is.

A *table* has a row for each outcome and a column for each cell of the suspects. Where people
might report different things, or a figure falls in a step between two severities, a cell
spreads over several outcomes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf, isinf

import numpy as np

from quizgen.diagnosis.agreement import (
    ANYTHING,
    Pair,
    Words,
    between,
    click_words,
    slack,
    visible_loads,
)
from quizgen.diagnosis.bands import stretches
from quizgen.diagnosis.clicks import clickers
from quizgen.diagnosis.evidence import SCALES
from quizgen.diagnosis.many_leads import Look
from quizgen.diagnosis.worlds import Worlds
from quizgen.instruments.ohmmeter import MOST_OHM, display_ohm
from quizgen.solver.laws import FloatArray

MOST_COMBINATIONS = 16  # of what several doubtful loads may do together
BLUR_VOLTS = 0.2  # two digits
BLUR_DECADES = 0.02  # 5 % of a resistance
OL_DECADES = 9.0  # where OL stands on the scale, far above the highest range
OL_HALF_WIDTH = 0.5


@dataclass(frozen=True, eq=False)
class Table:
    """`likelihood` (outcomes, cells): every column sums to 1."""

    shows: tuple[str, ...]
    likelihood: FloatArray


@dataclass(frozen=True, eq=False)
class Rows:
    """Which rows of the worlds a cell lies between; `cell` and `group` by pair of rows."""

    pairs: list[Pair]
    cell: list[int]
    group: list[int]  # of suspects that need no telling apart

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return max(self.cell, default=-1) + 1

    def per_cell(self, by_pair: FloatArray) -> FloatArray:
        """Likelihoods by pair put together by cell, the ways of a cell counting alike."""
        found = np.zeros((len(by_pair), self.cells))
        for column, cell in enumerate(self.cell):
            found[:, cell] += by_pair[:, column]
        return np.asarray(found / np.bincount(self.cell, minlength=self.cells))


# --- voltmeter and ohmmeter -----------------------------------------------------------


def volts_table(worlds: Worlds, rows: Rows, point: int, state: int) -> Table | None:
    """A voltmeter at one point in one state; None where it would tell nothing."""
    low, high = (bound[point, :, state] for bound in worlds.volts)
    a, b = (np.array(side) for side in zip(*rows.pairs, strict=True))
    floor, ceiling = np.minimum(low[a], low[b]), np.maximum(high[a], high[b])
    least = floor - np.array([slack(v) for v in floor])
    most = ceiling + np.array([slack(v) for v in ceiling])
    if least.max() < most.min():  # one reading could come from any of them
        return None
    found, share = stretches(least, most, rows.group, BLUR_VOLTS)
    words = _told(found, share, floor, ceiling, lambda v: f"{round(v, 1) + 0.0:.1f} V")
    return Table(words, rows.per_cell(share))


def ohm_table(looks: Sequence[Look], rows: Rows) -> Table | None:
    """An ohmmeter; `looks` by row of the worlds. None where it would tell nothing."""
    ends = [_decades(look) for look in looks]
    pairs = [(ends[a], ends[b]) for a, b in rows.pairs]
    least = np.array([min(x[0], y[0]) for x, y in pairs])
    most = np.array([max(x[1], y[1]) for x, y in pairs])
    if least.max() < most.min():
        return None
    found, share = stretches(least, most, rows.group, BLUR_DECADES)
    floor = np.array([min(_scaled(looks[a].low), _scaled(looks[b].low)) for a, b in rows.pairs])
    ceiling = np.array([max(_scaled(looks[a].high), _scaled(looks[b].high)) for a, b in rows.pairs])
    return Table(_told(found, share, floor, ceiling, _ohm_words), rows.per_cell(share))


def _scaled(ohm: float) -> float:
    return OL_DECADES if ohm >= MOST_OHM else float(np.log10(1.0 + max(ohm, 0.0)))


def _decades(look: Look) -> tuple[float, float]:
    """The range of a look on a scale of log10(1 + ohm)."""
    if isinf(look.low) or look.slack == inf:
        low = OL_DECADES if isinf(look.low) else _scaled(0.9 * look.low)
        return low - OL_HALF_WIDTH * isinf(look.low), OL_DECADES + OL_HALF_WIDTH
    low, high = _scaled(look.low - look.slack), _scaled(look.high + look.slack)
    return low, max(high, low + 1e-6)


def _ohm_words(decades: float) -> str:
    return display_ohm(inf if decades > OL_DECADES - 1.0 else 10.0**decades - 1.0).shown


def _told(
    found: Sequence[tuple[float, float]], share: FloatArray, floor: FloatArray,
    ceiling: FloatArray, words: Callable[[float], str],
) -> tuple[str, ...]:  # fmt: skip
    """Each stretch as a display: the figures of what mostly shows it, else where it ends."""
    told = []
    for ends, row in zip(found, share, strict=True):
        mostly = row > 0.5
        inner = ends
        if mostly.any():
            inner = float(floor[mostly].min()), float(ceiling[mostly].max())
            inner = max(ends[0], inner[0]), min(ends[1], inner[1])
        first, last = words(min(inner)), words(max(inner))
        told.append(first if first == last else _range(first, last))
    return tuple(told)


def _range(first: str, last: str) -> str:
    """Two displays as a range, the unit once where it is the same.

    >>> _range("0.2 V", "3.1 V"), _range("3.1 Ω", "OL")
    ('0.2 to 3.1 V', '3.1 Ω to OL')
    """
    figure, _, unit = first.partition(" ")
    return f"{figure if last.endswith(' ' + unit) and unit else first} to {last}"


# --- lamps, loads and relays ----------------------------------------------------------

_BRIGHTNESS = ("dark", "glows dim", "lit bright")


def lamp_table(looks: Sequence[Look], rows: Rows) -> Table | None:
    """A test lamp; `looks` by row of the worlds. None where it would tell nothing."""
    by_row = [_lamp_words(look) for look in looks]
    return words_table([(_lamps_between(by_row[a], by_row[b]),) for a, b in rows.pairs], rows)


def _lamp_words(look: Look) -> Words:
    if not look.doubtful or not set(look.words) <= set(_BRIGHTNESS):
        return frozenset((", then ".join(look.words),))
    places = [_BRIGHTNESS.index(word) for word in look.words]
    return frozenset(_BRIGHTNESS[max(min(places) - 1, 0) : max(places) + 2])


def _lamps_between(one: Words, other: Words) -> Words:
    both = one | other
    if not both <= set(_BRIGHTNESS):
        return both
    places = [_BRIGHTNESS.index(word) for word in both]
    return frozenset(_BRIGHTNESS[min(places) : max(places) + 1])


def look_table(
    worlds: Worlds, rows: Rows, state: int, told: frozenset[str] = frozenset()
) -> Table | None:
    """A look at every load and a listen to every relay; None where it would tell nothing.

    `told`: loads and relays of which nothing new is to be learnt.
    """
    loads = [load for load in visible_loads(worlds.circuit) if load not in told]
    relays = [part for part in clickers(worlds.circuit) if part not in told]
    earlier = 0 if state else None
    known = sorted({row for pair in rows.pairs for row in pair})
    names = [f"{load} " for load in loads]
    columns = [
        _by_pair(rows, {row: _possible(worlds, load, row, state) for row in known})
        for load in loads
    ]
    names += [f"{relay} clicks: " for relay in relays]
    columns += [
        _by_pair(rows, {row: click_words(worlds, relay, row, state, earlier) for row in known})
        for relay in relays
    ]
    kept = [i for i, column in enumerate(columns) if len(set(column) - {ANYTHING}) > 1]
    if not kept:
        return None
    spread = [_filled(columns[i]) for i in kept]
    labels = [
        tuple(frozenset(names[i] + w for w in words) for i, words in zip(kept, some, strict=True))
        for some in zip(*spread, strict=True)
    ]
    return words_table(labels, rows)


def _by_pair(rows: Rows, known: Mapping[int, Words]) -> list[Words]:
    return [between(known[a], known[b]) for a, b in rows.pairs]


def _filled(column: Sequence[Words]) -> list[Words]:
    """What nobody can say becomes whatever the others may be."""
    every = frozenset().union(*column)
    return [words or every for words in column]


def _possible(worlds: Worlds, load: str, row: int, state: int) -> Words:
    """What people may report of a load: its level, and beside a threshold the neighbours."""
    seen = worlds.seen(row, state)[load]
    for scale in SCALES if seen.doubtful else ():
        if seen.level in scale:
            place = scale.index(seen.level)
            return frozenset(scale[max(place - 1, 0) : place + 2])
    return frozenset((seen.level,))


def words_table(labels: Sequence[tuple[Words, ...]], rows: Rows) -> Table | None:
    """Outcomes that are combinations of words, by pair of rows; None if all show the same."""
    by_pair = []
    for words in labels:
        combined = [", ".join(some) for some in product(*(sorted(w) for w in words))]
        by_pair.append(combined[:MOST_COMBINATIONS])
    shows = list(dict.fromkeys(text for some in by_pair for text in some))
    if len(shows) < 2:
        return None
    share = np.zeros((len(shows), len(by_pair)))
    for column, some in enumerate(by_pair):
        for text in some:
            share[shows.index(text), column] += 1.0 / len(some)
    return Table(tuple(shows), rows.per_cell(share))
