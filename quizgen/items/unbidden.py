"""What can be found out about a load that works unbidden.

A wire with an unwanted contact to supply, to the frame or to another wire sets a load to work
that should be idle as the controls stand. One thing at a time is taken off and put back, or a
control let go: a fuse, a relay, a plug, a switch. A test lamp in place of the load, or a
voltmeter across it, tells in which of these states it is still supplied.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import CircuitError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject
from quizgen.instruments import Measurement, Shown, measure_many
from quizgen.items.calm import at_rest, burns
from quizgen.items.hunt import Hunt, cases_of
from quizgen.items.item import Moves
from quizgen.items.material import IDLE, Material
from quizgen.items.sections import Section, sections
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.observation import Observation, observe, visible

LIT = (c.Lamp, c.LedLamp)  # may stay connected: they neither move nor burn anybody
WATCHED = (*LIT, c.Motor, c.Heater, c.Solenoid, c.Horn)
FULL = frozenset(("bright", "turns", "hot", "pulled", "sounds"))
SUPPLIED_SHARE = 0.75  # of the system's voltage across a load that has all it needs
NO_VOLTS = 0.3
DARK_SHARE = 0.08  # of a lamp's rated voltage: a volt or two of 24, with nothing to see


@dataclass(frozen=True)
class Unbidden(Hunt):
    """A load at work that should be idle, and all single faults that set it to work."""

    load: c.Part
    idle: str  # what the load should do as the controls stand
    complaint_comes_first = True

    def plain(self, shown: Shown) -> bool:
        """Fully supplied or not at all."""
        if shown.doubts or shown.refused or shown.warnings or shown.raw is None:
            return False
        if shown.instrument == "test-lamp":
            return shown.shown == "lit bright" or shown.raw < DARK_SHARE
        volts = abs(shown.raw)
        return volts < NO_VOLTS or volts > SUPPLIED_SHARE * self.circuit.system_volts

    def spares(self, section: Section) -> bool:
        """A contact with supply or with the frame anywhere there surely leaves the load idle."""
        contacts = contacts_in(self.circuit, section)
        if not contacts or self.circuit.supply in section.nodes:
            return False
        outcomes = _outcomes(self.circuit, contacts, self.acts[0].positions)
        return all(
            not point.ambiguous
            and not point.phases
            and (_opened(point) or not burns(point))
            and seen[self.load.id].level == self.idle
            and not seen[self.load.id].doubtful
            for point, seen in outcomes
        )


@dataclass(frozen=True, eq=False)
class Unrest:
    """Every single fault of a circuit in one state, and what is seen of each load."""

    circuit: Circuit
    moves: Moves
    sound: dict[str, Observation]
    faults: tuple[Fault, ...]
    points: Solutions
    seen: tuple[dict[str, Observation], ...]

    def disturbed(self, fault: int) -> list[str]:
        """Loads that the fault surely sets to work, all else as it should be; or none."""
        point, seen = self.points.point(fault), self.seen[fault]
        if not at_rest(point) or _opened(point) or burns(point):
            return []
        changed = [k for k, o in seen.items() if o.level != self.sound[k].level]
        started = [k for k in changed if self.sound[k].level in IDLE and seen[k].level in FULL]
        if changed != started or any(o.doubtful for o in seen.values()):
            return []
        return started

    @property
    def unsure(self) -> frozenset[Fault]:
        """Faults of which it hangs on a protector what they come to."""
        doubts = enumerate(self.faults)
        return frozenset(fault for i, fault in doubts if self.points.point(i).ambiguous)

    def suspects(self, load: str) -> tuple[Fault, ...]:
        """Faults that set a load to work, or may do so."""
        found = []
        for i, fault in enumerate(self.faults):
            seen = self.seen[i][load]
            if seen.level not in IDLE or seen.doubtful or self.points.point(i).ambiguous:
                found.append(fault)
        return tuple(found)


def look_at_all(material: Material, moves: Moves) -> Unrest:
    """The circuit in one state with each fault of its universe in turn."""
    circuit, faults = material.circuit, tuple(w.fault for w in cases_of(material))
    circuits = [circuit, *(inject(circuit, fault) for fault in faults)]
    found = solve_cases(circuits[1:], [(i, moves) for i in range(len(faults))])
    sound = solve_cases([circuit], [(0, moves)]).point(0)
    seen = tuple(_seen(found.point(i)) for i in range(len(faults)))
    return Unrest(circuit, moves, _seen(sound), faults, found, seen)


def suspects_of(unrest: Unrest, load_id: str) -> Unbidden:
    """What may set a load to work, and where each of it is; nothing is measured yet."""
    circuit = unrest.circuit
    return Unbidden(
        circuit=circuit, faults=unrest.suspects(load_id), acts=(), shown=(),
        sections=sections(circuit), unsure=unrest.unsure, load=circuit.part(load_id),
        idle=unrest.sound[load_id].level,
    )  # fmt: skip


def look_at_load(suspected: Unbidden, moves: Moves, instrument: str) -> Unbidden | None:
    """The hunt for what sets a load to work in a state; None where the instrument is of no use."""
    circuit, load = suspected.circuit, suspected.load
    if not isinstance(load, WATCHED) or (instrument == "voltmeter" and not isinstance(load, LIT)):
        return None
    circuits = [inject(circuit, fault) for fault in suspected.faults]
    acts, shown = [], []
    for act in _acts(circuit, moves, load, instrument):
        try:
            found = measure_many(circuits, act)
        except CircuitError:
            continue
        if not any(s.refused or s.point is None or _opened(s.point) for s in found):
            acts.append(act)
            shown.append(found)
    if not acts or acts[0] != next(_acts(circuit, moves, load, instrument)):
        return None
    return replace(suspected, acts=tuple(acts), shown=tuple(shown))


def contacts_in(circuit: Circuit, section: Section) -> list[Fault]:
    """A contact with supply and one with the frame at each wire of a section, where it is none."""
    wires = [p for p in circuit.parts if isinstance(p, c.Wire) and p.nodes[0] in section.nodes]
    to_supply = [Fault(w.id, "short-to-supply") for w in wires if circuit.supply not in w.nodes]
    to_ground = [Fault(w.id, "short-to-ground") for w in wires if circuit.reference not in w.nodes]
    return to_supply + to_ground


def _seen(point: OperatingPoint) -> dict[str, Observation]:
    return {o.load: o for o in visible(point.circuit, observe(point))}


def _outcomes(
    circuit: Circuit, faults: Sequence[Fault], moves: Moves
) -> Iterator[tuple[OperatingPoint, dict[str, Observation]]]:
    circuits = [inject(circuit, fault) for fault in faults]
    found = solve_cases(circuits, [(i, moves) for i in range(len(circuits))])
    for i in range(len(circuits)):
        yield found.point(i), _seen(found.point(i))


def _opened(point: OperatingPoint) -> bool:
    """A protector has opened: nothing that is put back is as it was before."""
    return any(e.change == "opens" for e in point.events)


def _acts(circuit: Circuit, own: Moves, load: c.Part, instrument: str) -> Iterator[Measurement]:
    """The item's own state, then one control at rest or one thing off."""
    off = () if instrument == "voltmeter" else (load.id,)
    red, black = load.nodes[:2]
    steps: list[tuple[Moves, tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = [
        (own, (), (), ())
    ]
    steps += [(tuple(m for m in own if m != moved), (), (), ()) for moved in own]
    for part in circuit.parts:
        match part:
            case c.Connector():
                steps.append((own, (part.id,), (), ()))
            case c.Fuse() | c.Relay():
                steps.append((own, (), (part.id,), ()))
            case c.Switch():
                steps.append((own, (), (), (part.id,)))
            case _:
                pass
    for moves, apart, removed, unplugged in steps:
        yield Measurement(
            instrument=instrument, red=red, black=black, positions=moves,
            apart=apart, removed=removed, unplugged=(*off, *unplugged),
        )  # fmt: skip
