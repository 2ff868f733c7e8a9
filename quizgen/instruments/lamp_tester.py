"""Test lamp: a real filament between a point and, as a rule, ground.

It draws a quarter of an ampere, so it tells a wire that can feed a load from one that only
holds a voltage, and it can itself pull in a relay. 3 W at 13.5 V or 28 V: lamp W3W of UN R37
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from quizgen.circuit.components import Lamp
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, clip_on
from quizgen.instruments.safety import nothing_to_read
from quizgen.solver import OperatingPoint
from quizgen.solver.observation import DOUBT, LAMP_LEVELS, observe_load

WORDS = {"dark": "dark", "dim": "glows dim", "bright": "lit bright"}


@dataclass(frozen=True)
class LampTester:
    """Its lamp suits the machine: 12 V or 24 V."""

    watts: float = 3.0
    unit: ClassVar[str] = "of rated voltage"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """A filament from the clip to black."""
        volts = 28.0 if circuit.system_volts > 18.0 else 13.5
        lamp = Lamp(id="~lamp", nodes=(TIP, black), watts=self.watts, volts=volts)
        return clip_on(circuit, red, lamp)

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """It does no harm to the circuits considered here."""
        return ""

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """It stays dark on a dead circuit whatever is wrong."""
        return nothing_to_read(bare, red, black)

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Lit bright, glows dim or dark."""
        return brightness(point, "~lamp")


def brightness(point: OperatingPoint, lamp: str) -> Reading:
    """What the eye makes of a lamp: the levels of `quizgen.solver.observation`."""
    seen = observe_load(point, point.circuit.part(lamp))
    doubt = "two people might not agree how bright it is" if seen.doubtful else ""
    tolerance = DOUBT * max(top for top, _ in LAMP_LEVELS if top < 1.0)
    return Reading(WORDS[seen.level], seen.share, tolerance, 0.0, doubt)
