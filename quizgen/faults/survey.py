"""What the wiring says about where a fault would matter: who is fed through what.

No circuit is solved here. Every switch and relay contact counts as closed, so the answers
are about the wiring, not about one position: which loads lose their feed or ground when a
part stops conducting (a high resistance has to be high for *them*), which points are live
or grounded for good (a short to there is no fault), and which points the battery feeds
with no protector between (a short there burns the harness and is no exercise).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from math import inf, log10

from quizgen.circuit.components import (
    Alternator,
    Battery,
    Breaker,
    Bridge,
    Connector,
    Diode,
    Flasher,
    Fuse,
    FusibleLink,
    Gauge,
    Ground,
    Heater,
    Horn,
    Lamp,
    LedLamp,
    Motor,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Sender,
    Solenoid,
    Source,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
    Wire,
)
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import Pair, conducting_pairs, load_pairs, reached
from quizgen.faults.wires import FROM, TO, Meeting, end_node, meetings, parts_at, whole_wires

CONDUCTORS: tuple[type[Part], ...] = (Wire, Connector, Bridge)
PROTECTORS: tuple[type[Part], ...] = (Fuse, FusibleLink, Breaker)
CONTACTS: tuple[type[Part], ...] = (Switch, Relay, StarterSolenoid, Flasher)
# what current passes on its way through a load; of an alternator its rotor, from D+ to the case
SERIES: tuple[type[Part], ...] = (Resistor, ResistorPack, Diode, Sender, Alternator)


@dataclass(frozen=True)
class Load:
    """Something that draws current: its two nodes, its rated current in ampere, what it is."""

    nodes: Pair
    amps: float
    is_coil: bool  # has a voltage at which it acts or does not: no half measures


def rated_amps(part: Part, system_volts: float) -> float:
    """Current of a load as its own figures give it, in ampere; 0 for anything else."""
    amps = 0.0
    match part:
        case Lamp() | LedLamp() | Heater():
            amps = part.watts / part.volts
        case Motor():
            amps = part.run_amps
        case TwoSpeedMotor():
            amps = part.low_amps
        case Gauge():
            amps = part.full_amps
        case Horn():
            amps = part.amps
        case Solenoid():
            amps = system_volts / part.ohm
        case Relay():
            amps = system_volts / part.coil_ohm
        case StarterSolenoid():  # its pull-in winding decides
            amps = system_volts / part.pull_ohm
        case Resistor() if 0.0 < part.ohm < inf:
            amps = system_volts / part.ohm
        case _:
            pass
    return amps


@dataclass(frozen=True)
class Survey:
    """A circuit and what its wiring says; each answer is worked out once."""

    circuit: Circuit

    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """Lamps, motors, coils ...; resistors count only where there is nothing else."""
        proper = [p for p in self.circuit.parts if not isinstance(p, Resistor)]
        return tuple(self._loads(proper)) or tuple(self._loads(self.circuit.parts))

    def _loads(self, parts: Iterable[Part]) -> Iterator[Load]:
        for part in parts:
            amps = rated_amps(part, self.circuit.system_volts)
            if amps > 0.0:
                coil = isinstance(part, Relay | Solenoid | StarterSolenoid)
                yield from (Load(pair, amps, coil) for pair in load_pairs(part))

    @cached_property
    def rails(self) -> frozenset[str]:
        """The reference and every pole of every battery or source."""
        poles = (p.nodes for p in self.circuit.parts if isinstance(p, Battery | Source))
        return frozenset({self.circuit.reference}.union(*poles))

    @cached_property
    def grounded(self) -> frozenset[str]:
        """Nodes on the frame for good: no switch, no load between."""
        kinds = (*CONDUCTORS, Ground)
        return reached(self.circuit.reference, self._pairs(kinds))

    @cached_property
    def always_live(self) -> frozenset[str]:
        """Nodes that nothing but protectors parts from the battery."""
        return reached(self.circuit.supply, self._pairs(CONDUCTORS + PROTECTORS))

    @cached_property
    def unprotected(self) -> frozenset[str]:
        """Nodes the battery can feed with no protector between."""
        return reached(self.circuit.supply, self._pairs(CONDUCTORS + CONTACTS))

    @cached_property
    def neighbours(self) -> tuple[tuple[str, str, Meeting], ...]:
        """Pairs of wires, in circuit order, at neighbouring terminals of one part.

        Where a pair meets at two parts, the first meeting stands for both.
        """
        beside = {w.id: self._beside(w.id) for w in whole_wires(self.circuit)}
        wires = list(beside)
        found = []
        for i, first in enumerate(wires):
            for second in wires[i + 1 :]:
                if beside[first].isdisjoint(beside[second]):  # most of them: not looked at closer
                    continue
                met = next(meetings(self.circuit, first, second), None)
                if met and self._side_by_side(first, second, met):
                    found.append((first, second, met))
        return tuple(found)

    def carried(self, pairs: Iterable[Pair], part: Part) -> tuple[Load, ...]:
        """The loads that stop when `part` opens between `pairs`.

        Where other paths keep every load going, the largest load joined to the part
        stands in.
        """
        cut = {frozenset(pair) for pair in pairs}
        kept = [
            pair for pair, owner in self._paths if owner is not part or frozenset(pair) not in cut
        ]
        alive = self._alive(kept)
        stopped = [load for load in self._all_alive if load not in alive]
        if stopped:
            return tuple(stopped)
        whole = [pair for pair, _ in self._paths]
        touched = set().union(*(reached(n, whole) for pair in cut for n in pair))
        joined = [load for load in self.loads if touched & set(load.nodes)] or self.loads
        return tuple(sorted(joined, key=lambda load: -load.amps)[:1])

    def telling_ohms(self, part: Part, pairs: Iterable[Pair]) -> tuple[float, float]:
        """Two added resistances in ohm that a driver would notice at `part`.

        Half of what the loads behind it amount to (lamps dim, motors slow) and three
        times that (hardly anything works), each on the nearest 1-2-5 step. Coils need as
        much as they have themselves before they fail to act. 1 A stands for no load.
        """
        loads = self.carried(pairs, part)
        load_ohm = self.circuit.system_volts / (sum(load.amps for load in loads) or 1.0)
        mild = 1.0 if loads and all(load.is_coil for load in loads) else 0.5
        return nearest_step(load_ohm * mild), nearest_step(load_ohm * 3.0)

    def to_node(self, wire_id: str) -> str:
        """The node at a wire's `to` end."""
        return end_node(self.circuit, wire_id, TO)

    def _beside(self, wire_id: str) -> set[str]:
        """The parts at the two ends of a wire."""
        nodes = [end_node(self.circuit, wire_id, end) for end in (FROM, TO)]
        return {part.id for node in nodes for part in parts_at(self.circuit, node)}

    def _side_by_side(self, first: str, second: str, met: Meeting) -> bool:
        part = self.circuit.by_id[met.part]
        row = list(part.terminals)
        if isinstance(part, Connector):
            row = [t for t in row if t[-1] == met.terminals[0][-1]]
        used = [t for t in row if self._wires_at(part.node(t))]
        places = sorted(used.index(t) for t in met.terminals)
        alone = all(len(self._wires_at(part.node(t))) == 1 for t in met.terminals)
        return alone and places[1] - places[0] == 1

    def _wires_at(self, node: str) -> list[str]:
        at = self.circuit.terminals_at[node]
        return [p for p, _ in at if isinstance(self.circuit.by_id[p], Wire)]

    @cached_property
    def _paths(self) -> tuple[tuple[Pair, Part], ...]:
        """Every way for current through something other than a load, with the part it is in."""
        kinds = (*CONDUCTORS, Ground, *PROTECTORS, *CONTACTS, *SERIES)
        return tuple(self._owned_pairs(kinds))

    @cached_property
    def _all_alive(self) -> list[Load]:
        """The loads that current can pass."""
        return self._alive([pair for pair, _ in self._paths])

    def _alive(self, pairs: list[Pair]) -> list[Load]:
        held = set().union(*(reached(rail, pairs) for rail in self.rails))
        return [load for load in self.loads if held.issuperset(load.nodes)]

    def _pairs(self, kinds: tuple[type[Part], ...]) -> list[Pair]:
        return [pair for pair, _ in self._owned_pairs(kinds)]

    def _owned_pairs(self, kinds: tuple[type[Part], ...]) -> Iterator[tuple[Pair, Part]]:
        for part in self.circuit.parts:
            if isinstance(part, kinds):
                for pair in conducting_pairs(part):
                    yield pair, part


def nearest_step(value: float) -> float:
    """The nearest number of the series 1, 2, 5, 10, 20 ... on a ratio scale.

    >>> [nearest_step(v) for v in (0.57, 1.3, 3.5, 42.0)]
    [0.5, 1.0, 5.0, 50.0]
    """
    decade = int(log10(value)) if value >= 1.0 else int(log10(value)) - 1
    steps = [float(f"{m}e{decade}") for m in (1, 2, 5, 10)]
    return min(steps, key=lambda step: abs(log10(step / value)))
