"""What the loads do under a told fault, and what wrong mental models expect them to do."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from quizgen.circuit import components as c
from quizgen.items.predict.paths import Link, Paths
from quizgen.items.predict.scene import Scene
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import Observation, against, observe

Levels = dict[str, str]
MOST_LOADS = 4
IDLE: dict[type[c.Part], str] = {
    c.Lamp: "dark", c.LedLamp: "dark", c.Motor: "stopped", c.TwoSpeedMotor: "stopped",
    c.Heater: "cold", c.Horn: "silent", c.Solenoid: "released", c.Gauge: "at the lower stop",
}  # fmt: skip
IDLE_VOLTS = 0.5  # sound wiring drops no more than that
HALF: dict[type[c.Part], str] = {
    c.Lamp: "dim", c.LedLamp: "dim", c.Motor: "turns slowly", c.TwoSpeedMotor: "turns slowly",
    c.Heater: "lukewarm", c.Horn: "weak",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Operation:
    """The loads that a person can watch in a scene."""

    scene: Scene

    @cached_property
    def loads(self) -> list[c.Part]:
        """Loads that are seen, heard or felt."""
        circuit = self.scene.circuit
        parts = [p for p in circuit.parts if isinstance(p, c.LOADS)]
        return [p for p in parts if p.id not in circuit.unobserved]

    @cached_property
    def sound(self) -> dict[str, Observation]:
        """What they do with nothing wrong."""
        return {o.load: o for o in observe(self.scene.sound)}

    @cached_property
    def real(self) -> Levels:
        """What they do with the fault."""
        return self._levels(self.scene.real)

    def _levels(self, point: OperatingPoint) -> Levels:
        seen = {o.load: o for o in observe(point)}
        return {p.id: against(self.sound[p.id], seen[p.id]).level for p in self.loads}

    @cached_property
    def usual(self) -> Levels:
        """What they do with nothing wrong, as levels."""
        return {p.id: self.sound[p.id].level for p in self.loads}

    @cached_property
    def idle(self) -> Levels:
        """All at rest."""
        return {p.id: IDLE[type(p)] for p in self.loads}

    @cached_property
    def changed(self) -> list[str]:
        """Loads that do not do what they should."""
        return [p.id for p in self.loads if self.real[p.id] != self.usual[p.id]]

    def doubtful(self, loads: Sequence[str]) -> bool:
        """Two people might not agree about one of these."""
        seen = {o.load: o for o in observe(self.scene.real)}
        pairs = [(self.sound[load], seen[load]) for load in loads]
        return any(against(a, b).doubtful or a.doubtful for a, b in pairs)

    @cached_property
    def broken(self) -> Levels | None:
        """What they would do with a break in place of the resistance."""
        return None if self.scene.broken is None else self._levels(self.scene.broken)

    @cached_property
    def by_history(self) -> tuple[Levels, Levels, Levels] | None:
        """None unless a control is moved twice. With the fault: if the controls had gone straight
        to where they stand in the end, and before the last move; then the first with no fault.
        """
        scene, moves = self.scene, self.scene.material.moves
        last = dict(moves)
        if len(last) == len(moves):
            return None
        rest = scene.circuit.rest_positions()
        straight = tuple((n, p) for n, p in last.items() if p != rest[n])
        circuits = [scene.real.circuit, scene.circuit]
        found = solve_cases(circuits, [(0, straight), (0, moves[:-1]), (1, straight)])
        at_once, before, sound = (self._levels(found.point(i)) for i in range(3))
        return at_once, before, sound

    @property
    def history_matters(self) -> bool:
        """How the controls came to stand so makes a difference, with the fault or without."""
        if self.by_history is None:
            return False
        at_once, _, sound = self.by_history
        return at_once != self.real or sound != self.usual

    def ways(self, load: c.Part) -> tuple[tuple[Link, ...], tuple[Link, ...]]:
        """The feed and the ground way of a load in the sound circuit, the load left out."""
        return ways(self.scene.sound_paths, load)

    def in_feed(self, load: c.Part) -> bool:
        """The fault lies on the way from the supply to the load."""
        return self._hit(self.ways(load)[0])

    def in_ground(self, load: c.Part) -> bool:
        """The fault lies on the way from the load to the frame, or on to the battery."""
        way = self.ways(load)[1]
        return self._hit(way) or (bool(way) and self._hit(self._home))

    @cached_property
    def _home(self) -> tuple[Link, ...]:
        """The way from the frame to the battery."""
        battery, paths = self.scene.battery, self.scene.sound_paths
        frame = self.scene.circuit.reference
        return paths.way(frame, [battery.node("-")], [battery.node("+")]) or ()

    def _hit(self, way: tuple[Link, ...]) -> bool:
        fault, ends = self.scene.fault, self.scene.ends
        if fault is None or ends is None:
            return False
        part = self.scene.circuit.part(fault.part)
        mine = [k for k in way if k.part == fault.part]
        if isinstance(part, c.LOADS):
            return False
        if fault.mode != "stuck" and isinstance(part, c.Connector | c.Switch | c.ResistorPack):
            return any({k.a, k.b} == set(ends) for k in mine)
        return bool(mine)

    def struck(self, load: c.Part) -> bool:
        """The fault is in the load or on its own way from the supply to the frame."""
        fault = self.scene.fault
        return fault is not None and (
            fault.part == load.id or self.in_feed(load) or self.in_ground(load)
        )


def ways(paths: Paths, load: c.Part) -> tuple[tuple[Link, ...], tuple[Link, ...]]:
    """The ways of a load's terminals to the supply and to the frame that avoid the load.

    What an idle load has across it is the drop of others in a ground that it shares with them.
    """
    high, low = load.nodes[0], load.nodes[-1]
    if (paths.point.between(high, low) or 0.0) < -IDLE_VOLTS:
        high, low = low, high
    return paths.to_supply(high, cut=load.id) or (), paths.to_frame(low, cut=load.id) or ()


# --- wrong models ----------------------------------------------------------------------------


def fault_passed_over(op: Operation) -> Iterator[Levels]:
    """Nothing is noticed of the fault."""
    yield op.usual


def all_dead(op: Operation) -> Iterator[Levels]:
    """One fault, and nothing works any more."""
    yield op.idle


def one_wire(op: Operation) -> Iterator[Levels]:
    """M1: only what lies on the way to a load counts."""
    if any(op.in_ground(p) for p in op.loads):
        yield {p.id: (op.idle if op.in_feed(p) else op.usual)[p.id] for p in op.loads}


def _by_own_way(op: Operation) -> Levels:
    """A load is dead if the fault is in it or on its own way, else all is well with it."""
    return {p.id: (op.idle if op.struck(p) else op.usual)[p.id] for p in op.loads}


def back_feed_forgotten(op: Operation) -> Iterator[Levels]:
    """A load whose own way is broken is dead; current finds no other."""
    own = _by_own_way(op)
    fed = any(own[load] == op.idle[load] != op.real[load] for load in own)
    if op.scene.nature == "open" and fed:
        yield own


def control_circuit_forgotten(op: Operation) -> Iterator[Levels]:
    """A load works unless the fault is on its own way, be it in the circuit of its relay."""
    relays = any(isinstance(p, c.Relay | c.StarterSolenoid) for p in op.scene.circuit.parts)
    if relays and op.scene.nature != "short" and _spared(op):
        yield _by_own_way(op)


def protector_forgotten(op: Operation) -> Iterator[Levels]:
    """A short stops the load that it is at; nothing opens."""
    if op.scene.nature == "short" and any(op.real[load] == op.idle[load] for load in _spared(op)):
        yield _by_own_way(op)


def _spared(op: Operation) -> list[str]:
    """Loads that do not do what they should though nothing is wrong on their own way."""
    return [load for load in op.changed if not op.struck(op.scene.circuit.part(load))]


def shared_way_forgotten(op: Operation) -> Iterator[Levels]:
    """Of several loads that share the faulty way one is thought of."""
    fault = op.scene.fault.part if op.scene.fault else ""
    if len(op.changed) > 1:
        for one in [fault] if fault in op.changed else op.changed:
            yield op.usual | {one: op.real[one]}


def open_for_resistance(op: Operation) -> Iterator[Levels]:
    """A poor joint is taken for a break."""
    if op.broken is not None:
        yield op.broken


def sequence_forgotten(op: Operation) -> Iterator[Levels]:
    """What counts is how the controls stand, not how they came there."""
    if op.by_history is not None:
        yield op.by_history[0]


def held_for_ever(op: Operation) -> Iterator[Levels]:
    """What was set going goes on when the control is let go."""
    if op.by_history is not None:
        yield op.by_history[1]


def equal_drop(op: Operation) -> Iterator[Levels]:
    """M3: a fault takes half; what it touches works by half."""
    halves = {p.id: HALF[type(p)] for p in op.loads if p.id in op.changed and type(p) in HALF}
    inside = op.scene.fault is not None and op.scene.fault.part in op.changed
    if halves and op.scene.nature == "open" and not inside:
        yield op.usual | halves


def branches_mixed_up(op: Operation) -> Iterator[Levels]:
    """The right effect at the wrong load."""
    kept = [p for p in op.loads if p.id not in op.changed and op.usual[p.id] != op.idle[p.id]]
    for one in op.changed:
        for other in kept:
            if type(other) is type(op.scene.circuit.part(one)):
                yield op.usual | {other.id: op.real[one]}


Model = Callable[[Operation], Iterator[Levels]]
MODELS: dict[str, Model] = {
    "sequence-forgotten": sequence_forgotten,
    "held-for-ever": held_for_ever,
    "one-wire": one_wire,
    "back-feed-forgotten": back_feed_forgotten,
    "control-circuit-forgotten": control_circuit_forgotten,
    "protector-forgotten": protector_forgotten,
    "open-for-resistance": open_for_resistance,
    "shared-way-forgotten": shared_way_forgotten,
    "branches-mixed-up": branches_mixed_up,
    "fault-passed-over": fault_passed_over,
    "equal-drop": equal_drop,
    "all-dead": all_dead,
}


def expected(op: Operation) -> list[tuple[str, Levels]]:
    """What each wrong model expects, where it is not the truth; the more telling ones first."""
    found = [(name, levels) for name, model in MODELS.items() for levels in model(op)]
    return [(name, levels) for name, levels in found if levels != op.real]


def chosen_loads(op: Operation, models: Sequence[tuple[str, Levels]]) -> list[str]:
    """Loads that an option speaks of: those that change, then those that models part on."""
    parts = [
        load
        for load in op.real
        if load not in op.changed and any(m[load] != op.real[load] for _, m in models)
    ]
    working = [load for load in parts if op.real[load] != op.idle[load]]
    rest = [load for load in parts if load not in working]
    found = dict.fromkeys([*op.changed[: MOST_LOADS - bool(working)], *working, *rest])
    keep = set(list(found)[:MOST_LOADS])
    return [p.id for p in op.loads if p.id in keep]
