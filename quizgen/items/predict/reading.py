"""A reading decided on: taken exactly, with the wrong values that an instrument tells from it."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf

from quizgen.instruments import Measurement, Shown, measure
from quizgen.instruments.ohmmeter import display_ohm
from quizgen.items.act import Act
from quizgen.items.evidence import margin_volts
from quizgen.items.predict.probe import Probe, Wrong
from quizgen.items.predict.scene import Scene
from quizgen.items.sentences import volts_words

FEWEST_OPTIONS = 3
LEVELS = ("dark", "dim", "bright")
LAMP_SHOWS = dict(zip(LEVELS, ("dark", "glows dim", "lit bright"), strict=True))
WIRE_VOLTS = 0.3  # what sound wires may lose that a reader does not count


@dataclass(frozen=True)
class Draft:
    """A reading with its rivals; `shown` is what the instrument does show."""

    scene: Scene
    probe: Probe
    shown: Shown
    wrong: tuple[Wrong, ...]
    given: tuple[Shown, ...]

    @property
    def instrument(self) -> str:
        """Its name."""
        return self.probe.act.instrument

    @property
    def value(self) -> float:
        """The figure behind the display."""
        return float(self.shown.raw or 0.0)


def draft_reading(scene: Scene, probe: Probe, options: int) -> Draft | None:
    """The reading taken exactly; None if it is in doubt or too few models part from it."""
    shown = _take(scene, probe.act)
    given = tuple(_take(scene, act) for act in probe.given)
    if any(s.raw is None or s.doubts or s.warnings or s.low != s.high for s in (shown, *given)):
        return None
    assert shown.raw is not None
    same = shown.raw == probe.value or abs(shown.raw - probe.value) <= 0.05 + 0.01 * probe.value
    if not same and not (isinf(shown.raw) and isinf(probe.value)):
        return None
    wrong: list[Wrong] = []
    for rival in probe.wrong:
        values = [shown.raw, *(w.value for w in wrong)]
        fresh = rival.misconception not in {w.misconception for w in wrong}
        if fresh and all(apart(probe.act.instrument, v, rival.value) for v in values):
            wrong.append(rival)
    if len(wrong) < FEWEST_OPTIONS - 1:
        return None
    return Draft(scene, probe, shown, tuple(wrong[: options - 1]), given)


def _take(scene: Scene, act: Act) -> Shown:
    asked = Measurement(
        instrument=act.instrument, red=act.red, black=act.black, positions=act.moves,
        apart=act.apart, removed=act.removed, unplugged=act.unplugged,
    )  # fmt: skip
    return measure(scene.real.circuit, asked)


def apart(instrument: str, one: float, other: float) -> bool:
    """A person with the instrument tells the two readings apart."""
    if isinf(one) or isinf(other):
        return one != other
    greatest = max(abs(one), abs(other))
    match instrument:
        case "voltmeter":
            return abs(one - other) > margin_volts(greatest) + WIRE_VOLTS
        case "clamp-ammeter":
            return abs(one - other) > 2.0 * (0.025 * greatest + 0.3)
        case "ohmmeter":
            return abs(one - other) > 0.4 + 0.1 * greatest
        case _:
            return level(one) != level(other)


def level(share: float) -> str:
    return LEVELS[0 if share < 0.22 else 1 if share < 0.72 else 2]


def text_of(instrument: str, value: float) -> str:
    """A value as the display shows it, in print."""
    if isinf(value):
        return "OL"
    match instrument:
        case "voltmeter":
            return volts_words(value)
        case "clamp-ammeter":
            return f"{value + 0.0:.1f} A"
        case "ohmmeter":
            return display_ohm(value).shown
        case _:
            return LAMP_SHOWS[level(value)]
