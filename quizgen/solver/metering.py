"""What a voltmeter shows at many points of many solved cases, its own resistance included.

By Thévenin's theorem the meter sees the point's potential behind the resistance from the
point to the other lead, with every lamp, motor and relay as it was: ten million ohm cannot
move them. A point that floats is pulled to the other lead by the meter and reads 0 V.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from quizgen.solver.laws import FloatArray
from quizgen.solver.linear import resistance_to_reference
from quizgen.solver.operating_point import Solutions

METER_OHM = 1e7  # common digital meter, OpenStax University Physics 2 sec. 10.4


def metered_volts(
    solutions: Solutions, points: Sequence[str], meter_ohm: float = METER_OHM
) -> FloatArray:
    """Volts shown with the red lead on each of `points`, black on the reference: (points, cases).

    A point that a case does not have reads 0 V there, as a lead in the air would.
    """
    network, settled = solutions.network, solutions.settled
    behind = resistance_to_reference(network.wiring, settled.siemens, settled.emf)
    shown = settled.volts * (meter_ohm / (meter_ohm + behind))
    shown[settled.island != 0] = 0.0
    return np.asarray(shown[[network.node_index[p] for p in points]])
