"""A group of cases brought down to the nodes that non-linear branches touch.

All other nodes are eliminated once. While lamps, motors and diodes look for their operating
point only the small rest is solved again; at the end the eliminated nodes get their
potentials back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.elimination import Sheet, no_potentials
from quizgen.solver.laws import FloatArray
from quizgen.solver.linear import LinearSolution, Wiring, branch_currents, merge
from quizgen.solver.network import IntArray
from quizgen.solver.plans import tail_of
from quizgen.solver.reduction import contract


class Reduced:
    """m cases with the same `ideal` branches; `late` are the non-linear branches.

    `siemens`, `emf` (branches, m) must be 0 at the late branches.
    """

    def __init__(
        self,
        wiring: Wiring,
        ideal: tuple[int, ...],
        late: tuple[int, ...],
        siemens: FloatArray,
        emf: FloatArray,
    ) -> None:
        self.wiring, self.ideal, self.late = wiring, ideal, late
        self.siemens, self.emf = siemens, emf
        self.reduction = contract(wiring.nodes, wiring.ends, ideal, emf, wiring.names)
        merged = merge(wiring, self.reduction, ideal, siemens, emf, late)
        self.plan = merged.plan
        self.sheet = Sheet(self.plan, merged.conductance, merged.source)
        self.sheet.remove(self.plan.rounds[: self.plan.early])
        self.tail = tail_of(self.plan)
        first = self.tail.first
        self.g, self.j = self.sheet.g[first:], self.sheet.j[first:]  # of the tail alone
        node_at = {n: i for i, n in enumerate(self.tail.nodes.tolist())}
        # of each late branch: its edge in the tail and which way it runs; its two end nodes
        self.edges = [
            (row, int(self.plan.place[merged.at[b][0]]) - first, merged.at[b][1])
            for row, b in enumerate(late)
            if b in merged.at
        ]
        ends = np.array([wiring.ends[b] for b in late], dtype=np.intp).reshape(-1, 2)
        root = np.array(self.reduction.root, dtype=np.intp)
        self.ends = np.array([[node_at[n] for n in pair] for pair in root[ends]], dtype=np.intp)
        self.ends = self.ends.reshape(-1, 2)
        self.shift = self.reduction.offset[ends]  # (late, 2, m)
        self.lift = self.shift[:, 1] - self.shift[:, 0] if ideal else None

    def _solve_tail(self, siemens: FloatArray, emf: FloatArray, cases: IntArray) -> Sheet:
        sheet = Sheet(self.tail.plan, self.g[:, cases], self.j[:, cases])
        amps = siemens * (emf if self.lift is None else emf + self.lift[:, cases])
        for row, edge, sign in self.edges:
            sheet.g[edge] += siemens[row]
            sheet.j[edge] += sign * amps[row]
        sheet.remove(self.tail.plan.rounds)
        return sheet

    def ends_of(
        self, siemens: FloatArray, emf: FloatArray, cases: IntArray
    ) -> tuple[FloatArray, NDArray[np.int32]]:
        """Potentials and islands at both ends of the late branches: (late, 2, cases) each.

        `siemens`, `emf` (late, cases) are what the late branches do now.
        """
        sheet = self._solve_tail(siemens, emf, cases)
        found = no_potentials(self.tail.plan, len(cases))
        sheet.restore(self.tail.plan.rounds, found)
        volts, island = found.volts[self.ends], found.island[self.ends]
        return (volts if self.lift is None else volts + self.shift[:, :, cases]), island

    def finish(self, siemens: FloatArray, emf: FloatArray) -> LinearSolution:
        """The whole solution of all cases with the late branches as given (late, m)."""
        cases = np.arange(self.siemens.shape[1])
        sheet = self._solve_tail(siemens, emf, cases)
        small = no_potentials(self.tail.plan, len(cases))
        sheet.restore(self.tail.plan.rounds, small)
        found = no_potentials(self.plan, len(cases))
        nodes = self.tail.nodes.astype(np.int32)
        found.volts[nodes] = small.volts
        found.island[nodes] = nodes[small.island]
        self.sheet.restore(self.plan.rounds[: self.plan.early], found)
        root = list(self.reduction.root)
        volts = found.volts[root] + self.reduction.offset
        self.siemens[list(self.late)], self.emf[list(self.late)] = siemens, emf
        amps = branch_currents(
            self.wiring, self.reduction, self.ideal, self.siemens, self.emf, volts
        )
        return LinearSolution(volts, found.island[root], amps)
