"""Parts that move by themselves: the rule of each kind of mover, over arrays of cases.

A *fast* rule says which state the part wants at the present voltages; a *slow* rule says in
how many seconds it will leave its state, and for which. To add a mover: a record in
`models.py`, a rule here, an entry in FAST or SLOW.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.history import Settled
from quizgen.solver.laws import FloatArray
from quizgen.solver.network import IntArray, Network
from quizgen.solver.part_model import Armature, Blinks, Charges, Heats, PartModel
from quizgen.solver.protectors import opening_seconds

ABSENT_AMPS = 0.02  # a flasher's output with less than this has nothing connected


@dataclass(frozen=True)
class Local:
    """One variant of one slot in k cases: state, whether its gate lets it move, branches.

    Or parts of several slots: `state`, `allowed` and each of the `columns` are then
    (parts, k), and so is all that it tells.
    """

    network: Network
    settled: Settled
    cases: IntArray
    state: IntArray
    allowed: NDArray[np.bool_]
    columns: Sequence[int | IntArray]

    def signed_volts(self, branch: int) -> FloatArray:
        """v across a branch (k,). Ends in two islands drive no current and count as 0."""
        wiring, out, column = self.network.wiring, self.settled, self.columns[branch]
        a, b = wiring.a[column], wiring.b[column]
        drop = out.volts[a, self.cases] - out.volts[b, self.cases]
        tied = out.island[a, self.cases] == out.island[b, self.cases]
        return np.asarray(np.where(tied, drop, 0.0))

    def volts(self, branch: int) -> FloatArray:
        """|v| across a branch (k,)."""
        return np.asarray(np.abs(self.signed_volts(branch)))

    def amps(self, branch: int) -> FloatArray:
        """|i| through a branch (k,)."""
        return np.asarray(np.abs(self.settled.amps[self.columns[branch], self.cases]))


def armature_wants(mover: Armature, part: Local) -> IntArray:
    """Pulled at or above the pull-in voltage, at rest at or below drop-out, else as it is.

    The pulls of several coils add with their signs: a starter solenoid whose terminal 50 is
    let go is fed from 45 through both windings in series, and their pulls then oppose.
    """
    pull = np.zeros(len(part.cases))
    for branch, share in mover.coils:
        pull += share * part.signed_volts(branch)
    volts = np.abs(pull)
    pulls = part.allowed & (volts >= mover.pull_in_volts)
    drops = ~part.allowed | (volts <= mover.drop_out_volts)
    return np.where(pulls, 1, np.where(drops, 0, part.state))


def charging_wants(mover: Charges, part: Local) -> IntArray:
    """Starts when turned and excited, stays while turned; overcharges without its sense wire."""
    excited = (part.state > 0) | (part.amps(mover.exciter) >= mover.excite_amps)
    sensed = np.ones(len(part.cases), dtype=bool)
    if mover.sense is not None:
        sensed = part.volts(mover.sense) >= mover.least_sense_volts
    return np.where(part.allowed & excited, np.where(sensed | (part.state == 0), 1, 2), 0)


def overload(mover: Heats, part: Local) -> FloatArray:
    """Current as a multiple of the rating (k,)."""
    return part.amps(0) / mover.amps


def heats_next(mover: Heats, part: Local) -> tuple[FloatArray, IntArray]:
    """A protector opens by overload; closes when cool, if it is of that sort and not held."""
    opens = opening_seconds(overload(mover, part)) * mover.slow
    closes = np.where(part.volts(0) >= mover.hold_volts, np.inf, mover.reset_seconds)
    return np.where(part.state == 0, opens, closes), 1 - np.minimum(part.state, 1)


def blinks_next(mover: Blinks, part: Local) -> tuple[FloatArray, IntArray]:
    """A flasher: state 0 lets current through, 1 and 2 do not; 2 is the short pause.

    Thermal: too little current leaves it closed. Electronic: too little current halves the
    times; without its own supply it lets go and stays open.
    """
    amps = part.amps(0)
    few = amps < mover.least_amps
    idle = amps < ABSENT_AMPS
    lit, dark = part.state == 0, part.state > 0
    if mover.supply is None:
        wait = np.where(lit, np.where(few, np.inf, mover.on_seconds), mover.off_seconds)
        return wait, np.where(lit, 1, 0)
    hurry = np.where(few, 0.5, 1.0)
    wait = np.where(
        lit,
        np.where(idle, np.inf, hurry * mover.on_seconds),
        np.where(part.state == 2, 0.5, 1.0) * mover.off_seconds,
    )
    after = np.where(lit, np.where(few, 2, 1), 0)
    dead = part.volts(mover.supply) < mover.least_volts
    wait = np.where(dead, np.where(dark, np.inf, 0.0), wait)
    return wait, np.where(dead, 1, after)


FAST: dict[type, Callable[[Any, Local], IntArray]] = {
    Armature: armature_wants,
    Charges: charging_wants,
}
SLOW: dict[type, Callable[[Any, Local], tuple[FloatArray, IntArray]]] = {
    Heats: heats_next,
    Blinks: blinks_next,
}


@dataclass(frozen=True)
class Moving:
    """The slots of a network that hold parts with a mover of some kinds."""

    network: Network
    kinds: tuple[type, ...]
    slots: tuple[tuple[int, tuple[tuple[int, PartModel], ...]], ...]

    def locals(
        self, settled: Settled, circuit: IntArray, allowed: NDArray[np.bool_], cases: IntArray
    ) -> list[tuple[int, IntArray, Any, Local]]:
        """(slot, positions in `cases`, mover, view) for every variant that occurs."""
        found = []
        for slot, variants in self.slots:
            variant = self.network.variant[slot, circuit[cases]]
            for v, model in variants:
                at = np.flatnonzero(variant == v)
                if len(at):
                    mine = cases[at]
                    columns = self.network.slots[slot].columns[v]
                    state = settled.state[slot, mine]
                    view = Local(self.network, settled, mine, state, allowed[slot, mine], columns)
                    found.append((slot, at, model.mover, view))
        return found


def moving(network: Network, kinds: tuple[type, ...]) -> Moving:
    """The slots of `network` with movers of `kinds`."""
    found = []
    for s, slot in enumerate(network.slots):
        variants = tuple(
            (v, model) for v, model in enumerate(slot.models) if isinstance(model.mover, kinds)
        )
        if variants:
            found.append((s, variants))
    return Moving(network, kinds, tuple(found))
