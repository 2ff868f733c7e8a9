"""Does a possible world agree with what was found?

Only what is certain rules a world out. A load so near a threshold that people might disagree,
a relay whose armature is held, a reading that the instrument would not give there, never do. A
reading agrees when the instrument could have shown it: within its tolerance and its last digit.
Over a step between two severities everything from one end to the other agrees; the circuit's
voltages are monotone in any one resistance, and levels stand in the order of `SCALES`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.clicks import BUZZES, CLICKS, NO_CLICK, heard_now
from quizgen.diagnosis.evidence import SCALES, Evidence, Finding
from quizgen.diagnosis.worlds import Worlds
from quizgen.instruments import Shown, measure_many

Words = frozenset[str]
Pair = tuple[int, int]
BoolArray = NDArray[np.bool_]

ANYTHING: Words = frozenset()  # nobody can say: rules nothing out
_SAID = {CLICKS: "yes", NO_CLICK: "no", BUZZES: "buzzes"}
BEHIND_DIODES_VOLTS = 4.0  # a light-emitting diode and one more
VOLTMETER_SHARE, VOLTMETER_DIGIT = 0.005, 0.1  # as `quizgen.instruments.voltmeter`


def agreeing(worlds: Worlds, evidence: Evidence, pairs: Sequence[Pair]) -> BoolArray:
    """True for each pair of rows that agrees with all of the evidence.

    `worlds` must be solved in `evidence.states`. Raises InputError for a reading that cannot
    be taken.
    """
    alive = np.ones(len(pairs), dtype=bool)
    rows = range(len(worlds.circuits))
    for number, step in enumerate(evidence.steps):
        for load, level in step.sees:
            seen = [load_words(worlds, load, row, number) for row in rows]
            alive &= _told(seen, level, pairs)
        for relay, heard in step.clicks:
            earlier = number - 1 if number else None
            clicks = [click_words(worlds, relay, row, number, earlier) for row in rows]
            alive &= _told(clicks, heard, pairs)
    # readings that need nothing solved anew come first and leave less work for the others
    for plain in (True, False):
        for number, step in enumerate(evidence.steps):
            findings = [f for f in step.readings if f.is_plain_volts is plain]
            alive = _read(worlds, findings, number, pairs, alive)
    return alive


# --- what is seen and heard -----------------------------------------------------------


def visible_loads(circuit: Circuit) -> list[str]:
    """Loads that can be seen, heard or felt from where the driver is."""
    loads = (p.id for p in circuit.parts if isinstance(p, c.LOADS))
    return [load for load in loads if load not in circuit.unobserved]


def load_words(worlds: Worlds, load: str, row: int, state: int) -> Words:
    """What people may report of a load."""
    seen = worlds.seen(row, state)[load]
    return ANYTHING if seen.doubtful else frozenset((seen.level,))


def click_words(worlds: Worlds, relay: str, row: int, state: int, earlier: int | None) -> Words:
    """What people may report of a click on the way from the state `earlier`; see `CLICK_WORDS`."""
    before = None if earlier is None else worlds.point(row, earlier)
    heard = heard_now(worlds.point(row, state), relay, before)
    return frozenset((_SAID[heard],)) if heard else ANYTHING


def between(one: Words, other: Words) -> Words:
    """All that may be reported from one severity to another.

    >>> sorted(between(frozenset({"dark"}), frozenset({"bright"})))
    ['bright', 'dark', 'dim']
    """
    if not one or not other:
        return ANYTHING
    both = one | other
    if len(both) == 1:
        return both
    for scale in SCALES:
        if both <= set(scale):
            places = [scale.index(word) for word in both]
            return frozenset(scale[min(places) : max(places) + 1])
    return ANYTHING if not both <= {"yes", "no"} else both


def _told(words: Sequence[Words], told: str, pairs: Sequence[Pair]) -> BoolArray:
    found = (between(words[a], words[b]) for a, b in pairs)
    return np.array([not some or told in some for some in found], dtype=bool)


# --- what instruments show ------------------------------------------------------------


def _read(
    worlds: Worlds, findings: Sequence[Finding], number: int, pairs: Sequence[Pair],
    alive: BoolArray,
) -> BoolArray:  # fmt: skip
    """Pairs that agree with some readings of one step; only those still alive are looked at."""
    left = alive.copy()
    for finding in findings:
        numbers = np.flatnonzero(left).tolist()
        some = [pairs[i] for i in numbers]
        if finding.is_plain_volts:
            left[numbers] = _plain_volts(worlds, finding, number, some)
        else:
            left[numbers] = _measured(worlds, finding, number, some)
    return left


def _plain_volts(worlds: Worlds, finding: Finding, state: int, pairs: Sequence[Pair]) -> BoolArray:
    """A voltmeter to the reference, from voltages that are there already.

    A point behind a diode that does not conduct may stand a forward voltage off until a meter
    pulls it down, so a miss by no more than that is measured with the meter in the circuit.
    """
    point = worlds.points.index(worlds.circuit.point(finding.red))
    value = finding.value
    assert isinstance(value, float)
    low, high = (bound[point, :, state] for bound in worlds.volts)
    misses = np.zeros(len(pairs))
    for i, (a, b) in enumerate(pairs):
        floor, ceiling = min(low[a], low[b]), max(high[a], high[b])
        misses[i] = max(floor - slack(floor) - value, value - ceiling - slack(ceiling), 0.0)
    agree: BoolArray = misses == 0.0
    if any(isinstance(p, c.Diode | c.LedLamp | c.Relay) for p in worlds.circuit.parts):
        near = np.flatnonzero((misses > 0.0) & (misses <= BEHIND_DIODES_VOLTS)).tolist()
        agree[near] = _measured(worlds, finding, state, [pairs[i] for i in near])
    return agree


def slack(volts: float) -> float:
    """How far a voltmeter's display may be from the voltage: tolerance and last digit."""
    return VOLTMETER_SHARE * abs(volts) + 2.0 * VOLTMETER_DIGIT


def _measured(worlds: Worlds, finding: Finding, state: int, pairs: Sequence[Pair]) -> BoolArray:
    rows = list(dict.fromkeys(row for pair in pairs for row in pair))
    if not rows:
        return np.zeros(0, dtype=bool)
    taken = finding.measurement(worlds.circuit, worlds.states[state])
    shown = dict(zip(rows, measure_many([worlds.circuits[r] for r in rows], taken), strict=True))
    value = finding.value
    if isinstance(value, str):
        words = {row: _display_words(s, value) for row, s in shown.items()}
        found: Iterable[bool] = (_lit_between(words[a], words[b], value) for a, b in pairs)
    else:
        found = (_could_show(shown[a], shown[b], value) for a, b in pairs)
    return np.array(list(found), dtype=bool)


_BRIGHTNESS = ("dark", "glows dim", "lit bright")


def _display_words(shown: Shown, value: str) -> Words:
    return ANYTHING if shown.refused or shown.doubts else frozenset(shown.shown.split(", then "))


def _lit_between(one: Words, other: Words, value: str) -> bool:
    if not one or not other:
        return True
    both = one | other
    if value in both or not both <= set(_BRIGHTNESS):
        return value in both
    places = [_BRIGHTNESS.index(word) for word in both]
    return min(places) <= _BRIGHTNESS.index(value) <= max(places)


def _could_show(one: Shown, other: Shown, value: float) -> bool:
    ranges = [figures(shown) for shown in (one, other)]
    return min(low for low, _ in ranges) <= value <= max(high for _, high in ranges)


def figures(shown: Shown) -> tuple[float, float]:
    """The least and the greatest figure that an instrument of this kind could display."""
    if shown.refused or shown.raw is None or shown.doubts:
        return -inf, inf
    margin = shown.tolerance + shown.resolution
    low = shown.low if margin == inf and shown.low == inf else shown.low - margin
    return low, shown.high + margin
