"""Facing: on which side of its part each terminal leaves, so that the current runs down."""

from __future__ import annotations

from collections.abc import Mapping

from quizgen.circuit.components import (
    LOADS,
    Connector,
    Diode,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Sender,
    Switch,
    Wire,
)
from quizgen.diagram.contacts import poles_of, relay_pole
from quizgen.diagram.depth import SAME
from quizgen.diagram.devices import FACING
from quizgen.diagram.joining import Draft, Spot, spot_of
from quizgen.diagram.symbols import Side


def far_level(draft: Draft, wire: Wire | None, here: Spot, there: Spot) -> float:
    """Potential at the far side of what a link leads to, seen from `here`."""
    if wire is not None:
        nodes = wire.nodes if _at(draft, wire, 0) == here else wire.nodes[::-1]
        return draft.depth[nodes[1]]
    part = draft.keys[there[0]]
    if part is None:
        return 0.0 if there[0].startswith("frame") else 1.0 if there[0].startswith("rail") else 0.5
    own = part.node(there[1])
    others = [draft.depth[n] for n in _pole_nodes(part, there[1]) if n != own]
    return sum(others) / len(others) if others else draft.depth[own]


def _at(draft: Draft, wire: Wire, end: int) -> Spot | None:
    return draft.spots.get(wire.nodes[end])


def _pole_nodes(part: Part, terminal: str) -> list[str]:
    """Nodes of the terminals that `terminal` works with."""
    if isinstance(part, Relay):
        coil = terminal in ("85", "86")
        return [part.node(t) for t in part.terminals if (t in ("85", "86")) == coil]
    if isinstance(part, Connector):
        return [part.node(terminal[:-1] + side) for side in "ab"]
    return list(part.nodes)


def facing(draft: Draft, part: Part, rest: int) -> dict[str, Side]:
    """The side that each terminal of `part` faces."""
    depth = draft.depth
    at = {t: depth[n] for t, n in zip(part.terminals, part.nodes, strict=True)}
    if type(part) in FACING:
        return {t: FACING[type(part)][t] for t in part.terminals}
    if isinstance(part, Relay):
        first = "86" if at["86"] >= at["85"] - SAME else "85"
        coil: dict[str, Side] = {"86": "bottom", "85": "bottom", first: "top"}
        pole = relay_pole(part)
        return coil | _star(pole.common, pole.throws, at)
    if isinstance(part, Switch):
        poles = poles_of(part, rest)
        sides = _charted(draft, part, at)
        for one in poles or ():
            sides |= _star(one.common, one.throws, at)
        return sides
    if isinstance(part, Connector):
        facing: dict[str, Side] = {}
        for c in part.cavities:
            up = at[c + "a"] >= at[c + "b"] - SAME
            facing |= {c + "a": "top" if up else "bottom", c + "b": "bottom" if up else "top"}
        return facing
    if isinstance(part, ResistorPack):
        return dict.fromkeys(part.terminals, "bottom")
    return _facing_pair(draft, part, at)


def _facing_pair(draft: Draft, part: Part, at: dict[str, float]) -> dict[str, Side]:
    first, second = part.terminals
    near = (
        0.2
        if isinstance(part, LOADS)
        else 0.02
        if isinstance(part, Resistor | Sender | Diode)
        else 0
    )
    hint = dict(draft.circuit.layout).get(part.id, {}).get("lying")
    between = isinstance(part, LOADS) or all(0.02 < level < 0.98 for level in at.values())
    lies = hint if isinstance(hint, bool) else between and abs(at[first] - at[second]) < near
    if lies:
        return {first: "top", second: "top"}
    if at[first] >= at[second] - SAME:
        return {first: "top", second: "bottom"}
    return {first: "bottom", second: "top"}


def _charted(draft: Draft, part: Switch, at: Mapping[str, float]) -> dict[str, Side]:
    """Feeds of a switch up, drains down; what may be either, towards what it is wired to."""
    sides: dict[str, Side] = {}
    for pin in part.pins:
        partners = [at[c.b if c.a == pin else c.a] for c in part.contacts if pin in (c.a, c.b)]
        if not partners or at[pin] >= max(partners) - SAME:
            sides[pin] = "top"
        elif at[pin] <= min(partners) + SAME:
            sides[pin] = "bottom"
        else:
            spot = spot_of(part, pin)
            far = [
                far_level(draft, wire, spot, b if a == spot else a)
                for _, wire, _, a, b in draft.raw
                if spot in (a, b)
            ]
            sides[pin] = "top" if far and sum(far) / len(far) > at[pin] + SAME else "bottom"
    return sides


def _star(common: str, throws: tuple[str, ...], at: Mapping[str, float]) -> dict[str, Side]:
    highest = max(at[t] for t in throws)
    down = at[common] >= highest - SAME
    sides: dict[str, Side] = {common: "top" if down else "bottom"}
    for t in throws:
        if at[t] > at[common] + SAME:
            sides[t] = "top"
        elif at[t] < at[common] - SAME:
            sides[t] = "bottom"
        else:
            sides[t] = "bottom" if down else "top"
    return sides
