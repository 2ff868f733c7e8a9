"""What a test comes to under one fault: words of a lamp or of loads, or a figure.

Two outcomes are held against each other with all that lies between two severities: a word rules
a fault out if it does not lie between theirs, a figure if it lies outside by more than the
instrument may be off.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite

from quizgen.circuit import components as c
from quizgen.diagnosis.agreement import ANYTHING, Words, between
from quizgen.diagnosis.clicks import is_held
from quizgen.instruments import Shown
from quizgen.instruments.instrument import CLIP
from quizgen.items.act_words import display
from quizgen.items.sentences import tenths
from quizgen.solver import OperatingPoint
from quizgen.solver.observation import Observation, against, observe

CLICKS, NO_CLICK = "clicks", "does not click"
LAMP = ""  # instead of the name of a part: what a test lamp does
BRIGHTNESS = {"dark": "dark", "glows dim": "dim", "lit bright": "bright"}
_HEARD = {"yes": CLICKS, "no": NO_CLICK}
PLAIN_GAP = 1.0  # volts or ohm that a reader sees at a glance; more on a larger figure
PLAIN_SHARE = 0.2
SAME_SHARE = 0.01


@dataclass(frozen=True)
class Outcome:
    """What may be seen. `words` is empty for an instrument that shows a figure."""

    shown: Shown
    words: Mapping[str, Words]

    @property
    def sure(self) -> bool:
        """Everybody sees the same."""
        clear = not self.shown.doubts and not self.shown.refused
        return clear and all(len(words) == 1 for words in self.words.values())

    def word(self, part: str) -> str:
        """The one word of a part or lamp; "" where there is none."""
        words = self.words[part]
        return next(iter(words)) if len(words) == 1 else ""

    def only(self, parts: Sequence[str]) -> Outcome:
        """The same with nothing told of any other part."""
        return Outcome(self.shown, {part: self.words[part] for part in parts})

    @property
    def text(self) -> str:
        """As a table shows it: the display, or "M1 turns, K1 clicks"."""
        if LAMP in self.words or not self.words:
            return display(self.shown)
        return ", ".join(f"{part} {self.word(part)}" for part in self.words)


def figure_of(shown: Shown) -> float:
    """As a record holds it: share of a lamp, volts or ohm as displayed, ampere; −1 for OL."""
    if shown.raw is None or not isfinite(shown.raw):
        return -1.0
    if shown.instrument == "voltmeter":
        return tenths(shown.raw)
    if shown.instrument == "ohmmeter" and shown.resolution:
        return round(round(shown.raw / shown.resolution) * shown.resolution, 3) + 0.0
    return round(shown.raw, 3) + 0.0


def outcome_of(shown: Shown, listened: Sequence[str], sound: Mapping[str, Observation]) -> Outcome:
    """The outcome behind what an instrument shows.

    With a jumper the loads and relays `listened` to; `sound` is what loads do when all is well.
    """
    if shown.instrument == "test-lamp":
        word = "" if shown.doubts else BRIGHTNESS.get(shown.shown, "")  # it may flash
        return Outcome(shown, {LAMP: frozenset((word,)) if word else ANYTHING})
    if shown.instrument != "fused-jumper" or shown.point is None:
        return Outcome(shown, {})
    point = shown.point
    if point.phases:  # what flashes is told neither here nor there
        return Outcome(shown, dict.fromkeys(listened, ANYTHING))
    seen = {o.load: against(sound[o.load], o) for o in observe(point) if o.load in sound}
    found: dict[str, Words] = {}
    for part in listened:
        if part in seen:
            doubt = shown.doubts or seen[part].doubtful
            found[part] = ANYTHING if doubt else frozenset((seen[part].level,))
        else:
            found[part] = ANYTHING if shown.doubts else _heard(point, part)
    return Outcome(shown, found)


def _heard(point: OperatingPoint, part_id: str) -> Words:
    """Whether a relay pulls in as the jumper is clipped on."""
    part = point.circuit.part(part_id)
    assert isinstance(part, c.Relay | c.StarterSolenoid)
    moved = [e for e in point.events if e.part == part_id and e.after.startswith(f"{CLIP}=")]
    if is_held(part):
        return ANYTHING
    if not moved:
        return frozenset((NO_CLICK,))
    return frozenset((CLICKS,)) if point.state(part) == "pulled" else ANYTHING


def ruled_out(found: Outcome, one: Outcome, other: Outcome) -> bool:
    """Nothing between the two outcomes could have looked like `found`."""
    if one.shown.refused or other.shown.refused:
        return False
    for part, told in found.words.items():
        possible = _between(one.words[part], other.words[part])
        if possible and not told <= possible:
            return True
    if found.words or one.shown.doubts or other.shown.doubts:
        return False
    low = min(one.shown.low, other.shown.low)
    high = max(one.shown.high, other.shown.high)
    here = found.shown.raw
    assert here is not None  # a test that could not be taken is none
    off = [s.tolerance for s in (found.shown, one.shown, other.shown) if isfinite(s.tolerance)]
    return _gap(here, low, high) > 2.5 * max(off, default=0.0) + 2.0 * found.shown.resolution


def _between(one: Words, other: Words) -> Words:
    """Clicks and silence lie on no scale; both are possible between them."""
    heard = {word: said for said, word in _HEARD.items()}
    if one and other and one | other <= set(heard):
        return one | other
    return between(one, other)


def _gap(here: float, low: float, high: float) -> float:
    if low <= here <= high:
        return 0.0
    return low - here if here < low else here - high


def plainly_apart(one: Outcome, other: Outcome) -> bool:
    """Anybody sees at a glance that they differ."""
    if not (one.sure and other.sure):
        return False
    if one.words:
        return any(one.words[part] != other.words[part] for part in one.words)
    a, b = (o.shown.raw or 0.0 for o in (one, other))
    if a == b:
        return False
    if not (isfinite(a) and isfinite(b)):
        return True
    return abs(a - b) > max(PLAIN_GAP, PLAIN_SHARE * max(abs(a), abs(b)))


def alike(one: Outcome, other: Outcome) -> bool:
    """Nobody sees a difference: the same words, or the same figure but for the last digit."""
    if not (one.sure and other.sure):
        return False
    if one.words:
        return all(one.words[part] == other.words[part] for part in one.words)
    a, b = (inf if o.shown.raw is None else o.shown.raw for o in (one, other))
    if a == b:
        return True
    near = max(one.shown.resolution, SAME_SHARE * abs(a))
    return isfinite(a) and isfinite(b) and abs(a - b) <= near
