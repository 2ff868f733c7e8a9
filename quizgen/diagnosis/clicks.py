"""What is heard of relays and starter solenoids: a click as they pull in, or a buzz."""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.solver.history import Event
from quizgen.solver.operating_point import OperatingPoint

CLICKS, NO_CLICK, BUZZES = "clicks", "does not click", "buzzes"
NOBODY_KNOWS = ""
Clicker = c.Relay | c.StarterSolenoid
CLICKERS = (c.Relay, c.StarterSolenoid)


def clickers(circuit: Circuit) -> tuple[str, ...]:
    """Ids of the parts that are heard to pull in, in the circuit's order."""
    return tuple(p.id for p in circuit.parts if isinstance(p, CLICKERS))


def is_held(part: Clicker) -> bool:
    """Its contact is held by a defect; whether it still clicks nobody can say."""
    return (part.armature if isinstance(part, c.Relay) else part.plunger) != "good"


def heard_again(point: OperatingPoint, part_id: str) -> str:
    """What is heard of a part by somebody who operates the controls once more.

    One of `CLICKS`, `NO_CLICK`, `BUZZES`, or `NOBODY_KNOWS`. A fuse or link that opened when
    the driver first tried has kept the relay still ever since. One that has been pulled in
    since the battery was connected moves no more.
    """
    part = point.circuit.part(part_id)
    assert isinstance(part, CLICKERS)
    mine = [e for e in point.events if e.part == part_id]
    if is_held(part):
        return NOBODY_KNOWS
    if any(e.change == "chatters" for e in mine):
        return BUZZES
    if point.phases and len({phase.point.state(part) for phase in point.phases}) > 1:
        return NOBODY_KNOWS
    if point.state(part) == "pulled":
        return CLICKS if any(e.after for e in mine) else NOBODY_KNOWS
    return NO_CLICK if not mine or _stopped_for_good(point) else NOBODY_KNOWS


def heard_now(point: OperatingPoint, part_id: str, before: OperatingPoint | None) -> str:
    """What is heard of a part on the way from the state `before`, or from all at rest.

    One that lets go, or moves and comes back, makes a sound that may be taken for the other.
    """
    part = point.circuit.part(part_id)
    assert isinstance(part, CLICKERS)
    new: Sequence[Event] = point.events[len(before.events) if before else 0 :]
    mine = [e.change for e in new if e.part == part_id]
    if is_held(part):
        return NOBODY_KNOWS
    if "chatters" in mine:
        return BUZZES
    was = before.state(part) if before else "rest"
    now = point.state(part)
    if was == now:
        return NOBODY_KNOWS if mine else NO_CLICK
    return CLICKS if now == "pulled" else NOBODY_KNOWS


def _stopped_for_good(point: OperatingPoint) -> bool:
    opened = [point.circuit.by_id[e.part] for e in point.events if e.change == "opens"]
    return bool(opened) and all(isinstance(p, c.Fuse | c.FusibleLink) for p in opened)
