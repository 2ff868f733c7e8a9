"""What a fault looks and sounds like in several states of the controls, with no meter.

The driver has tried every state before anybody comes to look. A fuse that opens in one of them
is therefore open in all. Where it hangs on the order of trying which fuse opens, or where one
may or may not open, each way it may have gone is a *way* of its own: a fault is ruled out only
if all of its ways are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.agreement import ANYTHING, Words, between
from quizgen.diagnosis.clicks import CLICKERS, NOBODY_KNOWS, clickers, heard_again
from quizgen.faults import Fault, inject
from quizgen.items.item import Moves
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import Observation, against, observe, visible

MOST_FUSES = 3  # that one fault opens or may open
HOLDS_AMPS = 1e9
QUIET = {"steady", "protector-open", "cycling"}

Points = tuple[OperatingPoint, ...]  # one for each state


@dataclass(frozen=True)
class Place:
    """One thing to watch or to listen to, in one state."""

    state: int
    part: str


@dataclass(frozen=True, eq=False)
class Sighting:
    """One fault: its ways, each an operating point for every state."""

    fault: Fault | None
    ways: tuple[Points, ...]
    sound: tuple[dict[str, Observation], ...]  # by state

    @cached_property
    def certain(self) -> bool:
        """There is one way, and nothing is in doubt or in unrest."""
        points = self.ways[0]
        return len(self.ways) == 1 and all(p.behaviour in QUIET and _settled(p) for p in points)

    @cached_property
    def words(self) -> tuple[dict[str, Words], ...]:
        """By state: part → everything that may be reported of it; ANYTHING where nobody knows."""
        found = []
        for state, sound in enumerate(self.sound):
            by_way = [_words(points[state], sound) for points in self.ways]
            found.append({part: _either([w[part] for w in by_way]) for part in by_way[0]})
        return tuple(found)

    def word(self, place: Place) -> str:
        """What is reported there, "" if that is not certain."""
        words = self.words[place.state][place.part]
        return next(iter(words)) if len(words) == 1 else NOBODY_KNOWS


def sight(
    circuit: Circuit, states: Sequence[Moves], faults: Sequence[Fault | None]
) -> tuple[Sighting, ...]:
    """A sighting of each fault (None: nothing wrong). Raises CircuitError if one has none."""
    plain = [circuit if fault is None else inject(circuit, fault) for fault in faults]
    fresh = _solve([circuit, *plain], states)
    sound = tuple({o.load: o for o in visible(circuit, observe(p))} for p in fresh[0])
    aged = [tuple(_aged(points)) for points in fresh[1:]]
    again = iter(_solve([old for ways in aged for old in ways], states))
    return tuple(
        Sighting(fault, tuple(next(again) for _ in ways) or (points,), sound)
        for fault, points, ways in zip(faults, fresh[1:], aged, strict=True)
    )


def rules_out(members: Sequence[Sighting], place: Place, told: str) -> bool:
    """No severity, the steps between two neighbours included, may be reported as `told`."""
    words = [member.words[place.state][place.part] for member in members]
    steps = [between(a, b) for a, b in pairwise(words)] or words
    return all(step and told not in step for step in steps)


def _solve(circuits: Sequence[Circuit], states: Sequence[Moves]) -> list[Points]:
    if not circuits:
        return []
    n = len(states)
    found = solve_cases(circuits, [(i, moves) for i in range(len(circuits)) for moves in states])
    return [tuple(found.point(i * n + s) for s in range(n)) for i in range(len(circuits))]


def _aged(points: Points) -> Iterator[Circuit]:
    """The circuit with fuses as they stand after every state was tried; nothing if none opened."""
    circuit = points[0].circuit
    opened = {e.part for p in points for e in p.events if e.change == "opens"}
    doubts = {word for p in points for text in p.ambiguous for word in text.split()}
    may_hold = any("may or may not" in text for p in points for text in p.ambiguous)
    fuses = [p for p in circuit.parts if _stays_open(p) and p.id in opened | doubts]
    if not fuses or len(fuses) > MOST_FUSES:
        return
    unsure = may_hold and not any(f.id in opened - doubts for f in fuses)
    for choice in product((True, False), repeat=len(fuses)):
        if any(choice) or unsure:
            pairs = zip(fuses, choice, strict=True)
            yield circuit.with_parts(changed=[_set(fuse, opens) for fuse, opens in pairs])


def _stays_open(part: c.Part) -> bool:
    lasting = isinstance(part, c.Fuse | c.FusibleLink)
    return lasting or (isinstance(part, c.Breaker) and part.reset == "manual")


def _set(part: c.Part, opens: bool) -> c.Part:
    """A protector that is open, or one that nothing opens."""
    match part:
        case c.Breaker():
            return replace(part, condition="open") if opens else replace(part, amps=HOLDS_AMPS)
        case c.Fuse() if not opens:
            return replace(part, amps=HOLDS_AMPS, fitted_amps=0.0)
        case c.Fuse() | c.FusibleLink():
            return replace(part, condition="blown") if opens else replace(part, amps=HOLDS_AMPS)
        case _:
            return part


def _words(point: OperatingPoint, sound: dict[str, Observation]) -> dict[str, Words]:
    seen = {o.load: o for o in observe(point) if o.load in sound}
    found = {load: _said(point, against(sound[load], o)) for load, o in seen.items()}
    for part in clickers(point.circuit):
        heard = heard_again(point, part)
        found[part] = frozenset((heard,)) if heard and _settled(point) else ANYTHING
    return found


def _settled(point: OperatingPoint) -> bool:
    """Not in doubt, and no protector that stays open still to open: `_aged` has seen to those."""
    opened = (point.circuit.by_id[e.part] for e in point.events if e.change == "opens")
    return not point.ambiguous and not any(_stays_open(p) for p in opened)


def _said(point: OperatingPoint, seen: Observation) -> Words:
    unsure = seen.doubtful or not _settled(point)
    flutters = point.behaviour not in QUIET and seen.level == "comes and goes"
    return ANYTHING if unsure or flutters else frozenset((seen.level,))


def _either(words: Sequence[Words]) -> Words:
    return ANYTHING if not all(words) else frozenset().union(*words)


def volts_across(point: OperatingPoint, part_id: str) -> float:
    """Volts across a load or the coil of a relay; the highest while it flashes.

    No current and nothing that joins its ends to anything counts as 0 V.
    """
    found = 0.0
    for at in (point, *(phase.point for phase in point.phases)):
        part = at.circuit.part(part_id)
        volts = at.across(part)
        mine = volts[:1] if isinstance(part, CLICKERS) else volts
        found = max([found, *map(abs, mine)])
    return found
