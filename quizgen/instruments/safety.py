"""Uses that hurt people, instruments or harnesses, or that measure nothing.

Judged from the wiring as it would be if it were sound: a technician who looks for a fault
does not know yet that a broken wire makes a jumper across supply and ground harmless.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from quizgen.circuit import components as c
from quizgen.circuit.reach import Pair, conducting_pairs, load_pairs, reached
from quizgen.solver import OperatingPoint

DEAD_VOLTS = 0.001
LOW_OHM = 1.0  # a resistor below this is no protection for a jumper

_FIXED: tuple[type[c.Part], ...] = (c.Wire, c.Ground)
_FED: tuple[type[c.Part], ...] = (*c.LOADS, c.Relay, c.StarterSolenoid)
_PROTECTORS: tuple[type[c.Part], ...] = (c.Fuse, c.FusibleLink, c.Breaker)


def live_supplies(point: OperatingPoint) -> tuple[c.Part, ...]:
    """The batteries and sources that have a voltage, the instrument's own left out."""
    return tuple(
        p
        for p in point.circuit.parts
        if not p.id.startswith("~")
        and (
            (isinstance(p, c.Battery) and p.emf_volts != 0.0)
            or (isinstance(p, c.Source) and p.volts != 0.0)
        )
    )


def why_live(bare: OperatingPoint, red: str, black: str) -> str:
    """Why the points are live, for an instrument with a supply of its own; "" if they are not."""
    for supply in live_supplies(bare):
        minus = supply.node("-")
        for lead, node in (("red", red), ("black", black)):
            volts = bare.between(node, minus)
            if volts is not None and abs(volts) > DEAD_VOLTS:
                return (
                    f"the circuit is live: the {lead} lead would sit at {volts:.1f} V; "
                    "isolate the battery first"
                )
    return ""


def still_connected(bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
    """A warning when a supply is joined to either lead, though no voltage is there now."""
    for supply in live_supplies(bare):
        for node in (red, black):
            if bare.between(node, supply.node("-")) is not None:
                return (f"{supply.id} is still connected; isolate it before resistance checks",)
    return ()


def nothing_to_read(bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
    """A warning when no supply is joined to either lead: there is no voltage to find."""
    for supply in live_supplies(bare):
        for node in (red, black):
            if bare.between(node, supply.node("-")) is not None:
                return ()
    return ("no supply is connected here; this instrument needs a live circuit",)


def why_short(bare: OperatingPoint, red: str, black: str) -> str:
    """Why joining the points would be a short, "" if it would not."""
    low = list(_low_pairs(bare))
    for supply in live_supplies(bare):
        plus, minus = (reached(pole, low) for pole in supply.nodes)
        for a, b in permutations((red, black)):
            if a in plus and b in minus and a not in minus and b not in plus:
                return f"straight across supply and ground of {supply.id}: a dead short"
    fixed = [pair for p in bare.circuit.parts for pair in _fixed_pairs(p)]
    for load in bare.circuit.parts:
        if not isinstance(load, _FED) or load.id.startswith("~"):
            continue
        for pair in load_pairs(load):
            near, far = (reached(node, fixed) for node in pair)
            for a, b in permutations((red, black)):
                if a in near and b in far and a not in far and b not in near:
                    return f"across the supply and ground of {load.id}: a dead short once it is fed"
    return ""


def joined_already(bare: OperatingPoint, red: str, black: str) -> bool:
    """True if sound wiring joins the two points with next to no resistance."""
    return black in reached(red, _low_pairs(bare))


def _fixed_pairs(part: c.Part) -> tuple[Pair, ...]:
    if isinstance(part, _FIXED) or (isinstance(part, c.Connector) and not part.apart):
        return conducting_pairs(part)
    return ()


def _low_pairs(point: OperatingPoint) -> Iterator[Pair]:
    """What conducts with the controls as they stand and nothing broken, blown or bridged.

    The instrument itself hangs on an open clip.
    """
    for part in point.circuit.parts:
        yield from _fixed_pairs(part)
        match part:
            case c.Switch():
                closed = part.closes[part.positions.index(point.positions[part.control])]
                yield from ((part.node(k.a), part.node(k.b)) for k in closed)
            case c.Relay():
                throw = "87" if point.state(part) == "pulled" else "87a"
                if throw in part.terminals:
                    yield part.node("30"), part.node(throw)
            case c.StarterSolenoid() if point.state(part) == "pulled":
                yield from conducting_pairs(part)
            case c.Resistor() if part.ohm < LOW_OHM:
                yield part.nodes[0], part.nodes[1]
            case c.ResistorPack() | c.Flasher():
                yield from conducting_pairs(part)
            case _ if isinstance(part, _PROTECTORS):
                yield part.nodes[0], part.nodes[1]
            case _:
                pass
