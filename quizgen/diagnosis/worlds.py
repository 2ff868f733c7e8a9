"""All that may be wrong, and what each possibility comes to.

A *cause* is what one would write on the job sheet: no fault, one claim, or two claims at once.
A *cell* is a cause at one severity, or over a step between two severities; the weight of a
cause is spread over its steps evenly in the logarithm of the resistance (evenly in percent
for a weak battery), since nobody knows how severities are distributed. A *world* is one set of
faults, solved in several states of the controls; where its outcome is in doubt it has further
rows, see `quizgen.diagnosis.ways`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from math import exp, log

import numpy as np

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.ways import metered_bounds, other_ways
from quizgen.faults import Fault, inject
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.laws import FloatArray
from quizgen.solver.observation import Observation, against, observe
from quizgen.solver.operating_point import Moves

Faults = tuple[Fault, ...]
NO_FAULT = "no fault"


@dataclass(frozen=True)
class Cause:
    """What may be wrong, and how likely that is, relative to the others, before any test."""

    claims: tuple[Claim, ...]
    weight: float

    @property
    def key(self) -> str:
        """Unique text: the claims' keys."""
        return " + ".join(claim.key for claim in self.claims) or NO_FAULT

    @property
    def is_graded(self) -> bool:
        """One claim with severities between any two."""
        return len(self.claims) == 1 and self.claims[0].graded


@dataclass(frozen=True)
class Cell:
    """A cause from one severity to another; both ends are the same where there are no degrees."""

    cause: int
    weight: float
    near: Faults
    far: Faults


def cells_of(number: int, cause: Cause) -> list[Cell]:
    """The cells of one cause, `number` in its list; severities as in the claim."""
    if cause.is_graded and len(cause.claims[0].members) > 1:
        steps = list(pairwise(cause.claims[0].members))
        widths = [_width(a, b) for a, b in steps]
        each = [cause.weight * width / sum(widths) for width in widths]
        return [Cell(number, w, (a,), (b,)) for w, (a, b) in zip(each, steps, strict=True)]
    if len(cause.claims) == 1 and len(cause.claims[0].members) > 1:
        members = cause.claims[0].members
        return [Cell(number, cause.weight / len(members), (m,), (m,)) for m in members]
    faults = tuple(claim.usual for claim in cause.claims)
    return [Cell(number, cause.weight, faults, faults)]


def severity(fault: Fault) -> float:
    """Added ohm, or percent of charge."""
    return float(fault.detail.rpartition("=")[2])


def split(cell: Cell, parts: int) -> list[Cell]:
    """The cell in smaller steps; itself where it has no degrees."""
    if cell.near == cell.far:
        return [cell]
    fault = cell.near[0]
    a, b = severity(fault), severity(cell.far[0])
    inner = [_between(fault, a, b, k / parts) for k in range(1, parts)]
    ends = [fault, *inner, cell.far[0]]
    return [Cell(cell.cause, cell.weight / parts, (x,), (y,)) for x, y in pairwise(ends)]


def joined(cells: Sequence[Cell], most: int) -> list[Cell]:
    """Cells of one cause by severity, neighbours put together until `most` are left."""
    found = list(cells)
    while len(found) > most:
        steps = [
            (x.weight + y.weight, i) for i, (x, y) in enumerate(pairwise(found)) if x.far == y.near
        ]
        if not steps:
            break
        weight, i = min(steps)
        found[i : i + 2] = [replace(found[i], weight=weight, far=found[i + 1].far)]
    return found


def _width(a: Fault, b: Fault) -> float:
    low, high = severity(a), severity(b)
    return abs(high - low) if a.mode == "weak" else abs(log(high / low))


def _between(fault: Fault, a: float, b: float, share: float) -> Fault:
    value = a + (b - a) * share if fault.mode == "weak" else exp(log(a) + log(b / a) * share)
    place, equals, _ = fault.detail.rpartition("=")
    return Fault(fault.part, fault.mode, f"{place}{equals}{value:.6g}")


@dataclass(frozen=True, eq=False)
class Worlds:
    """Sets of faults solved in the same states. `rows[faults]`: the plain row, then other ways."""

    circuit: Circuit
    states: tuple[Moves, ...]
    circuits: tuple[Circuit, ...]  # by row
    rows: dict[Faults, tuple[int, ...]]
    batches: tuple[Solutions, ...]  # plain rows, other ways; rows × states, the state fastest
    _seen: dict[tuple[int, int], dict[str, Observation]] = field(default_factory=dict)

    def point(self, row: int, state: int) -> OperatingPoint:
        """The operating point of a row in a state."""
        case = row * len(self.states) + state
        first, *others = self.batches
        return first.point(case) if case < len(first) else others[0].point(case - len(first))

    def jumps(self, one: int, other: int) -> bool:
        """True if a relay, a protector or the like stands differently in two rows."""
        points = [(self.point(one, s), self.point(other, s)) for s in range(len(self.states))]
        return any(
            (x.solutions.settled.state[:, x.case] != y.solutions.settled.state[:, y.case]).any()
            for x, y in points
        )

    def pairs(self, cell: Cell) -> list[tuple[int, int]]:
        """The rows between which a cell lies, and by themselves the other ways of its ends."""
        near, far = self.rows[cell.near], self.rows[cell.far]
        return [(near[0], far[0]), *((row, row) for row in dict.fromkeys((*near[1:], *far[1:])))]

    def seen(self, row: int, state: int) -> dict[str, Observation]:
        """Load → what somebody sees of it who knows how it runs when all is well."""
        if (row, state) not in self._seen:
            here = {o.load: o for o in observe(self.point(row, state))}
            sound = self.rows[()][0]
            if row != sound:
                well = self.seen(sound, state)
                here = {load: against(well[load], o) for load, o in here.items()}
            self._seen[row, state] = here
        return self._seen[row, state]

    @cached_property
    def points(self) -> tuple[str, ...]:
        """Nodes of the circuit, the reference left out."""
        return tuple(n for n in self.circuit.nodes if n != self.circuit.reference)

    @cached_property
    def volts(self) -> tuple[FloatArray, FloatArray]:
        """Lowest and highest volts on a voltmeter to the reference: (points, rows, states)."""
        found = [metered_bounds(batch, self.points) for batch in self.batches]
        shape = (len(self.points), len(self.circuits), len(self.states))
        low = np.concatenate([low for low, _ in found], axis=1).reshape(shape)
        high = np.concatenate([high for _, high in found], axis=1).reshape(shape)
        return low, high


def solve_worlds(circuit: Circuit, sets: Sequence[Faults], states: Sequence[Moves]) -> Worlds:
    """Solve every set of faults in every state, and the other ways a doubtful one may go.

    The sound circuit is solved too, it need not be named.

    Raises InputError for faults that do not fit the circuit or each other, CircuitError for a
    circuit that cannot be solved.
    """
    unique = list(dict.fromkeys([(), *sets]))
    circuits = [faulted(circuit, faults) for faults in unique]
    batches = [_solved(circuits, states)]
    rows: dict[Faults, tuple[int, ...]] = {faults: (row,) for row, faults in enumerate(unique)}
    others: list[Circuit] = []
    for row, faults in enumerate(unique):
        ways: dict[Circuit, None] = {}
        for state in range(len(states)):
            ways |= dict.fromkeys(other_ways(batches[0].point(row * len(states) + state)))
        first = len(circuits) + len(others)
        rows[faults] += tuple(range(first, first + len(ways)))
        others += ways
    if others:
        batches.append(_solved(others, states))
    return Worlds(circuit, tuple(states), (*circuits, *others), rows, tuple(batches))


def faulted(circuit: Circuit, faults: Faults) -> Circuit:
    """The circuit with the faults in it, one after the other."""
    for fault in faults:
        circuit = inject(circuit, fault)
    return circuit


def _solved(circuits: Sequence[Circuit], states: Sequence[Moves]) -> Solutions:
    return solve_cases(circuits, [(row, moves) for row in range(len(circuits)) for moves in states])
