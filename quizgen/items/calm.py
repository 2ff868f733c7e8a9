"""Is a circuit one that somebody could walk up to and measure, and what would that tell?"""

from __future__ import annotations

from quizgen.circuit.components import Wire
from quizgen.instruments import Shown, distinguishable
from quizgen.solver import OperatingPoint

STEADY = frozenset(("steady", "protector-open"))
BURNS_AMPS_PER_MM2 = 30.0  # a wire that carries this much for long smokes (common practice)


def at_rest(point: OperatingPoint) -> bool:
    """Nothing moves any more, and what it came to is beyond doubt."""
    return point.behaviour in STEADY and not point.ambiguous


def surely_apart(one: Shown, other: Shown) -> bool:
    """Nobody could see in one circuit what the other shows.

    What comes and goes may be taken for either of its phases: "lit bright, then glows dim", when
    the clip of the lamp starts a relay buzzing.
    """
    return distinguishable(one, other) and all(
        shown.point is None or at_rest(shown.point) for shown in (one, other)
    )


def burns(point: OperatingPoint) -> bool:
    """A wire would be on fire before anybody measured anything."""
    wires = [part for part in point.circuit.parts if isinstance(part, Wire)]
    return any(abs(point.flows(w)[0].amps) > BURNS_AMPS_PER_MM2 * w.mm2 for w in wires)
