"""Is a circuit one that somebody could walk up to and measure?"""

from __future__ import annotations

from quizgen.circuit.components import Wire
from quizgen.solver import OperatingPoint

STEADY = frozenset(("steady", "protector-open"))
BURNS_AMPS_PER_MM2 = 30.0  # a wire that carries this much for long smokes (common practice)


def at_rest(point: OperatingPoint) -> bool:
    """Nothing moves any more, and what it came to is beyond doubt."""
    return point.behaviour in STEADY and not point.ambiguous


def burns(point: OperatingPoint) -> bool:
    """A wire would be on fire before anybody measured anything."""
    wires = [part for part in point.circuit.parts if isinstance(part, Wire)]
    return any(abs(point.flows(w)[0].amps) > BURNS_AMPS_PER_MM2 * w.mm2 for w in wires)
