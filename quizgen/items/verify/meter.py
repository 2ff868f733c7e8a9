"""The verifier's own voltmeter: ten million ohm between two leads, one decimal.

A reading is got in two ways. *Exactly*: the meter is put in as a part and the circuit solved
again, relays and protectors and all. *Between bounds*: the meter cannot raise the open-circuit
voltage V, and with a resistance B behind its leads it shows V / (1 + B/10 MΩ) at least. No two
points that conduct have more than the sum of all the circuit's resistances between them
(Rayleigh's monotonicity law; Doyle and Snell, Random Walks and Electric Networks, sec. 2.2),
so that sum is a safe B. In a sound circuit it is some kΩ and the bounds lie a few mV apart, far
inside the margin; with a megohm in series they are a tenth apart, which is said, not hidden.

The 10 MΩ and "0.5 % of the reading and one digit" are those of an ordinary hand-held meter
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from quizgen.circuit.components import Bridge
from quizgen.circuit.netlist import Circuit
from quizgen.solver import OperatingPoint, Solutions, solve_cases

METER_OHM = 1e7
DIGIT = 0.1
RELATIVE = 0.005
HALF_DIGIT = DIGIT / 2 + 1e-4  # a printed figure lies that near the value
MINUS = "\N{MINUS SIGN}"

Array = NDArray[np.float64]
Moves = tuple[tuple[str, str], ...]
Leads = tuple[str, str]


def shown_as(volts: float) -> str:
    """Volts as the meter prints them.

    >>> shown_as(-0.26), shown_as(-0.02)
    ('−0.3 V', '0.0 V')
    """
    text = f"{abs(volts):.1f}"
    return f"{MINUS if volts < 0 and float(text) else ''}{text} V"


def margin(volts: float) -> float:
    """Two readings are told apart when they differ by more: twice the meter's tolerance.

    >>> round(margin(12.6), 3)
    0.326
    """
    return 2.0 * (RELATIVE * abs(volts) + DIGIT)


def measure(moves: Moves, asked: Sequence[tuple[Circuit, Leads]]) -> list[tuple[float, float]]:
    """Lowest and highest volts that the meter shows in each circuit at (red, black).

    Raises CircuitError for a circuit that cannot be solved.
    """
    if not asked:
        return []
    metered = [_with_meter(circuit, leads) for circuit, leads in asked]
    solutions = solve_cases(metered, [(i, moves) for i in range(len(metered))])
    return [_spread(solutions.point(i), leads) for i, (_, leads) in enumerate(asked)]


def _with_meter(circuit: Circuit, leads: Leads) -> Circuit:
    if leads[0] == leads[1]:
        return circuit
    return circuit.with_parts(added=[Bridge(id="~meter", nodes=leads, ohm=METER_OHM)])


def _spread(point: OperatingPoint, leads: Leads) -> tuple[float, float]:
    found = [p.between(*leads) or 0.0 for p in (point, *(f.point for f in point.phases))]
    return min(found), max(found)


def bounds(solutions: Solutions, leads: Leads) -> tuple[Array, Array]:
    """Lowest and highest volts that a meter may show at (red, black), by case: two (m,).

    Points that nothing joins read 0 V: the meter alone pulls them together. While a case
    cycles or chatters, the bounds hold all its phases.
    """
    network, settled = solutions.network, solutions.settled
    red, black = (network.node_index[node] for node in leads)
    joined = settled.island[red] == settled.island[black]
    volts = np.where(joined, settled.volts[red] - settled.volts[black], 0.0)
    low, high = volts.copy(), volts.copy()
    for case, phases in solutions.phases.items():
        swing = [phase.point.between(*leads) or 0.0 for phase in phases]
        low[case], high[case] = min(low[case], *swing), max(high[case], *swing)
    loaded = 1.0 + _behind(solutions) / METER_OHM
    return np.where(low > 0.0, low / loaded, low), np.where(high < 0.0, high / loaded, high)


def _behind(solutions: Solutions) -> Array:
    siemens = solutions.settled.siemens
    conducts = (siemens > 0.0) & np.isfinite(siemens)
    ohm = np.divide(1.0, siemens, out=np.zeros_like(siemens), where=conducts)
    return np.asarray(ohm.sum(axis=0))
