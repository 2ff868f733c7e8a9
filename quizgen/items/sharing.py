"""Which loads hang on one feed or ground, by solving the circuit without it.

A *loss* is a part of the wiring that lets nothing through any more, in one state of the machine,
and what becomes of the loads at work. Wrong answers are the sets of loads that wrong mental
models would name.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import networkx as nx

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject, universe
from quizgen.items.calm import at_rest
from quizgen.items.current_path import SUPPLIES, Flows, Step
from quizgen.items.material import IDLE, Material
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import Observation, against, observe

OPENED: dict[type[c.Part], str] = {
    c.Wire: "open", c.Connector: "open", c.Ground: "open", c.Fuse: "blown",
    c.FusibleLink: "blown", c.Breaker: "stuck-open", c.Switch: "open", c.Relay: "not-making",
}  # fmt: skip
SELDOM: dict[type[c.Part], float] = {c.Wire: 0.3, c.Switch: 0.5}  # others teach more
MOST_STATES, MOST_FAULTS = 6, 14
MOST_LOADS = 6
CHANGED, UNCHANGED = 0.85, 0.92  # share of what it did: under the first anybody notices
LEAST_SHARE = 0.001  # of the largest current: less joins nothing


@dataclass(frozen=True, eq=False)
class Loss:
    """One part opened in one state; all loads at work before are sure to change or not to."""

    material: Material
    fault: Fault
    real: OperatingPoint
    loads: tuple[str, ...]  # at work in the sound circuit, in the circuit's order
    changed: frozenset[str]

    @property
    def sound(self) -> OperatingPoint:
        return self.material.sound

    @property
    def circuit(self) -> Circuit:
        return self.material.circuit

    @property
    def part(self) -> c.Part:
        return self.circuit.by_id[self.fault.part]

    def level(self, load: str) -> str:
        """What the load does now."""
        return self._seen[load].level

    @cached_property
    def _seen(self) -> dict[str, Observation]:
        return now_seen(self.sound, self.real)

    def volts(self, load: str, point: OperatingPoint) -> float:
        """Volts across a load in one of the two circuits."""
        return load_volts(self.sound, point, load)

    @cached_property
    def hanging(self) -> frozenset[str]:
        """Loads at work whose own current passes the part."""
        places = [s for s in self._currents.of[self.fault.part] if self._meant(s)]
        found = {load for s in places for load in self._behind(s) | self._before(s)}
        return frozenset(found)

    @cached_property
    def relays(self) -> tuple[c.Part, ...]:
        """Relays that let go."""
        kinds = c.Relay | c.StarterSolenoid
        return tuple(
            p
            for p in self.circuit.parts
            if isinstance(p, kinds)
            and self.sound.state(p) == "pulled" != self.real.state(self.real.circuit.by_id[p.id])
        )

    @cached_property
    def on_feed_side(self) -> bool:
        """The part lies between the battery and the loads that hang on it."""
        steps = [s for s in self._currents.of[self.fault.part] if self._meant(s)]
        return any(self._behind(s) for s in steps)

    def _meant(self, step: Step) -> bool:
        """The branch that the fault opens."""
        if isinstance(self.part, c.Relay):
            return step.branch.startswith("30-")
        return not step.branch or not self.fault.detail or step.branch == self.fault.detail

    def wrong_sets(self) -> Iterator[tuple[frozenset[str], str]]:
        """Sets of loads that wrong models name, with the model."""
        near = self._nearest
        yield self.hanging, "coil-forgotten"
        yield frozenset(x for x in self.changed if self.level(x) in IDLE), "dead-only"
        if near:
            yield self.sharing(near, other_side=True) | {near}, "feed-and-ground-mixed"
            yield frozenset({near}), "nearest-only"
        if isinstance(self.part, c.Ground) or not self.on_feed_side:
            yield self.changed - self.hanging, "only-downstream"
        yield self.behind_the_joint | self.changed, "branch-for-trunk"
        yield frozenset(self.loads) - self.changed, "branches-mixed-up"
        yield frozenset(self.loads), "all-dead"
        for load in self.loads:
            if load in self.changed:
                yield self.changed - {load}, "one-left-out"
            else:
                yield self.changed | {load}, "branch-for-trunk"

    def sharing(self, load: str, *, other_side: bool) -> frozenset[str]:
        """Loads that share the fuse (or the ground) with `load`: of the side that is not lost."""
        feed = self.on_feed_side != other_side
        mine = self._fuses(load) if feed else self._grounds(load)
        return frozenset(
            x for x in self.loads if mine & (self._fuses(x) if feed else self._grounds(x))
        )

    # --- the currents of the sound circuit as a graph ------------------------------------

    @cached_property
    def _currents(self) -> Flows:
        return Flows(self.sound)

    @cached_property
    def _graph(self) -> nx.DiGraph[str]:
        """Nodes joined in the direction of the current; nothing passes the battery or the frame."""
        graph: nx.DiGraph[str] = nx.DiGraph()
        graph.add_nodes_from(self.circuit.nodes)
        steps = [s for found in self._currents.of.values() for s in found]
        least = LEAST_SHARE * max((s.amps for s in steps), default=0.0)
        supplies = {p.kind for p in self.circuit.parts if isinstance(p, SUPPLIES)}
        for s in steps:
            if s.amps > least and s.kind not in supplies and s.a != self.circuit.reference:
                graph.add_edge(s.a, s.b)
        return graph

    def _own(self, load: str) -> Step | None:
        return max(self._currents.of.get(load, ()), key=lambda s: s.amps, default=None)

    def _behind(self, step: Step) -> set[str]:
        """Loads that the current of a step comes to."""
        nodes = nx.descendants(self._graph, step.b) | {step.b}
        return {x for x in self.loads if (own := self._own(x)) and own.a in nodes}

    def _before(self, step: Step) -> set[str]:
        """Loads whose current comes to a step."""
        nodes = nx.ancestors(self._graph, step.a) | {step.a}
        return {x for x in self.loads if (own := self._own(x)) and own.b in nodes}

    def _fuses(self, load: str) -> frozenset[str]:
        """The fuse nearest to a load."""
        own = self._own(load)
        if own is None:
            return frozenset()
        kinds = (c.Fuse.kind, c.Breaker.kind)
        steps = [s for x in self._currents.of.values() for s in x if s.kind in kinds]
        mine = [s for s in steps if load in self._behind(s)]
        last = [s for s in mine if not any(s is not t and self._leads(s, t) for t in mine)]
        return frozenset(s.part for s in last)

    def _leads(self, s: Step, t: Step) -> bool:
        return nx.has_path(self._graph, s.b, t.a)

    def _grounds(self, load: str) -> frozenset[str]:
        """The ground points at which the current of a load reaches the frame."""
        steps = [s for x in self._currents.of.values() for s in x if s.kind == c.Ground.kind]
        mine = [s for s in steps if s.a != self.circuit.reference and load in self._before(s)]
        return frozenset(s.part for s in mine)

    @cached_property
    def _nearest(self) -> str:
        """The load that hangs on the part by the fewest steps; "" if none does."""
        graph = self._graph.to_undirected(as_view=True)
        here = nx.single_source_shortest_path_length(graph, self.part.nodes[0])
        ways = {x: here.get(own.a, 99) for x in self.loads if (own := self._own(x))}
        mine = [x for x in self.loads if x in self.hanging & self.changed]
        return min(mine, key=lambda x: ways[x], default="")

    @cached_property
    def behind_the_joint(self) -> frozenset[str]:
        """Loads behind the next joint towards the battery at which more branches off."""
        steps = [s for s in self._currents.of[self.fault.part] if self._meant(s)]
        for _ in range(len(self.circuit.nodes)):
            steps = [t for s in steps for t in self._currents.into.get(s.a, ())]
            found = {x for s in steps for x in self._behind(s)}
            if found - self.changed:
                return frozenset(found)
        return frozenset()


def load_volts(sound: OperatingPoint, point: OperatingPoint, load: str) -> float:
    """Volts across the winding of a load that is at work in the sound circuit, without sign."""
    flows = sound.flows(sound.circuit.by_id[load])
    branch = max(range(len(flows)), key=lambda i: abs(flows[i].amps))
    return abs(point.flows(point.circuit.by_id[load])[branch].volts or 0.0)


def now_seen(sound: OperatingPoint, real: OperatingPoint) -> dict[str, Observation]:
    """Load → what somebody reports who knows the sound machine."""
    usual = {o.load: o for o in observe(sound)}
    return {o.load: against(usual[o.load], o) for o in observe(real)}


def losses(material: Material, rng: random.Random) -> Iterator[Loss]:
    """Losses of some parts in some states in random order, the material's own state first."""
    others = [moves for moves in material.states if moves != material.moves]
    others = rng.sample(others, min(len(others), MOST_STATES))
    # where more is at work there is more to ask
    for moves in [material.moves, *sorted(others, key=lambda m: -len(m))]:
        here = replace(material, moves=moves)
        if here.sound.behaviour != "steady" or here.sound.ambiguous:
            continue
        at_work = [o for o in here.seen if o.level not in IDLE]
        if 2 <= len(at_work) <= MOST_LOADS and not any(o.doubtful for o in at_work):
            yield from _of_state(here, tuple(o.load for o in at_work), rng)


def _of_state(here: Material, loads: tuple[str, ...], rng: random.Random) -> Iterator[Loss]:
    """Every loss in a state that surely changes some of the loads."""
    faults = _some_faults(here, loads, rng)
    circuits = [inject(here.circuit, fault) for fault in faults]
    if not circuits:
        return
    solutions = solve_cases(circuits, [(i, here.moves) for i in range(len(circuits))])
    for case, fault in enumerate(faults):
        real = solutions.point(case)
        changed = surely_changed(here.sound, real, loads, here.circuit.unobserved)
        if changed:
            yield Loss(here, fault, real, loads, changed)


def _some_faults(here: Material, loads: Sequence[str], rng: random.Random) -> list[Fault]:
    """Parts that current passes and whose loss is to be thought about, in random order."""
    flows = Flows(here.sound)
    weights: dict[Fault, float] = {}
    for weighted in universe(here.circuit):
        fault = weighted.fault
        part = here.circuit.by_id[fault.part]
        if OPENED.get(type(part)) == fault.mode and flows.of.get(part.id):
            weights[fault] = SELDOM.get(type(part), 1.0)
    order = sorted(weights, key=lambda f: -(rng.random() ** (1.0 / weights[f])))
    return order[:MOST_FAULTS]


def surely_changed(
    sound: OperatingPoint,
    real: OperatingPoint,
    loads: Sequence[str],
    unobserved: frozenset[str],
) -> frozenset[str]:
    """The loads that nobody would say still do what they did; empty if one is in doubt.

    Loads that were idle must stay so.
    """
    if not at_rest(real):
        return frozenset()
    usual = {o.load: o for o in observe(sound)}
    changed = set()
    for load, now in now_seen(sound, real).items():
        was = usual[load]
        if load not in loads:
            if load not in unobserved and now.level != was.level:
                return frozenset()
            continue
        kept = now.share / was.share if was.share else 0.0
        if now.level != was.level and kept <= CHANGED and not now.doubtful:
            changed.add(load)
        elif now.level != was.level or now.doubtful or not UNCHANGED <= kept <= 1.0 / UNCHANGED:
            return frozenset()
    return frozenset(changed)
