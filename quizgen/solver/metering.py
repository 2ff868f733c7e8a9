"""What a voltmeter shows at many points of many solved cases, its own resistance included.

By Thévenin's theorem the meter sees the point's potential behind the resistance from the
point to the other lead, with every lamp, motor and relay as it was: ten million ohm cannot
move them. A point that floats is pulled to the other lead by the meter and reads 0 V, unless the
pull opens a diode: a battery that is off its ground and feeds an LED shows what the LED leaves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from quizgen.solver.laws import DIODE, FloatArray
from quizgen.solver.linear import resistance_to_reference
from quizgen.solver.network import law_table
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
    _open_diodes(solutions, shown)
    return np.asarray(shown[[network.node_index[p] for p in points]])


def _open_diodes(solutions: Solutions, shown: FloatArray) -> None:
    """Put into `shown` (nodes, cases) what floating points read where the meter opens a diode.

    With the lead on a floating point x, all that hangs together with it goes to where x is at
    the other lead's potential. A diode from there to the rest of the circuit, or back, that
    then stands at more than its forward voltage conducts and holds x off by what is too much.
    """
    network, settled = solutions.network, solutions.settled
    laws = law_table(network, network.rows(solutions.circuit, settled.state)).of(DIODE)
    case = laws.case
    anode, cathode = network.wiring.a[laws.branch], network.wiring.b[laws.branch]
    above, below = settled.island[anode, case], settled.island[cathode, case]
    too_much = settled.volts[anode, case] - settled.volts[cathode, case] - laws.numbers[:, 0]
    for i in np.flatnonzero((above != below) & ((above == 0) | (below == 0))).tolist():
        sign, island = (1.0, below[i]) if above[i] == 0 else (-1.0, above[i])
        points = np.flatnonzero(settled.island[:, case[i]] == island)
        held = sign * np.maximum(too_much[i] + sign * settled.volts[points, case[i]], 0.0)
        before = shown[points, case[i]]
        shown[points, case[i]] = np.where(np.abs(held) > np.abs(before), held, before)
