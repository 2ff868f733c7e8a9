"""What somebody found on a faulty machine, in the order in which it was found.

A *step* moves some controls and then looks, listens and measures. Steps follow each other on
one machine: the second begins where the first left off, with relays and fuses as they were.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import copysign, inf

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.clicks import clickers
from quizgen.instruments import INSTRUMENTS, Measurement
from quizgen.solver.operating_point import Moves

CLICK_WORDS = ("yes", "no", "buzzes")
_LIT = ("dark", "dim", "bright", "comes and goes", "flashes", "flashes fast")
_MOVES = (
    "turns backwards", "stopped", "turns slowly", "turns", "turns too fast",
    "comes and goes", "flashes", "flashes fast",
)  # fmt: skip
_ON_AND_OFF = ("comes and goes", "flashes", "flashes fast")
LEVEL_WORDS: dict[type[c.Part], tuple[str, ...]] = {
    c.Lamp: _LIT,
    c.LedLamp: _LIT,
    c.Motor: _MOVES,
    c.TwoSpeedMotor: _MOVES,
    c.Heater: ("cold", "lukewarm", "hot", *_ON_AND_OFF),
    c.Solenoid: ("released", "pulled", *_ON_AND_OFF),
    c.Horn: ("silent", "weak", "sounds", *_ON_AND_OFF),
    c.Gauge: ("at the lower stop", "low", "in the middle", "high", *_ON_AND_OFF),
}
# what may be taken for what it stands beside; between two of a row lie those in the middle
SCALES = (
    ("dark", "dim", "bright"),
    ("cold", "lukewarm", "hot"),
    ("turns backwards", "stopped", "turns slowly", "turns", "turns too fast"),
    ("released", "pulled"),
    ("silent", "weak", "sounds"),
    ("at the lower stop", "low", "in the middle", "high"),
)
DISPLAY_WORDS = {
    "test-lamp": ("dark", "glows dim", "lit bright"),
    "self-powered-lamp": ("dark", "glows dim", "lit bright"),
    "fused-jumper": ("jumper fuse holds", "jumper fuse blown"),
}
_UNITS = {
    "V": {"V": 1.0, "mV": 1e-3},
    "Ω": {"Ω": 1.0, "ohm": 1.0, "kΩ": 1e3, "kohm": 1e3, "MΩ": 1e6, "Mohm": 1e6},
    "A": {"A": 1.0, "mA": 1e-3},
}
_FIGURE = re.compile(r"([-+−]?[0-9]{1,12}(?:\.[0-9]{1,12})?)\s*([A-Za-zΩ]*)\Z")


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One reading: where the leads were, what was taken apart for it, what was displayed."""

    red: str
    shows: str
    instrument: str = "voltmeter"
    black: str = ""  # "": the reference, or nothing for a clamp
    apart: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()

    @property
    def is_plain_volts(self) -> bool:
        """A voltmeter to the reference, nothing taken apart."""
        apart = self.apart or self.removed or self.unplugged
        return self.instrument == "voltmeter" and not self.black and not apart

    def measurement(self, circuit: Circuit, moves: Moves) -> Measurement:
        """The measurement that this is the result of."""
        black = "" if self.instrument == "clamp-ammeter" else self.black or circuit.reference
        return Measurement(
            instrument=self.instrument, red=self.red, black=black, positions=moves,
            apart=self.apart, removed=self.removed, unplugged=self.unplugged,
        )  # fmt: skip

    @property
    def value(self) -> float | str:
        """The figure in V, Ω or A, inf for OL; for a lamp or a jumper its word.

        Raises InputError for what this instrument cannot show.
        """
        words = DISPLAY_WORDS.get(self.instrument)
        if words is not None:
            if self.shows in words:
                return self.shows
            raise InputError(
                f"the {self.instrument} shows one of {', '.join(words)}; found {shown(self.shows)}"
            )
        instrument = INSTRUMENTS.get(self.instrument)
        if instrument is None:
            raise InputError(
                f"no instrument {shown(self.instrument)}{suggest(self.instrument, INSTRUMENTS)}"
            )
        return _figure(self.shows, instrument.unit)


@dataclass(frozen=True, kw_only=True)
class Step:
    """Controls moved, in their order, and what was found then."""

    moves: Moves = ()
    sees: tuple[tuple[str, str], ...] = ()  # load, level
    clicks: tuple[tuple[str, str], ...] = ()  # relay, one of CLICK_WORDS: did it pull in now?
    readings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Evidence:
    """Everything that was found."""

    steps: tuple[Step, ...] = field(default=())

    @property
    def states(self) -> tuple[Moves, ...]:
        """For each step all moves made up to then; one state at rest if there is no step."""
        found: list[Moves] = []
        for step in self.steps:
            found.append((*(found[-1] if found else ()), *step.moves))
        return tuple(found) or ((),)


def known_words(circuit: Circuit, part_id: str) -> tuple[str, ...]:
    """What may be seen of a load. Raises InputError for a part that is none."""
    part = circuit.part(part_id)
    words = LEVEL_WORDS.get(type(part))
    if words is None:
        loads = [p.id for p in circuit.parts if isinstance(p, c.LOADS)]
        raise InputError(
            f"{circuit.name}: {part_id} is a {part.kind.replace('_', ' ')}, not a load"
            f"{suggest(part_id, loads)}"
        )
    return words


def check_evidence(circuit: Circuit, evidence: Evidence) -> None:
    """Raises InputError for a control, part, point, word or display that cannot be."""
    for step in evidence.steps:
        circuit.check_positions(dict(step.moves))
        for load, level in step.sees:
            check_sight(circuit, load, level)
        for relay, heard in step.clicks:
            check_click(circuit, relay, heard)
        for finding in step.readings:
            _ = finding.value
            if finding.is_plain_volts and circuit.point(finding.red) == circuit.reference:
                raise InputError(
                    f"{circuit.name}: both leads are on {circuit.reference}; "
                    "put them on two different points"
                )


def check_sight(circuit: Circuit, load: str, level: str) -> None:
    """Raises InputError unless `load` is one and `level` a word for it."""
    words = known_words(circuit, load)
    if level not in words:
        raise InputError(
            f"{circuit.name}: {load}: expected one of {', '.join(words)}; found {shown(level)}"
        )


def check_click(circuit: Circuit, relay: str, heard: str) -> None:
    """Raises InputError unless `relay` is one and `heard` a word for it."""
    if relay not in (heard_of := clickers(circuit)):
        circuit.part(relay)  # says so if there is no such part
        raise InputError(f"{circuit.name}: {relay} is no relay{suggest(relay, heard_of)}")
    if heard not in CLICK_WORDS:
        raise InputError(
            f"{circuit.name}: {relay}: expected one of {', '.join(CLICK_WORDS)}; "
            f"found {shown(heard)}"
        )


def _figure(text: str, unit: str) -> float:
    """A display as a figure in `unit`."""
    if text.upper() in ("OL", "-OL", "−OL"):
        return copysign(inf, -1.0 if text[0] in "-−" else 1.0)
    found = _FIGURE.match(text)
    factor = _UNITS[unit].get(found[2]) if found else None
    if found is None or factor is None:
        raise InputError(
            f"expected a figure with its unit, such as 1.5 {unit}, found {shown(text)}"
        )
    return float(found[1].replace("−", "-")) * factor
