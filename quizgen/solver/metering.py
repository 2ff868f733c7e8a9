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

MOST_COLUMNS = 20_000  # cases × points solved in one batch, to bound memory
METER_OHM = 1e7  # common digital meter, OpenStax University Physics 2 sec. 10.4


def metered_volts(
    solutions: Solutions, reds: Sequence[str], black: str, meter_ohm: float = METER_OHM
) -> FloatArray:
    """Volts shown with the red lead on each of `reds`, black on `black`: (len(reds), cases).

    A red point that a case does not have reads 0 V there, as a lead in the air would.
    """
    network = solutions.network
    ends = [(network.node_index[red], network.node_index[black]) for red in reds]
    wiring = Wiring(
        network.wiring.nodes,
        (*network.wiring.ends, *ends),
        (*network.wiring.names, *("voltmeter" for _ in reds)),
    )
    shown = np.empty((len(reds), len(solutions)))
    step = max(1, MOST_COLUMNS // max(1, len(solutions)))
    for first in range(0, len(reds), step):
        chosen = range(first, min(first + step, len(reds)))
        shown[chosen.start : chosen.stop] = _one_meter_each(
            solutions, wiring, ends, chosen, 1.0 / meter_ohm
        )
    return shown


def _one_meter_each(
    solutions: Solutions,
    wiring: Wiring,
    ends: list[tuple[int, int]],
    chosen: range,
    meter_siemens: float,
) -> FloatArray:
    """All cases once for each chosen meter, side by side in one batch."""
    settled, m = solutions.settled, len(solutions)
    meters = np.zeros((len(ends), len(chosen) * m))
    for i, meter in enumerate(chosen):
        meters[meter, i * m : (i + 1) * m] = meter_siemens
    siemens = np.vstack([np.tile(settled.siemens, len(chosen)), meters])
    emf = np.vstack([np.tile(settled.emf, len(chosen)), np.zeros_like(meters)])
    volts = solve_linear(wiring, siemens, emf).volts
    return np.array(
        [
            volts[ends[meter][0], i * m : (i + 1) * m] - volts[ends[meter][1], i * m : (i + 1) * m]
            for i, meter in enumerate(chosen)
        ]
    )
