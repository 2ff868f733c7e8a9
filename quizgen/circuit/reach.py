"""Which points a part can join, and what can be reached through such joints.

About the wiring alone: no circuit is solved, and a fault in a part does not count.
"""

from __future__ import annotations

from collections.abc import Iterable

from quizgen.circuit.components import (
    Alternator,
    Connector,
    Flasher,
    Part,
    Relay,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)

Pair = tuple[str, str]


def conducting_pairs(part: Part) -> tuple[Pair, ...]:
    """The node pairs between which a part can conduct in some position; coils excluded.

    Of an alternator its rotor, through which the charge lamp is grounded at standstill.
    """
    if isinstance(part, Connector):
        return tuple((part.node(c + "a"), part.node(c + "b")) for c in part.cavities)
    if isinstance(part, Switch):
        return tuple((part.node(c.a), part.node(c.b)) for c in part.contacts)
    if isinstance(part, Relay):
        throws = (t for t in part.terminals if t.startswith("87"))
        return tuple((part.node("30"), part.node(throw)) for throw in throws)
    if type(part) in _PATHS:
        return tuple((part.node(a), part.node(b)) for a, b in _PATHS[type(part)])
    return tuple(zip(part.nodes, part.nodes[1:], strict=False))


_PATHS: dict[type[Part], tuple[Pair, ...]] = {
    Alternator: (("D+", "31"),),
    StarterSolenoid: (("30", "45"),),
    Flasher: (("49", "49a"),),
    TwoSpeedMotor: (("53", "31"), ("53i", "31")),
}


def load_pairs(part: Part) -> tuple[Pair, ...]:
    """The node pairs across which a load or a coil works, given that `part` is one."""
    if isinstance(part, TwoSpeedMotor):
        return conducting_pairs(part)
    if isinstance(part, StarterSolenoid):  # the pull-in winding has its return through 45
        return ((part.node("50"), part.node("31")),)
    return ((part.nodes[0], part.nodes[1]),)


def reached(start: str, pairs: Iterable[Pair]) -> frozenset[str]:
    """Every node joined to `start` through `pairs`, itself included.

    >>> sorted(reached("a", [("b", "a"), ("c", "d"), ("b", "e")]))
    ['a', 'b', 'e']
    """
    beside: dict[str, list[str]] = {}
    for a, b in pairs:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    seen, waiting = {start}, [start]
    while waiting:
        new = [n for n in beside.get(waiting.pop(), ()) if n not in seen]
        seen.update(new)
        waiting.extend(new)
    return frozenset(seen)
