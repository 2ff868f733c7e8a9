"""Self-powered test lamp: two cells and a small lamp, for circuits without a supply.

It lights through a few ohm, glows through some ten, and stays dark through a relay coil: it
finds a break, not a bad joint. 3 V and a lamp of 2.5 V, 0.3 A: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from quizgen.circuit.components import Battery, Lamp
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, clip_on
from quizgen.instruments.lamp_tester import brightness
from quizgen.instruments.safety import still_connected, why_live
from quizgen.solver import OperatingPoint

CELLS = "~cells"


@dataclass(frozen=True)
class ContinuityLamp:
    """Two cells of half an ohm each behind the lamp."""

    cell_volts: float = 3.0
    cell_ohm: float = 1.0
    unit: ClassVar[str] = "of rated voltage"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """Lamp and cells in series from the clip to black, plus on the red side."""
        lamp = Lamp(id="~lamp", nodes=(TIP, "~mid"), watts=0.75, volts=2.5)
        cells = Battery(
            id=CELLS,
            nodes=("~mid", black),
            emf_volts=self.cell_volts,
            internal_ohm=self.cell_ohm,
        )
        return clip_on(circuit, red, lamp, cells)

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """A live circuit burns out its lamp."""
        return why_live(bare, red, black)

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """The battery has to be off first."""
        return still_connected(bare, red, black)

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Lit bright, glows dim or dark."""
        return brightness(point, "~lamp")
