"""Ohmmeter: half a volt behind a thousand ohm, and the ratio of voltage to current.

So little neither moves a relay nor opens a diode nor warms a filament; whatever else joins
the two points is measured too. Autoranging, 2000 counts from 200 ohm to 20 megohm; 1 % of
the reading and two digits: common practice for hand-held meters, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import ClassVar

from quizgen.circuit.components import Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.instrument import TIP, Reading, amps_through, clip_on, displayed
from quizgen.instruments.safety import still_connected, why_live
from quizgen.solver import OperatingPoint

# top of the range in ohm, ohm per unit of the display, unit, decimals
RANGES = (
    (199.95, 1.0, "Ω", 1),
    (1999.5, 1.0, "Ω", 0),
    (19.995e3, 1e3, "kΩ", 2),
    (199.95e3, 1e3, "kΩ", 1),
    (1.9995e6, 1e6, "MΩ", 3),
    (19.995e6, 1e6, "MΩ", 2),
)
MOST_OHM = RANGES[-1][0]
NEAR_MOST = 0.95  # of MOST_OHM: from here one meter shows a figure and the next OL


@dataclass(frozen=True)
class Ohmmeter:
    """Lead resistance is taken off, as after touching the tips together."""

    test_volts: float = 0.5
    series_ohm: float = 1000.0
    unit: ClassVar[str] = "Ω"

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """Its own source, plus to the red lead."""
        resistor = Resistor(id="~meter", nodes=("~mid", TIP), ohm=self.series_ohm)
        source = Source(id="~source", nodes=("~mid", black), volts=self.test_volts)
        return clip_on(circuit, red, resistor, source)

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """A live circuit damages it and falsifies the reading."""
        return why_live(bare, red, black)

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """The battery has to be off first."""
        return still_connected(bare, red, black)

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """Ohms between the leads through everything that joins them; OL above 20 megohm."""
        volts = point.between(red, black)
        amps = amps_through(point, "~meter")
        ohm = volts / amps if volts is not None and amps > 0.0 else inf
        return display_ohm(max(ohm, 0.0))


def display_ohm(ohm: float) -> Reading:
    """A resistance as the meter shows it.

    >>> [display_ohm(r).shown for r in (0.44, 85.0, 680.0, 4700.0, 3.3e6, inf)]
    ['0.4 Ω', '85.0 Ω', '680 Ω', '4.70 kΩ', '3.30 MΩ', 'OL']
    """
    for top, per, unit, decimals in RANGES:
        if ohm < top:
            digit = per * 10.0**-decimals
            sure = ohm < NEAR_MOST * MOST_OHM
            tolerance = 0.01 * ohm + 2.0 * digit if sure else inf
            return Reading(f"{displayed(ohm / per, decimals)} {unit}", ohm, tolerance, digit)
    return Reading("OL", inf)
