"""Ammeters: one in series with a fuse of its own, one that clamps around a wire.

Accuracy of 1.5 % and 3 digits in series, 2.5 % and 3 digits for the clamp: common practice
for hand-held meters, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from quizgen.base.errors import InputError
from quizgen.circuit.components import Fuse, Resistor, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, amps_through, clip_on, displayed
from quizgen.instruments.safety import joined_already, nothing_to_read, why_short
from quizgen.solver import OperatingPoint

METER_FUSE = "~fuse"


@dataclass(frozen=True)
class SeriesAmmeter:
    """Between the two ends of an opened path: a connector apart, a fuse out."""

    shunt_ohm: float = 0.01
    fuse_amps: float = 10.0
    unit: ClassVar[str] = "A"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """Fuse and shunt in series."""
        fuse = Fuse(id=METER_FUSE, nodes=(TIP, "~mid"), amps=self.fuse_amps, ohm=0.007)
        shunt = Resistor(id="~meter", nodes=("~mid", black), ohm=self.shunt_ohm)
        return clip_on(circuit, red, fuse, shunt)

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """To the circuit an ammeter is a piece of wire."""
        return why_short(bare, red, black)

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """A path that is not opened keeps its share of the current."""
        if joined_already(bare, red, black):
            return ("the path is not opened here; the meter takes only a share of the current",)
        return nothing_to_read(bare, red, black)

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Amps into the red lead; nothing once the meter's own fuse has blown."""
        amps = amps_through(point, "~meter")
        if point.state(point.circuit.part(METER_FUSE)) == "open":
            return Reading("0.00 A, meter fuse blown", 0.0, 0.03, 0.01)
        return Reading(f"{displayed(amps, 2)} A", amps, 0.015 * abs(amps) + 0.03, 0.01)


@dataclass(frozen=True)
class ClampAmmeter:
    """Around one wire; opens nothing and loads nothing. Shows the size, not the direction."""

    unit: ClassVar[str] = "A"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """Nothing is clipped on. Raises InputError unless `red` is a wire of the circuit."""
        if black or not isinstance(circuit.part(red), Wire):
            raise InputError(f"{circuit.name}: a clamp goes around one wire; red: W5, no black")
        return circuit

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """It touches nothing."""
        return ""

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """It needs current."""
        ends = bare.circuit.part(red).nodes
        return nothing_to_read(bare, ends[0], ends[1])

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Amps in tenths."""
        amps = abs(amps_through(point, red))
        return Reading(f"{displayed(amps, 1)} A", amps, 0.025 * amps + 0.3, 0.1)
