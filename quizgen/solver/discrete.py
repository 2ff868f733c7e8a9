"""Relays and protectors: settle the fast states, then let the slow ones happen, earliest first.

Fast: solve, move every relay whose coil asks for it, repeat. A fast state that comes back is
looked at with one relay moving at a time: if no order of moves comes to rest it is *chatter*,
if the outcome depends on the order it is a *race*. Slow: of all protectors due to open or to
close the earliest acts, then the fast states settle again. A slow state that comes back is
*cycling*. All three are results with their history.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import CircuitError
from quizgen.solver.laws import FloatArray
from quizgen.solver.models import Armature, Heats
from quizgen.solver.network import IntArray, Network
from quizgen.solver.nonlinear import solve_electrical
from quizgen.solver.orders import explore
from quizgen.solver.protectors import AMBIGUOUS_FACTOR, marginal, opening_seconds

MOST_SLOW_STEPS = 100


@dataclass(frozen=True)
class Event:
    """Something moved: `seconds` after the control move `after` ("" is connecting the battery)."""

    after: str
    seconds: float
    part: str
    change: str
    because: str


@dataclass
class History:
    """What happened to one case while it settled."""

    behaviour: str = "steady"
    events: list[Event] = field(default_factory=list)
    ambiguous: list[str] = field(default_factory=list)
    cycle: tuple[tuple[IntArray, float], ...] = ()  # states (slots,) and how long each lasts
    seconds: float = 0.0
    after: str = ""

    def note(self, part: str, change: str, because: str) -> None:
        """Add an event at the present moment."""
        self.events.append(Event(self.after, self.seconds, part, change, because))

    def go_on(self, after: str) -> History:
        """The history to write on after the next control move."""
        return History(events=list(self.events), ambiguous=list(self.ambiguous), after=after)


@dataclass
class Settled:
    """m settled cases. Arrays are (rows, m): volts and island by node, the rest by branch."""

    state: IntArray
    siemens: FloatArray
    emf: FloatArray
    volts: FloatArray
    island: NDArray[np.int32]
    amps: FloatArray
    histories: list[History]


class Settling:
    """Works on m cases of a network; `run` takes their start states to the end."""

    def __init__(
        self,
        network: Network,
        circuit: IntArray,
        state: IntArray,
        histories: list[History] | None = None,
    ) -> None:
        self.network = network
        self.circuit = circuit
        m = len(circuit)
        nodes, branches = len(network.nodes), len(network.wiring.ends)
        self.out = Settled(
            state.copy(),
            np.empty((branches, m)),
            np.empty((branches, m)),
            np.empty((nodes, m)),
            np.empty((nodes, m), dtype=np.int32),
            np.empty((branches, m)),
            histories or [History() for _ in range(m)],
        )
        self.relays = _movers(network, Armature)
        self.protectors = _movers(network, Heats)

    def run(self) -> Settled:
        """Settle all cases."""
        active = np.arange(len(self.circuit))
        passed: list[dict[bytes, int]] = [{} for _ in self.circuit]
        trail: list[list[tuple[IntArray, float]]] = [[] for _ in self.circuit]
        for _ in range(MOST_SLOW_STEPS):
            self._solve(active)
            if self.relays:
                active = self._settle_fast(active)
            if self.protectors and len(active):
                active = self._slow_step(active, passed, trail)
            if not self.protectors or not len(active):
                self._name_open_protectors()
                return self.out
        raise CircuitError(f"{self.network.circuits[0].name}: protectors never come to rest")

    def _solve(self, cases: IntArray) -> None:
        out = self.out
        rows = self.network.rows(self.circuit[cases], out.state[:, cases])
        found = solve_electrical(self.network, rows)
        out.siemens[:, cases], out.emf[:, cases] = found.siemens, found.emf
        out.volts[:, cases], out.island[:, cases] = found.solution.volts, found.solution.island
        out.amps[:, cases] = found.solution.amps

    # --- fast: relays -----------------------------------------------------------------

    def _settle_fast(self, active: IntArray) -> IntArray:
        """Move relays until all rest. Returns the cases that did come to rest."""
        moving = active
        seen: dict[int, set[bytes]] = {int(c): {self._key(c)} for c in active}
        start = self.out.state.copy()
        everything = np.zeros(start.shape, dtype=bool)
        lost: set[int] = set()
        while len(moving):
            wanted = self._wanted(moving)
            changes = wanted != self.out.state[:, moving]
            everything[:, moving] |= changes
            moved = changes.any(axis=0)
            unsure = self._order_matters(moving, changes, wanted)
            moving, wanted = moving[moved], wanted[:, moved]
            self._note_moves(moving, wanted)
            self.out.state[:, moving] = wanted
            again = []
            for case, doubtful in zip(moving.tolist(), unsure[moved], strict=True):
                key = self._key(case)
                if doubtful or key in seen[case]:
                    if not self._by_order(case, start[:, case], everything[:, case]):
                        lost.add(case)
                else:
                    seen[case].add(key)
                    again.append(case)
            moving = np.array(again, dtype=np.intp)
            if len(moving):
                self._solve(moving)
        return np.array([c for c in active if int(c) not in lost], dtype=np.intp)

    def _key(self, case: int) -> bytes:
        return self.out.state[:, case].tobytes()

    def _wanted(self, cases: IntArray) -> IntArray:
        """Where the relays want to be, given the present voltages: states (slots, cases)."""
        state = self.out.state[:, cases].copy()
        for slot, movers in self.relays:
            volts, known = self._coil_volts(slot, movers, cases)
            variant = self.network.variant[slot, self.circuit[cases]]
            pull = _numbers(movers, variant, "pull_in_volts", np.inf)
            drop = _numbers(movers, variant, "drop_out_volts", np.inf)
            pulls = known & (volts >= pull)
            drops = known & (volts <= drop) & ~pulls
            state[slot] = np.where(pulls, 1, np.where(drops, 0, state[slot]))
        return state

    def _coil_volts(
        self, slot: int, movers: dict[int, Armature | Heats], cases: IntArray
    ) -> tuple[FloatArray, NDArray[np.bool_]]:
        volts = np.zeros(len(cases))
        known = np.zeros(len(cases), dtype=bool)
        variant = self.network.variant[slot, self.circuit[cases]]
        for v, mover in movers.items():
            mine = variant == v
            branch = mover.coil if isinstance(mover, Armature) else 0
            column = self.network.slots[slot].columns[v][branch]
            a, b = self.network.wiring.ends[column]
            here = cases[mine]
            # a coil with an open end carries no current: its two ends may lie in two islands
            drop = np.abs(self.out.volts[a, here] - self.out.volts[b, here])
            tied = self.out.island[a, here] == self.out.island[b, here]
            volts[mine] = np.where(tied, drop, 0.0)
            known[mine] = True
        return volts, known

    def _order_matters(
        self, cases: IntArray, changes: NDArray[np.bool_], wanted: IntArray
    ) -> NDArray[np.bool_]:
        """Where two relays move at once: does moving one alone change another's mind?"""
        unsure = np.zeros(len(cases), dtype=bool)
        several = np.flatnonzero(changes.sum(axis=0) > 1)
        if not len(several):
            return unsure
        which, slots = np.nonzero(changes[:, several].T)
        owner = several[which]
        alone = self.out.state[:, cases[owner]].copy()
        alone[slots, np.arange(len(owner))] = wanted[slots, owner]
        probe = Settling(self.network, self.circuit[cases[owner]], alone)
        probe._solve(np.arange(len(owner)))
        then = probe._wanted(np.arange(len(owner)))
        disagree = ((then != wanted[:, owner]) & changes[:, owner]).any(axis=0)
        unsure[owner[disagree]] = True
        return unsure

    def _by_order(self, case: int, start: IntArray, moved: NDArray[np.bool_]) -> bool:
        """Look at the relays of a case one at a time. True if all orders end at one rest.

        Leaves the case in that rest, or marks it chatter or race. `moved` (slots,): what moved
        since `start`; with a single relay there is only one order, and it went round.
        """
        history = self.out.histories[case]
        if moved.sum() == 1:
            states: tuple[IntArray, ...] = (start, np.where(moved, 1 - start, start))
            rests: tuple[IntArray, ...] = ()
        else:
            orders = explore(start, lambda state: self._asked(case, state))
            states, rests = orders.found, orders.rests
            if len(rests) == 1 and not orders.loops:
                self.out.state[:, case] = rests[0]
                self._solve(np.array([case]))
                return True
        history.behaviour = "race" if rests else "chatter"
        history.cycle = tuple((s, 0.0) for s in states[:2])
        names = self._differing(states)
        if rests:
            history.ambiguous.append(f"race between {' and '.join(names)}")
        for name in names:
            change = "depends on the order" if rests else "chatters"
            history.note(name, change, "its coil hangs on a contact that it moves")
        self._solve(np.array([case]))
        return False

    def _asked(self, case: int, state: IntArray) -> IntArray:
        """The state that the relays of a case ask for when they stand as in `state`."""
        probe = Settling(self.network, self.circuit[[case]], state[:, None])
        probe._solve(np.array([0]))
        return probe._wanted(np.array([0]))[:, 0]

    def _differing(self, states: Iterable[IntArray]) -> list[str]:
        table = np.array(list(states))
        slots = np.flatnonzero((table != table[0]).any(axis=0))
        return [self.network.slots[s].id for s in slots]

    def _note_moves(self, cases: IntArray, wanted: IntArray) -> None:
        for i, case in enumerate(cases.tolist()):
            history = self.out.histories[case]
            for slot in np.flatnonzero(wanted[:, i] != self.out.state[:, case]):
                movers = dict(self.relays)[int(slot)]
                volts, _ = self._coil_volts(int(slot), movers, np.array([case]))
                change = "pulls in" if wanted[slot, i] else "drops out"
                why = f"coil at {volts[0]:.1f} V"
                part = self.network.slots[slot].id
                history.note(part, change, why)

    # --- slow: protectors -------------------------------------------------------------

    def _slow_step(
        self,
        active: IntArray,
        passed: list[dict[bytes, int]],
        trail: list[list[tuple[IntArray, float]]],
    ) -> IntArray:
        """Let the earliest protector act in every active case. Returns the cases that go on."""
        due = np.array([self._due(slot, movers, active) for slot, movers in self.protectors])
        first = due.argmin(axis=0)
        goes_on = []
        for i, case in enumerate(active.tolist()):
            wait = float(due[first[i], i])
            self._note_doubts(case, i, due)
            if wait == np.inf:
                continue
            key = self._key(case)
            if key in passed[case]:
                history = self.out.histories[case]
                history.behaviour = "cycling"
                history.cycle = tuple(trail[case][passed[case][key] :])
                continue
            passed[case][key] = len(trail[case])
            trail[case].append((self.out.state[:, case].copy(), wait))
            self._act(case, self.protectors[first[i]][0], wait)
            goes_on.append(case)
        return np.array(goes_on, dtype=np.intp)

    def _due(self, slot: int, movers: dict[int, Armature | Heats], cases: IntArray) -> FloatArray:
        """Seconds until the protector of `slot` next opens or closes; inf for never."""
        ratio, rating_known = self._ratio(slot, movers, cases)
        variant = self.network.variant[slot, self.circuit[cases]]
        opens = opening_seconds(ratio) * _numbers(movers, variant, "slow", 1.0)
        volts, _ = self._coil_volts(slot, movers, cases)
        held = volts >= _numbers(movers, variant, "hold_volts", np.inf)
        closes = np.where(held, np.inf, _numbers(movers, variant, "reset_seconds", np.inf))
        due = np.where(self.out.state[slot, cases] == 0, opens, closes)
        return np.where(rating_known, due, np.inf)

    def _ratio(
        self, slot: int, movers: dict[int, Armature | Heats], cases: IntArray
    ) -> tuple[FloatArray, NDArray[np.bool_]]:
        amps = np.zeros(len(cases))
        known = np.zeros(len(cases), dtype=bool)
        variant = self.network.variant[slot, self.circuit[cases]]
        for v, mover in movers.items():
            assert isinstance(mover, Heats)
            mine = variant == v
            column = self.network.slots[slot].columns[v][0]
            amps[mine] = np.abs(self.out.amps[column, cases[mine]]) / mover.amps
            known[mine] = True
        return amps, known

    def _note_doubts(self, case: int, i: int, due: FloatArray) -> None:
        history = self.out.histories[case]
        intact = [
            (due[p, i], slot)
            for p, (slot, _) in enumerate(self.protectors)
            if self.out.state[slot, case] == 0
        ]
        for slot, movers in self.protectors:
            ratio, _ = self._ratio(slot, movers, np.array([case]))
            if self.out.state[slot, case] == 0 and marginal(ratio)[0]:
                history.ambiguous.append(
                    f"{self.network.slots[slot].id} carries {ratio[0]:.2f} times its rating: "
                    "it may or may not open"
                )
        intact.sort()
        if len(intact) > 1 and intact[1][0] < AMBIGUOUS_FACTOR * intact[0][0] < np.inf:
            names = " and ".join(self.network.slots[s].id for _, s in intact[:2])
            history.ambiguous.append(f"{names} would open at about the same time")

    def _act(self, case: int, slot: int, wait: float) -> None:
        history = self.out.histories[case]
        history.seconds += wait
        part = self.network.slots[slot].id
        opening = self.out.state[slot, case] == 0
        amps, _ = self._ratio(slot, dict(self.protectors)[slot], np.array([case]))
        why = f"{amps[0]:.1f} times its rating" if opening else "cooled down"
        change = "opens" if opening else "closes again"
        self.out.state[slot, case] = 1 if opening else 0
        history.note(part, change, why)

    def _name_open_protectors(self) -> None:
        """A protector that overload opened, now or after an earlier move, is the behaviour."""
        for slot, _ in self.protectors:
            for case in np.flatnonzero(self.out.state[slot] == 1).tolist():
                if self.out.histories[case].behaviour == "steady":
                    self.out.histories[case].behaviour = "protector-open"


Movers = list[tuple[int, dict[int, Armature | Heats]]]


def _movers(network: Network, kind: type[Armature] | type[Heats]) -> Movers:
    """Slots whose parts move by themselves in this way: (slot, {variant: mover})."""
    found = []
    for s, slot in enumerate(network.slots):
        movers = {
            v: model.mover for v, model in enumerate(slot.models) if isinstance(model.mover, kind)
        }
        if movers:
            found.append((s, movers))
    return found


def _numbers(
    movers: dict[int, Armature | Heats], variant: IntArray, name: str, default: float
) -> FloatArray:
    """One number of the movers, by case."""
    table = np.full(int(max(*movers, variant.max(initial=0))) + 2, default)
    for v, mover in movers.items():
        table[v] = getattr(mover, name)
    return np.asarray(table[variant])  # variant −1 (absent) reads the spare last entry
