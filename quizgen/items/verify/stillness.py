"""The machine of an item has to stand still, beyond doubt, and not be on fire."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from quizgen.circuit.components import Wire
from quizgen.solver import OperatingPoint

STEADY = ("steady", "protector-open")
SMOKES_AMPS_PER_MM2 = 30.0  # common practice, no source


def restless(what: str, point: OperatingPoint, allowed: Collection[str] = STEADY) -> Iterator[str]:
    """Why `what` cannot be measured by anybody; nothing if it can."""
    if point.behaviour not in allowed:
        yield f"{what} does not come to rest: {point.behaviour}"
    yield from (f"{what} is in doubt: {reason}" for reason in point.ambiguous)


def smoking(point: OperatingPoint) -> Iterator[str]:
    """Ids of wires that carry more than they bear."""
    wires = (part for part in point.circuit.parts if isinstance(part, Wire))
    for wire in wires:
        if abs(point.flows(wire)[0].amps) > SMOKES_AMPS_PER_MM2 * wire.mm2:
            yield wire.id
