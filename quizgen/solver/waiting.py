"""Which slow part acts next in each of many cases, and when.

A circuit has a dozen protectors, and asking them one by one costs more than the arithmetic:
all of them are asked at once. Other slow parts are few and follow one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.history import Settled
from quizgen.solver.laws import FloatArray
from quizgen.solver.movers import SLOW, Local, heats_next, moving, overload
from quizgen.solver.network import IntArray, Network
from quizgen.solver.part_model import Heats


@dataclass(frozen=True)
class Ahead:
    """For some slots (s,) in k cases: what each part there will do, if nothing else does.

    `due` (s, k): in how many seconds it leaves its state, inf for never; `after`: for which.
    `amps` through it. `ratio` to its rating and `closed` only for protectors, else 0 and False.
    """

    slots: IntArray
    due: FloatArray
    after: IntArray
    amps: FloatArray
    ratio: FloatArray
    closed: NDArray[np.bool_]

    def first(self) -> tuple[FloatArray, IntArray]:
        """By case: seconds to the first act, and its row."""
        if not len(self.slots):
            return np.full(self.due.shape[1], np.inf), np.zeros(self.due.shape[1], dtype=np.intp)
        row = np.argmin(self.due, axis=0)
        return self.due[row, np.arange(len(row))], row


class Waiting:
    """The slow parts of a network: protectors, and the others."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.others = moving(network, tuple(kind for kind in SLOW if kind is not Heats))
        protectors = [
            (s, v, slot.columns[v][0], model.mover)
            for s, slot in enumerate(network.slots)
            for v, model in enumerate(slot.models)
            if isinstance(model.mover, Heats)
        ]
        heating = sorted({s for s, *_ in protectors})
        self.slots = np.array(sorted({*heating, *(s for s, _ in self.others.slots)}), dtype=np.intp)
        self.heating = np.searchsorted(self.slots, np.array(heating, dtype=np.intp))
        widest = max((len(network.slots[s].models) for s in heating), default=0)
        shape = (len(heating), widest + 1)  # the last one is for circuits without the part
        self.heats = np.zeros(shape, dtype=bool)
        self._column = np.zeros(shape, dtype=np.intp)
        self._numbers = {field.name: np.ones(shape) for field in fields(Heats)}
        for s, v, column, mover in protectors:
            at = heating.index(s), v
            self.heats[at], self._column[at] = True, column
            for name, table in self._numbers.items():
                table[at] = getattr(mover, name)

    def ahead(
        self, settled: Settled, circuit: IntArray, allowed: NDArray[np.bool_], cases: IntArray
    ) -> Ahead:
        """What the parts of some `cases` are about to do; `circuit` (m,), `allowed` (slots, m)."""
        shape = (len(self.slots), len(cases))
        found = Ahead(
            self.slots, np.full(shape, np.inf), np.zeros(shape, dtype=np.intp), np.zeros(shape),
            np.zeros(shape), np.zeros(shape, dtype=bool),
        )  # fmt: skip
        if len(self.heating):
            self._ask_protectors(found, settled, circuit[cases], cases)
        for slot, at, mover, view in self.others.locals(settled, circuit, allowed, cases):
            row = np.searchsorted(self.slots, slot)
            found.due[row, at], found.after[row, at] = SLOW[type(mover)](mover, view)
            found.amps[row, at] = view.amps(0)
        return found

    def _ask_protectors(
        self, found: Ahead, settled: Settled, circuit: IntArray, cases: IntArray
    ) -> None:
        rows, slots = self.heating, self.slots[self.heating]
        which = np.arange(len(rows))[:, None], self.network.variant[slots][:, circuit]
        heats = self.heats[which]
        numbers: dict[str, Any] = {name: table[which] for name, table in self._numbers.items()}
        state = settled.state[np.ix_(slots, cases)]
        columns: Sequence[IntArray] = (self._column[which],)
        view = Local(self.network, settled, cases, state, heats, columns)
        mover = Heats(**numbers)
        due, after = heats_next(mover, view)
        found.due[rows], found.after[rows] = np.where(heats, due, np.inf), after
        found.amps[rows] = view.amps(0)
        found.ratio[rows] = np.where(heats, overload(mover, view), 0.0)
        found.closed[rows] = heats & (state == 0)
