"""The circuit of an item on the verifier's bench: any fault can be put in and looked at.

A *claim* is a fault without its severity, and stands for all severities. An *outcome* is what
one fault of one severity comes to. Where it hangs on a protector that may or may not open,
each way it may go is an outcome of its own: the fault is ruled out only if all of them are.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise, product

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject, universe
from quizgen.items.verify.meter import Array, Leads, Moves, bounds
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.observation import Observation, against, observe

# What a proof speaks of: from hardly noticeable to nearly open (ohm), from flat to three
# quarters charged (percent). The verifier tries more than that, and refines where needed.
SPOKEN_OF = {"resistance": (0.05, 50_000.0), "weak": (0.0, 75.0)}
LADDER = (*sorted({*(10.0 ** (k / 2) for k in range(-4, 13)), *SPOKEN_OF["resistance"]}),)
CHARGES = (0.0, 10.0, 25.0, 50.0, 75.0, 90.0, 99.0)
MOST_PROTECTORS = 3  # in doubt at once; each may open or hold
NEVER_AMPS = 1e9
PROTECTORS = (c.Fuse, c.FusibleLink, c.Breaker)
CLICKERS = (c.Relay, c.StarterSolenoid)
MAY_HOLD = "may or may not open"  # how the solver puts it
CLICKS, NO_CLICK, BUZZES = "clicks", "does not click", "buzzes"

# levels that a person may take for one another stand side by side
SCALES = (
    ("dark", "dim", "bright"),
    ("cold", "lukewarm", "hot"),
    ("turns backwards", "stopped", "turns slowly", "turns", "turns too fast"),
    ("silent", "weak", "sounds"),
    ("released", "pulled"),
    ("at the lower stop", "low", "in the middle", "high"),
)


def claim_of(circuit: Circuit, fault: Fault) -> str:
    """The claim that a fault belongs to: its text without how bad it is or where along a wire.

    Raises InputError when the circuit has no such part.
    """
    place = fault.detail
    if fault.mode == "resistance":
        place = place.rpartition("=")[0]
    elif fault.mode == "weak" or (
        isinstance(circuit.part(fault.part), c.Wire) and fault.mode not in ("short-to", "swapped")
    ):
        place = ""
    return ":".join(piece for piece in (fault.part, fault.mode, place) if piece)


def _along_a_wire(circuit: Circuit, fault: Fault) -> bool:
    wire = isinstance(circuit.part(fault.part), c.Wire)
    return wire and fault.mode not in ("short-to", "swapped")


def severity_of(fault: Fault) -> float:
    """Added ohm, or percent of charge; 0 where there are no degrees."""
    if fault.mode == "resistance":
        return float(fault.detail.rpartition("=")[2])
    return float(fault.detail or 0.0) if fault.mode == "weak" else 0.0


def spoken_of(fault: Fault) -> bool:
    """A severity within what a proof's bounds hold for."""
    low, high = SPOKEN_OF.get(fault.mode, (0.0, 0.0))
    return low <= severity_of(fault) <= high


def with_severity(fault: Fault, severity: float) -> Fault:
    """The same fault, more or less bad."""
    place, equals, _ = fault.detail.rpartition("=")
    return Fault(fault.part, fault.mode, f"{place}{equals}{severity:.6g}")


@dataclass(frozen=True, eq=False)
class Batch:
    """Circuits solved together; readings and levels are worked out once."""

    solutions: Solutions
    _bounds: dict[Leads, tuple[Array, Array]] = field(default_factory=dict)
    _seen: dict[int, dict[str, Observation]] = field(default_factory=dict)

    def bounds(self, leads: Leads) -> tuple[Array, Array]:
        """See `verify.meter.bounds`."""
        if leads not in self._bounds:
            self._bounds[leads] = bounds(self.solutions, leads)
        return self._bounds[leads]

    def seen(self, case: int) -> dict[str, Observation]:
        """Load → what is seen of it."""
        if case not in self._seen:
            self._seen[case] = {o.load: o for o in observe(self.solutions.point(case))}
        return self._seen[case]


@dataclass(frozen=True, eq=False)
class Outcome:
    """One way in which one fault may turn out."""

    batch: Batch
    case: int

    @property
    def point(self) -> OperatingPoint:
        """The operating point, for a closer look."""
        return self.batch.solutions.point(self.case)

    def between(self, leads: Leads) -> tuple[float, float]:
        """Bounds in volts of what the meter shows at (red, black)."""
        low, high = self.batch.bounds(leads)
        return float(low[self.case]), float(high[self.case])

    def seen(self, load: str) -> Observation:
        """What is seen of a load."""
        return self.batch.seen(self.case)[load]


Ways = tuple[Outcome, ...]
Cell = tuple[Ways, ...]
"""What is looked at in one go: one severity, or two neighbours and all that lies between."""


@dataclass(frozen=True, eq=False)
class Bench:
    """A sound circuit in one state, and every fault it could have."""

    circuit: Circuit
    moves: Moves
    _tried: dict[Fault, Ways] = field(default_factory=dict)

    def prepare(self, faults: Iterable[Fault]) -> None:
        """Solve those not solved yet, all at once. Raises InputError or CircuitError."""
        new = [fault for fault in dict.fromkeys(faults) if fault not in self._tried]
        if new:
            ways = self._try([inject(self.circuit, fault) for fault in new])
            self._tried.update(zip(new, ways, strict=True))

    def ways(self, fault: Fault) -> Ways:
        """All outcomes of a fault."""
        self.prepare((fault,))
        return self._tried[fault]

    @cached_property
    def sound(self) -> Ways:
        """The outcomes with nothing wrong."""
        return self._try([self.circuit])[0]

    @cached_property
    def claims(self) -> dict[str, tuple[Fault, ...]]:
        """Claim → its members by severity."""
        found: dict[str, dict[float, Fault]] = {}
        for weighted in universe(self.circuit):
            fault = weighted.fault
            steps = {"resistance": LADDER, "weak": CHARGES}.get(fault.mode, ())
            members = found.setdefault(claim_of(self.circuit, fault), {})
            for member in (fault, *(with_severity(fault, step) for step in steps)):
                members[severity_of(member)] = member
        return {claim: tuple(m[s] for s in sorted(m)) for claim, m in found.items()}

    def cells(self, claim: str) -> list[Cell]:
        """The steps of severity that a proof speaks of, or the only member; "" is no fault."""
        if not claim:
            return [(self.sound,)]
        rows = [self.ways(fault) for fault in self.claims[claim] if spoken_of(fault)]
        return list(pairwise(rows)) if len(rows) > 1 else [(rows[0],)]

    def steady(self, claim: str) -> bool:
        """No severity of the claim makes anything chatter or cycle."""
        return not any(w.point.phases for cell in self.cells(claim) for ways in cell for w in ways)

    def jumps(self, claim: str) -> bool:
        """Something that moves by itself stands differently from one severity to another."""
        ways = [way for cell in self.cells(claim) for found in cell for way in found]
        return len({tuple((e.part, e.change) for e in way.point.events) for way in ways}) > 1

    def levels(self, part: str, cell: Cell) -> frozenset[str]:
        """All that somebody might report of a load or relay in a cell, doubt included.

        The levels between those of two neighbouring severities belong to it.
        """
        outcomes = [way for ways in cell for way in ways]
        found = frozenset(level for way in outcomes for level in self._level(part, way))
        for scale in SCALES:
            if found and found <= set(scale):
                places = [scale.index(level) for level in found]
                return frozenset(scale[min(places) : max(places) + 1])
        return found

    def _level(self, part_id: str, way: Outcome) -> frozenset[str]:
        part = way.point.circuit.part(part_id)
        if isinstance(part, CLICKERS):
            return _clicks(way.point, part)
        seen = against(self.sound[0].seen(part_id), way.seen(part_id))
        return frozenset(neighbours(seen) if seen.doubtful else (seen.level,))

    def _try(self, circuits: Sequence[Circuit]) -> list[Ways]:
        batch = self._solve(circuits)
        ways = [[Outcome(batch, case)] for case in range(len(circuits))]
        other = [
            (case, circuit)
            for case in range(len(circuits))
            for circuit in _other_ways(batch.solutions.point(case))
        ]
        if other:
            more = self._solve([circuit for _, circuit in other])
            for i, (case, _) in enumerate(other):
                ways[case].append(Outcome(more, i))
        return [tuple(found) for found in ways]

    def _solve(self, circuits: Sequence[Circuit]) -> Batch:
        return Batch(solve_cases(circuits, [(i, self.moves) for i in range(len(circuits))]))


@dataclass(frozen=True, eq=False)
class Benches:
    """A sound circuit in whatever states an item speaks of; each is solved once."""

    circuit: Circuit
    _at: dict[Moves, Bench] = field(default_factory=dict)

    def at(self, moves: Moves) -> Bench:
        """The circuit with its controls moved so. Raises CircuitError if it cannot be solved."""
        if moves not in self._at:
            bench = Bench(self.circuit, moves)
            assert bench.sound
            self._at[moves] = bench
        return self._at[moves]


def _clicks(point: OperatingPoint, part: c.Relay | c.StarterSolenoid) -> frozenset[str]:
    """What somebody may hear of a relay or solenoid who operates the controls again.

    One that pulls in and stays is heard, unless it has been pulled in since the battery was
    connected. One that is held by its defect may be heard or not: nobody can say. One that let
    go again is heard too, unless a fuse or link stopped it: that opened when the driver first
    tried, and has kept the relay still ever since. One that chatters buzzes loudly, which
    nobody calls a click (common practice, no source).
    """
    perhaps = frozenset((CLICKS, NO_CLICK))
    held = part.armature if isinstance(part, c.Relay) else part.plunger
    moved = [e for e in point.events if e.part == part.id]
    if held != "good":
        return perhaps
    if any(e.change == "chatters" for e in moved):
        return frozenset((BUZZES,))
    if len({phase.point.state(part) for phase in point.phases}) > 1:
        return perhaps
    if point.state(part) == "pulled":
        operated = any(e.after for e in moved)
        return frozenset((CLICKS,)) if operated else perhaps
    opened = [point.circuit.by_id[e.part] for e in point.events if e.change == "opens"]
    if not moved or (opened and all(isinstance(p, c.Fuse | c.FusibleLink) for p in opened)):
        return frozenset((NO_CLICK,))
    return perhaps


def neighbours(seen: Observation) -> Iterator[str]:
    """The level and its neighbours; a motor near its stalling point may also stand still."""
    yield seen.level
    for scale in SCALES:
        if seen.level in scale:
            place = scale.index(seen.level)
            yield from scale[max(place - 1, 0) : place + 2]
            if "stopped" in scale:
                yield "stopped"


def _other_ways(point: OperatingPoint) -> Iterator[Circuit]:
    """The circuit with each protector in doubt forced to open or to hold, in all combinations.

    It is forced from the start, as it would stand after the first overload. Of protectors that
    only race each other at least one opens.
    """
    words = set(re.findall(r"\S+", " ".join(point.ambiguous)))
    may_hold = any(MAY_HOLD in reason for reason in point.ambiguous)
    named = [p for p in point.circuit.parts if isinstance(p, PROTECTORS) and p.id in words]
    named = named[:MOST_PROTECTORS]
    for opens in product((True, False), repeat=len(named)):
        if named and (any(opens) or may_hold):
            pairs = zip(named, opens, strict=True)
            yield point.circuit.with_parts(changed=[_forced(p, opening) for p, opening in pairs])


def _forced(part: c.Fuse | c.FusibleLink | c.Breaker, opening: bool) -> c.Part:
    """A protector that is open, or one that nothing opens."""
    match part:
        case c.Breaker() if opening and part.reset == "held":  # its heater bridges the gap
            return replace(part, ohm=part.heater_ohm, amps=NEVER_AMPS)
        case c.Breaker() if opening:
            return replace(part, condition="open")
        case c.Fuse() | c.FusibleLink() if opening:
            return replace(part, condition="blown")
        case c.Fuse():
            return replace(part, amps=NEVER_AMPS, fitted_amps=0.0)
        case _:
            return replace(part, amps=NEVER_AMPS)
