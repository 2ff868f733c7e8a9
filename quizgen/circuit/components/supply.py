"""Where the voltage comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quizgen.circuit.components.part import Part


@dataclass(frozen=True, kw_only=True)
class Battery(Part):
    """Rested open-circuit voltage behind an internal resistance."""

    kind = "battery"
    letters = ("GB", "G")
    emf_volts: float
    internal_ohm: float = 0.01

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("+", "-")


@dataclass(frozen=True, kw_only=True)
class Source(Part):
    """Ideal voltage source, for textbook networks; 0 V makes it an ideal ammeter."""

    kind = "source"
    letters = ("G", "V", "B")
    volts: float

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("+", "-")


@dataclass(frozen=True, kw_only=True)
class Alternator(Part):
    """Alternator with its regulator. Terminals B+ output, D+ charge lamp, 31 case, S sense.

    It charges once its engine runs (`control` in position `running`) and the charge lamp has
    excited it through D+; then it holds `volts` at S. Without S it overcharges.
    """

    kind = "alternator"
    letters = ("GA", "G")
    control: str
    running: str = "running"
    volts: float = 14.2
    unsensed_volts: float = 15.5
    internal_ohm: float = 0.02
    rotor_ohm: float = 8.0
    excite_amps: float = 0.05
    sensed: bool = True  # has a terminal S
    condition: Literal["good", "open", "rotor-open"] = "good"

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("B+", "D+", "31", *(("S",) if self.sensed else ()))
