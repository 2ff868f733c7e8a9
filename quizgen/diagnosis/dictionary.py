"""The fault dictionary of one circuit in one state: what every possible fault would show.

Rows are *members*: the sound circuit first, then every member of every claim. A member whose
outcome is in doubt (two protectors might open in either order, one might or might not open)
has further rows, one for each way it can go; a claim is refuted only if all of them are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from quizgen.circuit.components import Breaker, Fuse, FusibleLink
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim, claims
from quizgen.diagnosis.clicks import clickers, heard_again
from quizgen.faults import Fault, inject
from quizgen.solver import Solutions, solve_cases
from quizgen.solver.laws import FloatArray
from quizgen.solver.metering import metered_volts
from quizgen.solver.observation import Observation, against, observe, visible
from quizgen.solver.operating_point import Moves

PROTECTORS = (Breaker, Fuse, FusibleLink)
HOLDS_AMPS = 1e9  # a rating that nothing exceeds


@dataclass(frozen=True)
class Member:
    """One row: claim −1 is the sound circuit."""

    claim: int
    fault: Fault | None
    variant: int = 0  # > 0: another way an uncertain outcome can go


@dataclass(frozen=True)
class FaultDictionary:
    """`low`, `high` (points, rows): volts shown at each point; they differ while cycling."""

    circuit: Circuit
    moves: Moves
    claims: tuple[Claim, ...]
    members: tuple[Member, ...]
    solutions: Solutions
    points: tuple[str, ...]
    low: FloatArray
    high: FloatArray

    @cached_property
    def seen(self) -> tuple[tuple[Observation, ...], ...]:
        """What the driver observes, by row."""
        n = len(self.solutions)
        plain = [visible(self.circuit, observe(self.solutions.point(i))) for i in range(n)]
        return tuple(tuple(map(against, plain[0], row)) for row in plain)

    @cached_property
    def clickers(self) -> tuple[str, ...]:
        """The parts that are heard to pull in."""
        return clickers(self.circuit)

    @cached_property
    def heard(self) -> NDArray[np.str_]:
        """(clickers, rows): what is heard of each, "" where nobody can say."""
        rows = range(len(self.members))
        points = [self.solutions.point(row) for row in rows]
        found = [[heard_again(point, part) for point in points] for part in self.clickers]
        return np.array(found, dtype="U16").reshape(len(self.clickers), len(points))

    @cached_property
    def rows_of(self) -> dict[int, tuple[int, ...]]:
        """Claim index → its rows."""
        found: dict[int, list[int]] = {}
        for row, member in enumerate(self.members):
            found.setdefault(member.claim, []).append(row)
        return {claim: tuple(rows) for claim, rows in found.items()}

    @cached_property
    def _row_of(self) -> dict[Fault, int]:
        return {
            member.fault: row
            for row, member in enumerate(self.members)
            if member.fault is not None and member.variant == 0
        }

    def row(self, fault: Fault) -> int:
        """The row of a fault. Raises KeyError if the dictionary does not have it."""
        return self._row_of[fault]


def build_dictionary(
    circuit: Circuit,
    moves: Moves,
    points: Sequence[str],
    possible: tuple[Claim, ...] | None = None,
) -> FaultDictionary:
    """Solve every member of every claim of `circuit` with the controls moved as `moves` says.

    `points` are the nodes where a voltmeter may be put, black lead on the reference; `possible`
    the claims, by default all. Raises CircuitError if the circuit cannot be solved.
    """
    possible = claims(circuit) if possible is None else possible
    members = [Member(-1, None)]
    circuits = [circuit]
    for c, claim in enumerate(possible):
        for fault in claim.members:
            members.append(Member(c, fault))
            circuits.append(inject(circuit, fault))
    solutions = solve_cases(circuits, [(i, moves) for i in range(len(circuits))])
    extra = _other_ways(solutions, members)
    if extra:
        members += [m for m, _ in extra]
        circuits += [c for _, c in extra]
        solutions = solve_cases(circuits, [(i, moves) for i in range(len(circuits))])
    low = metered_volts(solutions, points)
    high = low.copy()
    _widen_by_phases(solutions, points, low, high)
    return FaultDictionary(
        circuit, moves, possible, tuple(members), solutions, tuple(points), low, high
    )


def _other_ways(solutions: Solutions, members: list[Member]) -> list[tuple[Member, Circuit]]:
    """For each uncertain outcome, the same fault with a doubtful protector open, or holding."""
    found = []
    for row, member in enumerate(members):
        point = solutions.point(row)
        variant = 0
        for part in point.circuit.parts if point.ambiguous else ():
            doubts = [text for text in point.ambiguous if part.id in text.split()]
            if doubts and isinstance(part, PROTECTORS) and part.condition == "good":
                mode = "stuck-open" if isinstance(part, Breaker) else "blown"
                ways = [inject(point.circuit, Fault(part.id, mode))]
                if any("may or may not" in text for text in doubts):
                    ways.append(_holding(point.circuit, part))
                for way in ways:
                    variant += 1
                    found.append((Member(member.claim, member.fault, variant), way))
    return found


def _holding(circuit: Circuit, part: Fuse | FusibleLink | Breaker) -> Circuit:
    """The circuit with a protector that no current opens."""
    if isinstance(part, Fuse):
        return circuit.with_parts(changed=[replace(part, amps=HOLDS_AMPS, fitted_amps=0.0)])
    return circuit.with_parts(changed=[replace(part, amps=HOLDS_AMPS)])


def _widen_by_phases(
    solutions: Solutions, points: Sequence[str], low: FloatArray, high: FloatArray
) -> None:
    """While a case cycles or chatters a meter swings between the readings of its phases."""
    shown: dict[int, FloatArray] = {}
    for row, phases in solutions.phases.items():
        for phase in phases:
            frozen = phase.point.solutions
            if id(frozen) not in shown:
                shown[id(frozen)] = metered_volts(frozen, points)
            volts = shown[id(frozen)][:, phase.point.case]
            low[:, row] = np.minimum(low[:, row], volts)
            high[:, row] = np.maximum(high[:, row], volts)
