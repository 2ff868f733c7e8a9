"""Digital voltmeter: a resistance across two points, and the voltage on it.

10 megohm: OpenStax University Physics 2 sec. 10.4. Accuracy of 0.5 % of the reading and one
digit: common practice for hand-held meters, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign, inf

from quizgen.circuit.components import Resistor
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, clip_on, displayed
from quizgen.instruments.safety import nothing_to_read
from quizgen.solver import OperatingPoint
from quizgen.solver.metering import METER_OHM


@dataclass(frozen=True)
class Voltmeter:
    """On the 200 V range it shows tenths; on the 2 V range, for voltage drops, thousandths."""

    decimals: int = 1
    most_volts: float = 199.9
    ohm: float = METER_OHM
    unit: str = "V"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """A resistor from the clip to black."""
        return clip_on(circuit, red, Resistor(id="~meter", nodes=(TIP, black), ohm=self.ohm))

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """A voltmeter does no harm at these voltages."""
        return ""

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """It finds nothing on a dead circuit."""
        return nothing_to_read(bare, red, black)

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Volts with the sign of the red lead; OL above the range."""
        volts = point.between(red, black)
        assert volts is not None  # the meter itself joins the leads
        digit = 10.0**-self.decimals
        if abs(volts) > self.most_volts:
            return Reading("OL", copysign(inf, volts), 0.0, digit)
        shown = f"{displayed(volts, self.decimals)} V"
        return Reading(shown, volts, 0.005 * abs(volts) + digit, digit)
