"""Outcomes that a calculation cannot settle: either protector, open or not; one reading or another.

Where it hangs on a protector that may or may not open, or on which of two opens first, each
way it may go is followed. While a case cycles, a meter swings between its phases.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from quizgen.circuit.components import Breaker, Fuse, FusibleLink
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject
from quizgen.solver import OperatingPoint, Solutions
from quizgen.solver.laws import FloatArray
from quizgen.solver.metering import metered_volts

HOLDS_AMPS = 1e9  # a rating that nothing exceeds
MAY_HOLD = "may or may not"  # how the solver puts it

Protector = Breaker | Fuse | FusibleLink


def other_ways(point: OperatingPoint) -> tuple[Circuit, ...]:
    """The circuit with each protector in doubt open, or, where that may be, holding."""
    found = []
    for part in point.circuit.parts if point.ambiguous else ():
        doubts = [text for text in point.ambiguous if part.id in text.split()]
        if doubts and isinstance(part, Protector) and part.condition == "good":
            mode = "stuck-open" if isinstance(part, Breaker) else "blown"
            found.append(inject(point.circuit, Fault(part.id, mode)))
            if any(MAY_HOLD in text for text in doubts):
                found.append(point.circuit.with_parts(changed=[_holding(part)]))
    return tuple(found)


def _holding(part: Protector) -> Protector:
    if isinstance(part, Fuse):
        return replace(part, amps=HOLDS_AMPS, fitted_amps=0.0)
    return replace(part, amps=HOLDS_AMPS)


def metered_bounds(solutions: Solutions, points: Sequence[str]) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest volts that a voltmeter shows, black on the reference: (points, cases)."""
    low = metered_volts(solutions, points)
    high = low.copy()
    shown: dict[int, FloatArray] = {}
    for case, phases in solutions.phases.items():
        for phase in phases:
            frozen = phase.point.solutions
            if id(frozen) not in shown:
                shown[id(frozen)] = metered_volts(frozen, points)
            volts = shown[id(frozen)][:, phase.point.case]
            low[:, case] = np.minimum(low[:, case], volts)
            high[:, case] = np.maximum(high[:, case], volts)
    return low, high
