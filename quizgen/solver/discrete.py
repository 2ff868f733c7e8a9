"""Parts that move by themselves: settle the fast ones, then let the slow ones act, earliest first.

Fast (relays, starter solenoid, alternator): solve, move every part that asks for it, repeat.
A fast state that comes back is looked at with one part moving at a time: if no order of moves
comes to rest it is *chatter*, if the outcome depends on the order it is a *race*. Slow
(protectors, flashers): of all that are due the earliest acts, then the fast states settle
again. A slow state that comes back is *cycling*. All three are results with their history.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import CircuitError
from quizgen.solver.doubts import note_doubts
from quizgen.solver.history import Histories, Settled
from quizgen.solver.laws import FloatArray
from quizgen.solver.movers import FAST, moving
from quizgen.solver.network import IntArray, Network
from quizgen.solver.nonlinear import solve_electrical
from quizgen.solver.orders import Orders, explore
from quizgen.solver.waiting import Waiting

MOST_SLOW_STEPS = 100
MOST_PHASES = 8  # states of a chatter or race that are kept


class Movers:
    """The parts of a network that move by themselves."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.fast = moving(network, tuple(FAST))
        self.slow = Waiting(network)


class Settling:
    """Works on m cases of a network; `run` takes their start states to the end.

    `allowed` (slots, m) is False where a control keeps a part from moving: a timer that has
    run out, an alternator that nothing turns.
    """

    def __init__(
        self,
        movers: Movers,
        circuit: IntArray,
        state: IntArray,
        allowed: NDArray[np.bool_],
        histories: Histories | None = None,
        guess: FloatArray | None = None,
    ) -> None:
        self.movers, self.network = movers, movers.network
        self.fast, self.slow = movers.fast, movers.slow
        self.circuit = circuit
        self.allowed = allowed
        m = len(circuit)
        nodes, branches = len(self.network.nodes), len(self.network.wiring.ends)
        self.out = Settled(
            state.copy(),
            np.empty((branches, m)),
            np.empty((branches, m)),
            np.empty((nodes, m)),
            np.empty((nodes, m), dtype=np.int32),
            np.empty((branches, m)),
            histories or Histories(),
        )
        self.guess = guess  # conductances to start from, until there are solved ones

    def run(self) -> Settled:
        """Settle all cases."""
        active = np.arange(len(self.circuit))
        passed: list[dict[bytes, int]] = [{} for _ in self.circuit]
        trail: list[list[tuple[IntArray, float]]] = [[] for _ in self.circuit]
        for _ in range(MOST_SLOW_STEPS):
            self._solve(active)
            if self.fast.slots:
                active = self._settle_fast(active)
            if len(self.slow.slots) and len(active):
                active = self._slow_step(active, passed, trail)
            if not len(self.slow.slots) or not len(active):
                self._name_open_protectors()
                return self.out
        raise CircuitError(f"{self.network.circuits[0].name}: protectors never come to rest")

    def _solve(self, cases: IntArray) -> None:
        out = self.out
        rows = self.network.rows(self.circuit[cases], out.state[:, cases])
        guess = self.guess if self.guess is None else self.guess[:, cases]
        found = solve_electrical(self.network, rows, guess)
        solution = found.solution
        if len(cases) == len(self.circuit):  # all of them: no need to copy
            out.siemens, out.emf = found.siemens, found.emf
            self.guess = out.siemens
            out.volts, out.island, out.amps = solution.volts, solution.island, solution.amps
            return
        out.siemens[:, cases], out.emf[:, cases] = found.siemens, found.emf
        out.volts[:, cases], out.island[:, cases] = solution.volts, solution.island
        out.amps[:, cases] = solution.amps

    def _key(self, case: int) -> bytes:
        return self.out.state[:, case].tobytes()

    # --- fast -------------------------------------------------------------------------

    def _settle_fast(self, active: IntArray) -> IntArray:
        """Move parts until all rest. Returns the cases that did come to rest."""
        todo = active
        seen: dict[int, set[bytes]] = {}
        start = self.out.state.copy()
        everything = np.zeros(start.shape, dtype=bool)
        doubtful: dict[int, tuple[IntArray, ...]] = {}  # and the last two states of each
        while len(todo):
            wanted = self._wanted(todo)
            changes = wanted != self.out.state[:, todo]
            everything[:, todo] |= changes
            moved = changes.any(axis=0)
            unsure = self._order_matters(todo, changes, wanted)[moved]
            todo, wanted = todo[moved], wanted[:, moved]
            self._note_moves(todo, wanted)
            before = self.out.state[:, todo]
            self.out.state[:, todo] = wanted
            again = np.ones(len(todo), dtype=bool)
            for i, case in enumerate(todo.tolist()):
                passed = seen.setdefault(case, {start[:, case].tobytes()})
                key = wanted[:, i].tobytes()
                if unsure[i] or key in passed:
                    doubtful[case] = before[:, i], wanted[:, i]
                    again[i] = False
                passed.add(key)
            todo = todo[again]
            if len(todo):
                self._solve(todo)
        lost = self._by_order(doubtful, start, everything)
        return active[~np.isin(active, lost)]

    def _wanted(self, cases: IntArray) -> IntArray:
        """Where the fast parts want to be, given the present voltages: states (slots, cases)."""
        state = self.out.state[:, cases].copy()
        for slot, at, mover, view in self.fast.locals(self.out, self.circuit, self.allowed, cases):
            state[slot, at] = FAST[type(mover)](mover, view)
        return state

    def _probe(self, cases: IntArray, state: IntArray) -> IntArray:
        """The states that the cases would ask for if they stood as in `state` (slots, cases)."""
        guess = self.out.siemens[:, cases]
        allowed = self.allowed[:, cases]
        probe = Settling(self.movers, self.circuit[cases], state, allowed, guess=guess)
        probe._solve(np.arange(len(cases)))
        return probe._wanted(np.arange(len(cases)))

    def _order_matters(
        self, cases: IntArray, changes: NDArray[np.bool_], wanted: IntArray
    ) -> NDArray[np.bool_]:
        """Where two parts move at once: does moving one alone change another's mind?"""
        unsure = np.zeros(len(cases), dtype=bool)
        several = np.flatnonzero(changes.sum(axis=0) > 1)
        if not len(several):
            return unsure
        which, slots = np.nonzero(changes[:, several].T)
        owner = several[which]
        alone = self.out.state[:, cases[owner]].copy()
        alone[slots, np.arange(len(owner))] = wanted[slots, owner]
        then = self._probe(cases[owner], alone)
        disagree = ((then != wanted[:, owner]) & changes[:, owner]).any(axis=0)
        unsure[owner[disagree]] = True
        return unsure

    def _by_order(
        self,
        doubtful: dict[int, tuple[IntArray, ...]],
        start: IntArray,
        moved: NDArray[np.bool_],
    ) -> list[int]:
        """Look at the parts of doubtful cases one at a time. Returns the cases without a rest.

        Leaves a case in its rest if all orders end there, or marks it chatter or race. `start`,
        `moved` (slots, m): the states before and what moved since; if it is a single part
        there is only one order, and it went round between the two states in `doubtful`.
        """
        if not doubtful:
            return []
        several = np.array([c for c in doubtful if moved[:, c].sum() > 1], dtype=np.intp)
        searched = explore(
            [start[:, c] for c in several], lambda i, states: self._probe(several[i], states)
        )
        orders = dict(zip(several.tolist(), searched, strict=True))
        lost = []
        for case, pair in doubtful.items():
            found = orders.get(case, Orders(pair, (), pair))
            if len(found.rests) == 1 and not found.loop:
                self.out.state[:, case] = found.rests[0]
            else:
                lost.append(case)
                self._name_unrest(case, found)
        self._solve(np.array(list(doubtful)))
        return lost

    def _name_unrest(self, case: int, found: Orders) -> None:
        """Mark a case chatter or race; in a race, which of all is reached is what nobody knows."""
        history = self.out.histories[case]
        states = found.found if found.rests else (found.loop or found.found)
        history.behaviour = "race" if found.rests else "chatter"
        history.cycle = tuple((s, 0.0) for s in states[:MOST_PHASES])
        names = self._differing(states)
        if found.rests:
            history.ambiguous.append(f"race between {' and '.join(names)}")
        for name in names:
            change = "depends on the order" if found.rests else "chatters"
            history.note(name, change, "its coil hangs on a contact that it moves")

    def _differing(self, states: Iterable[IntArray]) -> list[str]:
        table = np.array(list(states))
        slots = np.flatnonzero((table != table[0]).any(axis=0))
        return [self.network.slots[s].id for s in slots]

    def _note_moves(self, cases: IntArray, wanted: IntArray) -> None:
        for slot, at, mover, view in self.fast.locals(self.out, self.circuit, self.allowed, cases):
            for i, volts in zip(at.tolist(), view.volts(mover.felt), strict=True):
                old, new = self.out.state[slot, cases[i]], wanted[slot, i]
                if old != new:
                    self.out.histories[cases[i]].note(
                        self.network.slots[slot].id,
                        mover.changes[int(new > old)],
                        f"{mover.felt_name} at {volts:.1f} V",
                    )

    # --- slow -------------------------------------------------------------------------

    def _slow_step(
        self,
        active: IntArray,
        passed: list[dict[bytes, int]],
        trail: list[list[tuple[IntArray, float]]],
    ) -> IntArray:
        """Let the earliest part act in every active case. Returns the cases that go on."""
        ahead = self.slow.ahead(self.out, self.circuit, self.allowed, active)
        note_doubts(self.network, self.out, ahead, active)
        wait, row = ahead.first()
        goes_on = []
        for i in np.flatnonzero(wait < np.inf).tolist():
            case = int(active[i])
            history, key = self.out.histories[case], self._key(case)
            if key in passed[case]:
                history.behaviour = "cycling"
                history.cycle = tuple(trail[case][passed[case][key] :])
                continue
            passed[case][key] = len(trail[case])
            trail[case].append((self.out.state[:, case].copy(), float(wait[i])))
            history.seconds += float(wait[i])
            slot = ahead.slots[row[i]]
            name, opens = self.network.slots[slot].id, self.out.state[slot, case] == 0
            self.out.state[slot, case] = ahead.after[row[i], i]
            reason = f"{ahead.amps[row[i], i]:.1f} A through {name}" if opens else "its time"
            history.note(name, "opens" if opens else "closes again", reason)
            goes_on.append(case)
        return np.array(goes_on, dtype=np.intp)

    def _name_open_protectors(self) -> None:
        """A protector that overload opened, now or after an earlier move, is the behaviour."""
        rows = self.slow.slots[self.slow.heating]
        which = np.arange(len(rows))[:, None], self.network.variant[rows][:, self.circuit]
        open_now = (self.out.state[rows] == 1) & self.slow.heats[which]
        for case in np.flatnonzero(open_now.any(axis=0)).tolist():
            if self.out.histories[case].behaviour == "steady":
                self.out.histories[case].behaviour = "protector-open"
