"""What can be found out at the holder of a fuse that blows.

The fuse is out, the loads behind it are unplugged, and so are relays of which only the coil is
behind it. A test lamp across the holder, or an ohmmeter from it to the frame with the battery
isolated, tells whether an unwanted contact is still joined to it: in several states of the
controls, with a plug apart, with a relay out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import conducting_pairs, reached
from quizgen.faults import Fault, inject
from quizgen.instruments import Measurement, Shown, measure_many
from quizgen.items.calm import burns
from quizgen.items.hunt import Hunt, cases_of
from quizgen.items.item import Moves
from quizgen.items.material import Material
from quizgen.items.sections import Section, sections
from quizgen.solver import solve_cases

MOST_LOADS = 8  # unplugged; more are no exercise but a morning's work
MOST_STATES = 6
HALF_WAY = 0.02  # of a digit


def between_digits(digits: float) -> bool:
    """A reading that one meter rounds up and the next one down.

    >>> between_digits(0.5), between_digits(3.1)
    (True, False)
    """
    return abs(digits % 1.0 - 0.5) < HALF_WAY


@dataclass(frozen=True)
class Holder(Hunt):
    """A fuse that blows, what might be the cause, and what readings each cause would give."""

    fuse: c.Fuse
    out: str  # the terminal on the side of the loads
    loads: tuple[str, ...]  # unplugged throughout
    relays: tuple[str, ...]  # out of their sockets throughout: only their coils are in the way

    def plain(self, shown: Shown) -> bool:
        """It is lit or dark, a dead short or none."""
        if shown.doubts or shown.refused or shown.warnings or shown.raw is None:
            return False
        if shown.instrument == "test-lamp":
            return shown.shown in ("lit bright", "dark")
        return not shown.resolution or not between_digits(shown.raw / shown.resolution)

    def spares(self, section: Section) -> bool:
        """A contact to ground anywhere in the section surely leaves the fuse whole."""
        contacts = contacts_in(self.circuit, section)
        if not contacts or self.circuit.supply in section.nodes:
            return False
        circuits = [inject(self.circuit, fault) for fault in contacts]
        moves = self.acts[0].positions
        found = solve_cases(circuits, [(i, moves) for i in range(len(circuits))])
        for point in (found.point(i) for i in range(len(circuits))):
            opened = [e.part for e in point.events if e.change == "opens"]
            if point.ambiguous or self.fuse.id in opened or (not opened and burns(point)):
                return False
        return True


def look_at_holder(material: Material, fuse_id: str, instrument: str) -> Holder | None:
    """The holder of one fuse.

    None where too much would have to be unplugged, or the instrument cannot be used there.
    """
    circuit = material.circuit
    fuse = circuit.part(fuse_id)
    assert isinstance(fuse, c.Fuse)
    behind = _behind(circuit, fuse)
    if behind is None:
        return None
    out, nodes = behind
    loads = tuple(p.id for p in circuit.parts if isinstance(p, c.LOADS) and nodes & set(p.nodes))
    relays = tuple(
        p.id
        for p in circuit.parts
        if isinstance(p, c.Relay) and nodes & set(p.nodes[:2]) and not nodes & set(p.nodes[2:])
    )
    faults = _suspects(material, fuse_id)
    if len(loads) > MOST_LOADS or len(faults) < 2:
        return None
    circuits = [inject(circuit, fault) for fault in faults]
    acts, shown = [], []
    for act in _acts(material, fuse, out, nodes, instrument, loads, relays):
        found = measure_many(circuits, act)
        if not any(s.refused for s in found):
            acts.append(act)
            shown.append(found)
    if not acts or acts[0].positions != material.moves:
        return None
    return Holder(
        circuit=circuit, faults=faults, acts=tuple(acts), shown=tuple(shown),
        sections=sections(circuit), unsure=frozenset(),
        fuse=fuse, out=out, loads=loads, relays=relays,
    )  # fmt: skip


def _behind(circuit: Circuit, fuse: c.Fuse) -> tuple[str, frozenset[str]] | None:
    """The fuse's terminal away from the supply, and all that contacts can join to it."""
    kinds = (*c.LOADS, c.Battery, c.Source, c.Alternator, c.Ground, c.Resistor, c.Sender)
    pairs = [
        pair
        for part in circuit.parts
        if part.id != fuse.id and not isinstance(part, kinds)
        for pair in conducting_pairs(part)
    ]
    fed = [t for t in fuse.terminals if circuit.supply in reached(fuse.node(t), pairs)]
    if len(fed) != 1:
        return None
    (out,) = set(fuse.terminals) - set(fed)
    return out, reached(fuse.node(out), pairs)


@lru_cache(maxsize=8)
def _suspects(material: Material, fuse: str) -> tuple[Fault, ...]:
    """Single faults with which the fuse opens, or may open, in the item's own state."""
    faults = [w.fault for w in cases_of(material)]
    circuits = [inject(material.circuit, fault) for fault in faults]
    found = solve_cases(circuits, [(i, material.moves) for i in range(len(circuits))])
    kept = []
    for i, fault in enumerate(faults):
        point = found.point(i)
        opens = any(e.part == fuse and e.change == "opens" for e in point.events)
        if opens or any(fuse in reason.split() for reason in point.ambiguous):
            kept.append(fault)
    return tuple(kept)


def _acts(
    material: Material, fuse: c.Fuse, out: str, nodes: frozenset[str], instrument: str,
    loads: tuple[str, ...], relays: tuple[str, ...],
) -> Iterator[Measurement]:  # fmt: skip
    """The item's own state first; then others, then with plugs apart and relays out."""
    circuit, own = material.circuit, material.moves
    behind = [p for p in circuit.parts if nodes & set(p.nodes)]
    plugs = [p.id for p in behind if isinstance(p, c.Connector)]
    sockets = [p.id for p in behind if isinstance(p, c.Relay) and p.id not in relays]
    setups: list[tuple[Moves, tuple[str, ...], tuple[str, ...]]] = [(own, (), ())]
    setups += [(moves, (), ()) for moves in _states(circuit, own, behind)]
    setups += [(own, (plug,), ()) for plug in plugs] + [(own, (), (k,)) for k in sockets]
    lamp = instrument == "test-lamp"
    (feed,) = set(fuse.terminals) - {out}
    batteries = tuple(p.id for p in circuit.parts if isinstance(p, c.Battery))
    for moves, apart, removed in setups:
        yield Measurement(
            instrument=instrument,
            red=fuse.node(feed if lamp else out),
            black=fuse.node(out) if lamp else circuit.reference,
            positions=moves,
            apart=apart,
            removed=(fuse.id, *relays, *removed),
            unplugged=loads if lamp else (*batteries, *loads),
        )


def _states(circuit: Circuit, own: Moves, behind: Sequence[c.Part]) -> list[Moves]:
    """The item's own state with one control moved, those of switches behind the fuse first."""
    switches = [p.control for p in behind if isinstance(p, c.Switch)]
    rest = circuit.rest_positions()
    stands = rest | dict(own)
    found = []
    for control in sorted(circuit.controls, key=lambda k: k.name not in switches):
        for position in control.positions:
            if position != stands[control.name]:
                there = stands | {control.name: position}
                found.append(tuple((k, p) for k, p in there.items() if p != rest[k]))
    return found[:MOST_STATES]


def contacts_in(circuit: Circuit, section: Section) -> list[Fault]:
    """A contact to ground at each wire of a section, whether anybody would notice it or not."""
    wires = [p for p in circuit.parts if isinstance(p, c.Wire) and p.nodes[0] in section.nodes]
    ends = [w for w in wires if circuit.reference not in w.nodes]
    return [Fault(w.id, "short-to-ground") for w in ends]
