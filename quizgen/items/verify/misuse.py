"""What no technician may do with an instrument, and what tells nothing.

Rules of the trade (common practice, no source):

* an ohmmeter or a self-powered lamp goes on a dead circuit, its battery isolated
* an ammeter or a jumper joins the ends of an opened path, never the two sides of a load or of
  the supply
* a voltmeter, a test lamp or a clamp finds nothing where no supply is connected

Judged by the wiring as it would be if sound: who looks for a broken wire does not know yet
that it is the break that makes a jumper across the supply harmless.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from quizgen.circuit import components as c
from quizgen.circuit.reach import Pair, load_pairs, reached
from quizgen.solver import OperatingPoint

LIVE_VOLTS = 0.001  # what falsifies a resistance
FEW_OHM = 1.0  # a resistor of less limits no current worth speaking of
OWN = "~"  # begins the names of an instrument's own parts

_COILS = (c.Relay, c.StarterSolenoid)


def live(bare: OperatingPoint, tips: Pair) -> str:
    """Why the tips are on a live circuit; "" if they are not.

    A point is live if something connected to it holds it above the lowest point that is joined
    to it.
    """
    if not _supplied(bare, tips):
        return ""
    for tip in tips:
        above = [bare.between(tip, node) for node in _poles(bare)]
        if any(volts is not None and volts > LIVE_VOLTS for volts in above):
            return "the circuit is live there"
    return ""


def connected(bare: OperatingPoint, tips: Pair) -> str:
    """Why the supply is not isolated from the tips; "" if it is."""
    return "the supply is still connected" if _supplied(bare, tips) else ""


def dead(bare: OperatingPoint, tips: Pair) -> str:
    """Why there is no voltage to be found, whatever is wrong; "" if there may be."""
    return "" if _supplied(bare, tips) else "no supply is connected there"


def shorts(bare: OperatingPoint, tips: Pair) -> str:
    """Why a piece of wire between the tips would be a dead short; "" if it would not."""
    easy = [pair for part in bare.circuit.parts for pair in _easy(part, bare)]
    for supply in _supplies(bare):
        if _apart(tips, supply.nodes, easy):
            return f"it joins both poles of {supply.id}"
    fixed = [pair for part in bare.circuit.parts for pair in _fixed(part)]
    for part in bare.circuit.parts:
        fed = isinstance(part, (*c.LOADS, *_COILS)) and not part.id.startswith(OWN)
        if fed and any(_apart(tips, pair, fixed) for pair in load_pairs(part)):
            return f"it joins both sides of {part.id}"
    return ""


def joined(bare: OperatingPoint, tips: Pair) -> str:
    """Why a meter would see only a share of the current: sound wiring joins the tips."""
    easy = [pair for part in bare.circuit.parts for pair in _easy(part, bare)]
    return "the path is not opened there" if tips[1] in reached(tips[0], easy) else ""


def _apart(tips: Pair, ends: tuple[str, ...], pairs: list[Pair]) -> bool:
    """The tips lie on the two ends, one on each, and no wiring joins these anyway."""
    near, far = reached(ends[0], pairs), reached(ends[1], pairs)
    return not near & far and any(one in near and other in far for one, other in (tips, tips[::-1]))


def _supplies(bare: OperatingPoint) -> Iterator[c.Part]:
    for part in bare.circuit.parts:
        volts = {c.Battery: "emf_volts", c.Source: "volts"}.get(type(part))
        if volts and getattr(part, volts) and not part.id.startswith(OWN):
            yield part


def _poles(bare: OperatingPoint) -> list[str]:
    return [node for supply in _supplies(bare) for node in supply.nodes]


def _supplied(bare: OperatingPoint, tips: Pair) -> bool:
    return any(bare.between(tip, pole) is not None for tip in tips for pole in _poles(bare))


def _fixed(part: c.Part) -> tuple[Pair, ...]:
    """What joins points for good: wires, plugs, studs on the frame."""
    if isinstance(part, c.Wire | c.Ground):
        return ((part.nodes[0], part.nodes[1]),)
    if isinstance(part, c.Connector) and not part.apart:
        return tuple((part.node(n + "a"), part.node(n + "b")) for n in part.cavities)
    return ()


def _easy(part: c.Part, bare: OperatingPoint) -> tuple[Pair, ...]:
    """What lets current pass freely as the machine stands, nothing being broken."""
    return tuple((part.node(a), part.node(b)) for a, b in _closed(part, bare)) or _fixed(part)


def _closed(part: c.Part, bare: OperatingPoint) -> tuple[Pair, ...]:
    """The pairs of terminals that are joined inside a part that may also part them."""
    found: tuple[Pair, ...] = ()
    match part:
        case c.Switch():
            closed = part.closes[part.positions.index(bare.positions[part.control])]
            found = tuple((contact.a, contact.b) for contact in closed)
        case c.Relay():
            throw = "87" if bare.state(part) == "pulled" else "87a"
            found = (("30", throw),) if throw in part.terminals else ()
        case c.StarterSolenoid() if bare.state(part) == "pulled":
            found = (("30", "45"),)
        case c.Flasher():
            found = (("49", "49a"),)
        case c.ResistorPack():
            found = tuple(pairwise(part.terminals))
        case c.Resistor() if part.ohm < FEW_OHM:
            found = (("1", "2"),)
        case c.Fuse() | c.FusibleLink() | c.Breaker():
            found = (("1", "2"),)
        case _:
            pass
    return found
