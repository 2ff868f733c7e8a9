"""What a voltmeter shows at many points of many solved cases, its own resistance included.

The meter is put in as one more branch and the linear network is solved again with every
lamp, motor and relay as it was: ten million ohm cannot move them. A point that floats is
pulled to the other lead by the meter and reads 0 V.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from quizgen.solver.laws import FloatArray
from quizgen.solver.linear import Wiring, solve_linear
from quizgen.solver.operating_point import Solutions

METER_OHM = 1e7  # common digital meter, OpenStax University Physics 2 sec. 10.4


def metered_volts(
    solutions: Solutions, reds: Sequence[str], black: str, meter_ohm: float = METER_OHM
) -> FloatArray:
    """Volts shown with the red lead on each of `reds`, black on `black`: (len(reds), cases).

    A red point that a case does not have reads 0 V there, as a lead in the air would.
    """
    network, settled = solutions.network, solutions.settled
    b = network.node_index[black]
    extra = np.full((1, len(solutions)), 1.0 / meter_ohm)
    siemens = np.vstack([settled.siemens, extra])
    emf = np.vstack([settled.emf, np.zeros_like(extra)])
    shown = np.empty((len(reds), len(solutions)))
    for i, red in enumerate(reds):
        r = network.node_index[red]
        wiring = Wiring(
            network.wiring.nodes,
            (*network.wiring.ends, (r, b)),
            (*network.wiring.names, "voltmeter"),
        )
        volts = solve_linear(wiring, siemens, emf).volts
        shown[i] = volts[r] - volts[b]
    return shown
