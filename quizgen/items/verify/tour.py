"""A machine as it stands after every state that an item tells of has been tried.

A fuse that opens in one of the states is open in all of them, since the driver was there
first. A fault after which several fuses may have opened, or one may or may not, has several
outcomes; it is ruled out only if all of them are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise, product

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject
from quizgen.items.verify.bench import NEVER_AMPS, SCALES, Batch, Bench, Benches, Outcome
from quizgen.items.verify.meter import Moves
from quizgen.items.verify.stillness import STEADY
from quizgen.solver import OperatingPoint, solve_cases

MOST_FUSES = 3
CALM = (*STEADY, "cycling")

Stand = dict[Moves, Outcome]  # one way in which a fault may have turned out, by state


@dataclass(eq=False)
class Tour:
    """The states of an item; every fault is looked at in all of them."""

    benches: Benches
    states: tuple[Moves, ...]
    _tried: dict[Fault, tuple[Stand, ...]] = field(default_factory=dict)

    @property
    def circuit(self) -> Circuit:
        """The sound one."""
        return self.benches.circuit

    def bench(self) -> Bench:
        """The bench of the first state, for what hangs on no state."""
        return self.benches.at(self.states[0])

    def prepare(self, faults: Iterable[Fault]) -> None:
        """Look at those not looked at yet. Raises InputError or CircuitError."""
        new = [f for f in dict.fromkeys(faults) if f not in self._tried]
        fresh = self._solve([inject(self.circuit, f) for f in new])
        worn = [list(_worn(stand)) for stand in fresh]
        again = iter(self._solve([circuit for some in worn for circuit in some]))
        for fault, stand, some in zip(new, fresh, worn, strict=True):
            self._tried[fault] = tuple(next(again) for _ in some) or (stand,)

    def ways(self, fault: Fault) -> tuple[Stand, ...]:
        """All ways in which the fault may have turned out."""
        self.prepare((fault,))
        return self._tried[fault]

    def levels(self, fault: Fault, moves: Moves, part: str) -> frozenset[str]:
        """All that may be reported of a part; nothing while anything is in doubt."""
        found: frozenset[str] = frozenset()
        bench = self.benches.at(moves)
        for stand in self.ways(fault):
            if unsettled(stand[moves].point):
                return frozenset()
            found |= bench.levels(part, ((stand[moves],),))
        return found

    def rules_out(self, members: Sequence[Fault], moves: Moves, part: str, told: str) -> bool:
        """No severity, nor anything between two neighbours, may be reported as `told`.

        One between others at which people would disagree is passed over: what they would say
        lies between what is said of its neighbours.
        """
        last = len(members) - 1
        levels = [(self.levels(fault, moves, part), fault) for fault in members]
        found = [
            words
            for i, (words, fault) in enumerate(levels)
            if i in (0, last) or len(words) == 1 or len(self.ways(fault)) > 1
        ]
        steps = [_hull(a, b) for a, b in pairwise(found)] or found
        return all(step and told not in step for step in steps)

    def _solve(self, circuits: Sequence[Circuit]) -> list[Stand]:
        if not circuits:
            return []
        cases = [(i, moves) for i in range(len(circuits)) for moves in self.states]
        batch = Batch(solve_cases(circuits, cases))
        found: list[Stand] = [{} for _ in circuits]
        for case, (i, moves) in enumerate(cases):
            found[i][moves] = Outcome(batch, case)
        return found


def _hull(one: frozenset[str], other: frozenset[str]) -> frozenset[str]:
    if not one or not other:
        return frozenset()
    both = one | other
    for scale in SCALES:
        if both <= set(scale):
            places = [scale.index(level) for level in both]
            return frozenset(scale[min(places) : max(places) + 1])
    return both


def unsettled(point: OperatingPoint) -> bool:
    """Something is in doubt, or a fuse opens that should have opened long ago."""
    return bool(point.ambiguous) or any(_lasts(p) for p in _opened(point))


def _opened(point: OperatingPoint) -> list[c.Part]:
    return [point.circuit.by_id[e.part] for e in point.events if e.change == "opens"]


def _lasts(part: c.Part) -> bool:
    """Stays open once it has opened, until somebody sees to it."""
    if isinstance(part, c.Breaker):
        return part.reset == "manual"
    return isinstance(part, c.Fuse | c.FusibleLink)


def _worn(stand: Stand) -> Iterator[Circuit]:
    """The circuit in every way in which its fuses may stand by now; none if none opened."""
    points = [outcome.point for outcome in stand.values()]
    surely = {p.id for point in points for p in _opened(point)}
    reasons = " ".join(reason for point in points for reason in point.ambiguous)
    named = set(reasons.split())
    circuit = points[0].circuit
    fuses = [p for p in circuit.parts if _lasts(p) and p.id in surely | named]
    if not 0 < len(fuses) <= MOST_FUSES:
        return
    none_may_open = "may or may not" in reasons and not any(
        f.id in surely and f.id not in named for f in fuses
    )
    for opens in product((True, False), repeat=len(fuses)):
        if any(opens) or none_may_open:
            changed = [_made(f, o) for f, o in zip(fuses, opens, strict=True)]
            yield circuit.with_parts(changed=changed)


def _made(fuse: c.Part, opens: bool) -> c.Part:
    match fuse:
        case c.Breaker() if opens:
            return replace(fuse, condition="open")
        case c.Fuse() | c.FusibleLink() if opens:
            return replace(fuse, condition="blown")
        case c.Fuse():
            return replace(fuse, amps=NEVER_AMPS, fitted_amps=0.0)
        case c.Breaker() | c.FusibleLink():
            return replace(fuse, amps=NEVER_AMPS)
        case _:
            return fuse
