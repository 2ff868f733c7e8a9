"""What every usual fault of a circuit shows, over several states of its controls.

Row 0 is the sound circuit, row i the fault i − 1 of the universe. Faults of equal
observations whose node voltages lie within 1 mV in every state form an *ambiguity group*:
neither a driver nor a voltmeter tells them apart. A floating node is unlike any voltage,
though a meter of ten megohm shows 0 V on it. Those that show what the sound circuit
shows are *hidden*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, WeightedFault, inject, universe
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.laws import FloatArray
from quizgen.solver.observation import Observation, observe, visible
from quizgen.solver.operating_point import Moves

SAME_VOLTS = 1e-3
FLOATING = 1e9  # stands for no voltage at all: far from every voltage


@dataclass(frozen=True)
class FaultTable:
    """`low`, `high` (nodes, rows, states): volts against the reference, nan where floating.

    The two differ only while a case cycles or chatters: then they span its phases.
    """

    circuit: Circuit
    states: tuple[Moves, ...]
    faults: tuple[WeightedFault, ...]
    solutions: Solutions
    low: FloatArray
    high: FloatArray
    seen: tuple[tuple[tuple[Observation, ...], ...], ...]  # [row][state]: visible loads

    def point(self, row: int, state: int) -> OperatingPoint:
        """The operating point of a row in a state."""
        return self.solutions.point(row * len(self.states) + state)

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Rows that nothing tells apart, in order of their first row; the sound row's first.

        Each member is within 1 mV of the group's first.
        """
        found: list[list[int]] = []
        first_of: dict[tuple[tuple[str, ...], ...], list[int]] = {}  # by what the driver sees
        for row, signature in enumerate(self._signatures):
            alike = first_of.setdefault(_levels(self.seen[row]), [])
            for group in alike:
                apart = np.abs(self._signatures[found[group][0]] - signature)
                if apart.max(initial=0.0) <= SAME_VOLTS:
                    found[group].append(row)
                    break
            else:
                alike.append(len(found))
                found.append([row])
        return tuple(tuple(group) for group in found)

    @cached_property
    def _signatures(self) -> FloatArray:
        """All voltages of a row side by side (rows, 2 × nodes × states)."""
        volts = np.nan_to_num(np.stack([self.low, self.high]), nan=FLOATING)
        return np.moveaxis(volts, 2, 0).reshape(len(self.seen), -1)

    @property
    def hidden(self) -> tuple[Fault, ...]:
        """Faults that change nothing in any of the states."""
        return tuple(self.faults[row - 1].fault for row in self.groups[0][1:])


def build_table(
    circuit: Circuit, states: Sequence[Moves], faults: Sequence[WeightedFault] | None = None
) -> FaultTable:
    """Solve the sound circuit and each fault (default: its universe) in each state, in one batch.

    Raises CircuitError if one cannot be solved.
    """
    listed = universe(circuit) if faults is None else tuple(faults)
    circuits = [circuit, *(inject(circuit, item.fault) for item in listed)]
    rows, columns = len(circuits), len(states)
    solutions = solve_cases(circuits, [(row, moves) for row in range(rows) for moves in states])
    low = np.array([solutions.volts(node) for node in circuit.nodes])
    high = low.copy()
    seen = []
    for case in range(len(solutions)):
        point = solutions.point(case)
        seen.append(visible(circuit, observe(point)))
        for phase in point.phases:
            volts = np.array([phase.point.volts(n) for n in circuit.nodes], dtype=np.float64)
            low[:, case] = np.fmin(low[:, case], volts)
            high[:, case] = np.fmax(high[:, case], volts)
    shape = (len(circuit.nodes), rows, columns)
    return FaultTable(
        circuit,
        tuple(states),
        listed,
        solutions,
        low.reshape(shape),
        high.reshape(shape),
        tuple(tuple(seen[r * columns : (r + 1) * columns]) for r in range(rows)),
    )


def _levels(seen: tuple[tuple[Observation, ...], ...]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(o.level for o in in_state) for in_state in seen)
