"""Fused jumper: a wire with a fuse in it, to go round a suspect part.

What it shows is whether its fuse holds; what matters is what the loads do meanwhile, see
`Shown.point`. Never across supply and ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from quizgen.circuit.components import Bridge, Fuse
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, amps_through, clip_on
from quizgen.instruments.safety import why_short
from quizgen.solver import OperatingPoint

JUMPER_FUSE = "~fuse"


@dataclass(frozen=True)
class FusedJumper:
    """A metre of 2.5 mm² and a 10 A fuse."""

    fuse_amps: float = 10.0
    lead_ohm: float = 0.01
    unit: ClassVar[str] = "A"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """Fuse and lead in series."""
        fuse = Fuse(id=JUMPER_FUSE, nodes=(TIP, "~mid"), amps=self.fuse_amps, ohm=0.007)
        lead = Bridge(id="~lead", nodes=("~mid", black), ohm=self.lead_ohm)
        return clip_on(circuit, red, fuse, lead)

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """Across supply and ground it is a short that only its fuse ends."""
        return why_short(bare, red, black)

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """It may go round anything but a load."""
        return ()

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Whether the fuse of the jumper holds; `raw` is the current through it."""
        blown = point.state(point.circuit.part(JUMPER_FUSE)) == "open"
        amps = abs(amps_through(point, JUMPER_FUSE))
        return Reading("jumper fuse blown" if blown else "jumper fuse holds", amps)
