"""A fault that is told, in one state: the sound circuit, the real one, and what divides them."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim, claim_key
from quizgen.faults import Fault, inject, universe
from quizgen.items.calm import at_rest, burns
from quizgen.items.material import Material
from quizgen.items.places import Nature, Side, ends, nature, side
from quizgen.items.predict.paths import Paths
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import observe, visible

STARVING_SHARE, STARVING_OHM = 0.3, (150, 220, 330, 470)
MOST_STATES = 6  # tried for one in which nothing moves
NOTICED_VOLTS = 0.5
NOTICED_SHARE = 0.1  # of a current


@dataclass(frozen=True, eq=False)
class Scene:
    """`fault` None is a sound circuit. `broken` is the circuit with the fault grown to a break."""

    material: Material
    fault: Fault | None
    sound: OperatingPoint
    real: OperatingPoint
    broken: OperatingPoint | None = None

    @property
    def circuit(self) -> Circuit:
        """The sound circuit."""
        return self.material.circuit

    @cached_property
    def paths(self) -> Paths:
        """What conducts with the fault in it."""
        return Paths(self.real)

    @cached_property
    def sound_paths(self) -> Paths:
        """What conducts with nothing wrong."""
        return Paths(self.sound)

    def touched(self, nodes: Iterable[str]) -> bool:
        """The fault changes a voltage or a current at one of these points by what is noticed."""
        if self.fault is None:
            return True
        for node in nodes:
            volts = [p.volts(node) or 0.0 for p in (self.real, self.sound)]
            amps = [p.amps_at(node) for p in (self.paths, self.sound_paths)]
            if abs(volts[0] - volts[1]) > NOTICED_VOLTS:
                return True
            if abs(amps[0] - amps[1]) > NOTICED_SHARE * max(amps):
                return True
        return False

    @cached_property
    def battery(self) -> c.Part:
        """The first supply of the circuit."""
        return next(p for p in self.circuit.parts if isinstance(p, c.Battery | c.Source))

    @cached_property
    def supply(self) -> float:
        """Volts across the battery as it is loaded."""
        return self.real.between(self.battery.node("+"), self.battery.node("-")) or 0.0

    @cached_property
    def claim(self) -> Claim | None:
        """The fault without its severity."""
        if self.fault is None:
            return None
        place = claim_key(self.fault).split(":", 2)[2:]
        return Claim(
            self.fault.part, self.fault.mode, "".join(place), (), 1.0, self.fault, graded=False
        )

    @property
    def nature(self) -> Nature:
        """What sort of trouble the fault is; "other" for none."""
        return nature(self.claim) if self.claim else "other"

    @cached_property
    def ends(self) -> tuple[str, str] | None:
        """The two points between which a break or a resistance lies."""
        return ends(self.circuit, self.claim) if self.claim else None

    @cached_property
    def side(self) -> Side | None:
        """On which side of the load the fault lies."""
        volts = {node: self.sound.volts(node) or 0.0 for node in self.circuit.nodes}
        return side(self.circuit, self.claim, volts) if self.claim else None

    @property
    def added_ohm(self) -> float:
        """Of a resistance that is told; else 0."""
        if self.fault is None or self.fault.mode != "resistance":
            return 0.0
        return float(self.fault.detail.rpartition("=")[2])

    @cached_property
    def added_amps(self) -> float:
        """The current that passes the resistance that is told."""
        if not self.added_ohm or self.fault is None or self.ends is None:
            return 0.0
        mine = [k for k in self.paths.links if k.part == self.fault.part]
        mine = [k for k in mine if {k.a, k.b} == set(self.ends)]
        return abs(mine[0].amps) if mine else 0.0

    @cached_property
    def before(self) -> frozenset[str]:
        """Nodes that the supply still reaches, over loads too, once the fault's place is cut."""
        if self.ends is None or self.fault is None:
            return frozenset(self.circuit.nodes)
        cut = set(self.ends)
        found, waiting = set(), [self.battery.node("+")]
        while waiting:
            node = waiting.pop()
            if node in found or node == self.circuit.reference:
                continue
            found.add(node)
            for link in self.sound_paths.beside.get(node, ()):
                if not (link.part == self.fault.part and {link.a, link.b} == cut):
                    waiting.append(link.b if link.a == node else link.a)
        return frozenset(found)


def tellable(point: OperatingPoint, circuit: Circuit) -> bool:
    """Nothing moves, nothing is in doubt, nothing burns."""
    if not at_rest(point) or burns(point):
        return False
    return not any(o.doubtful for o in visible(circuit, observe(point)))


def settled(material: Material, rng: random.Random) -> Material:
    """The material in a state in which nothing flashes, its own if possible."""
    if tellable(material.sound, material.circuit):
        return material
    states = [s for s in (*material.states, ()) if s != material.moves]
    for moves in rng.sample(states, min(len(states), MOST_STATES)):
        other = replace(material, moves=moves)
        if tellable(other.sound, material.circuit):
            return other
    return material


def draw_scenes(
    material: Material, rng: random.Random, faults: int, natures: Sequence[Nature]
) -> list[Scene]:
    """The sound circuit first, then some random faults of these natures.

    Those that nobody could tell for sure are left out; all are if the sound circuit moves.
    """
    material = settled(material, rng)
    chosen = [_worse(f, rng) for f in _some_faults(material.circuit, rng, faults, natures)]
    scenes = solve_scenes(material, chosen)
    if not tellable(scenes[0].real, material.circuit):
        return []
    return [s for s in scenes if tellable(s.real, material.circuit)]


def solve_scenes(material: Material, faults: Sequence[Fault]) -> list[Scene]:
    """The sound circuit and each fault in it, all solved together."""
    circuit = material.circuit
    breaks = [_as_break(circuit, fault) for fault in faults]
    circuits = [circuit, *(inject(circuit, fault) for fault in faults)]
    circuits += [inject(circuit, fault) for fault in breaks if fault is not None]
    solutions = solve_cases(circuits, [(i, material.moves) for i in range(len(circuits))])
    sound, *points = (solutions.point(i) for i in range(len(circuits)))
    grown = iter(points[len(faults) :])
    scenes = [Scene(material, None, sound, sound)]
    for fault, point, worse in zip(faults, points, breaks, strict=False):
        scenes.append(Scene(material, fault, sound, point, None if worse is None else next(grown)))
    return scenes


def _some_faults(
    circuit: Circuit, rng: random.Random, count: int, natures: Sequence[Nature]
) -> list[Fault]:
    """One of each kind of part and nature in turn, or wires would win."""
    groups: dict[tuple[str, str], list[Fault]] = {}
    for weighted in universe(circuit):
        fault = weighted.fault
        what = nature(Claim(fault.part, fault.mode, "", (), 1.0, fault, graded=False))
        if what in natures:
            groups.setdefault((circuit.part(fault.part).kind, what), []).append(fault)
    order = list(groups.values())
    found: list[Fault] = []
    while order and len(found) < count:
        rng.shuffle(order)
        for group in order:
            found.append(group.pop(rng.randrange(len(group))))
        order = [group for group in order if group]
    return found[:count]


def _worse(fault: Fault, rng: random.Random) -> Fault:
    """A resistance now and then so great that it starves a test lamp."""
    if fault.mode != "resistance" or rng.random() > STARVING_SHARE:
        return fault
    place, equals, _ = fault.detail.rpartition("=")
    return Fault(fault.part, fault.mode, f"{place}{equals}{rng.choice(STARVING_OHM)}")


def _as_break(circuit: Circuit, fault: Fault) -> Fault | None:
    """The break in the place of a resistance; None for any other fault."""
    if fault.mode != "resistance":
        return None
    place, _, _ = fault.detail.rpartition("=")
    part = circuit.part(fault.part)
    if isinstance(part, c.Relay | c.StarterSolenoid):
        return Fault(part.id, "not-making")
    return Fault(part.id, "open", place)
