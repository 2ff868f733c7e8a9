"""A measurement as somebody would do it, and what the instrument then shows."""

from __future__ import annotations

from dataclasses import dataclass, field

from quizgen.base.errors import InputError
from quizgen.solver import OperatingPoint


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """Instrument, two leads, the state of the machine and what was taken apart first.

    `red` and `black` are points as `Circuit.point` reads them: "K1.87", "G1", "chassis". A
    part that is off its wires has its own terminals at "M1/1", while "M1.1" stays the end of
    the wire. A clamp goes around one wire: `red` is "W5", `black` empty.
    """

    instrument: str
    red: str
    black: str = ""
    positions: tuple[tuple[str, str], ...] = ()  # controls, moved in this order
    apart: tuple[str, ...] = ()  # connectors pulled apart
    removed: tuple[str, ...] = ()  # fuses, relays, lamps out of their holders
    unplugged: tuple[str, ...] = ()  # loads and batteries off their wires


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What the instrument shows.

    `raw` is the figure behind the display in `unit` (inf for OL, None when refused); `low`
    and `high` bound it while the circuit cycles. An instrument of this kind may be off by
    `tolerance`; `resolution` is its last digit. `point` is the circuit with the instrument on
    it, so that one can also look at the loads.
    """

    instrument: str
    shown: str = ""
    raw: float | None = None
    low: float = 0.0
    high: float = 0.0
    unit: str = ""
    tolerance: float = 0.0
    resolution: float = 0.0
    warnings: tuple[str, ...] = ()  # the reading stands, but this is not how to take it
    refused: str = ""  # why this must not be done; nothing is shown then
    doubts: tuple[str, ...] = ()  # why two people might report different things
    point: OperatingPoint | None = field(default=None, compare=False, repr=False)


def distinguishable(one: Shown, other: Shown) -> bool:
    """True if nobody could take one reading for the other.

    The displays differ, and the figures lie apart by more than both tolerances and one digit.
    Refused or doubtful readings tell nothing apart. Raises InputError for readings of two
    different instruments.
    """
    if one.instrument != other.instrument:
        raise InputError(
            f"readings of {one.instrument} and {other.instrument} cannot be compared; "
            "take both with one instrument"
        )
    if one.refused or other.refused or one.doubts or other.doubts or one.shown == other.shown:
        return False
    lower, upper = sorted((one, other), key=lambda s: s.low)
    return upper.low - lower.high > one.tolerance + other.tolerance + one.resolution
