"""Solved cases: circuits, with controls operated one after the other, at rest again.

A *case* is a circuit and a sequence of control moves. Everything starts de-energised with the
controls at rest; the battery is connected and the circuit settles; then each move is made and
settles in turn, because relays and protectors remember. Cases that share a beginning share
its solution.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import CircuitError
from quizgen.circuit.components import LedLamp, Part
from quizgen.circuit.netlist import Circuit
from quizgen.solver.discrete import Movers, Settling
from quizgen.solver.history import Event, Histories, History, Settled
from quizgen.solver.laws import FloatArray
from quizgen.solver.linear import LinearSolution, worst_residual
from quizgen.solver.network import IntArray, Network, build_network
from quizgen.solver.nonlinear import solve_electrical
from quizgen.solver.part_model import Follows, Gate

Moves = tuple[tuple[str, str], ...]
CERTIFICATE_LIMIT = 1e-9
NO_AMPS, NO_VOLTS = 1e-9, 1e-6  # through and from the threshold of an LED that hangs free


@dataclass(frozen=True)
class BranchFlow:
    """One branch at the operating point; amps from the branch's first node to its second."""

    name: str
    amps: float
    volts: float | None  # None when an end floats

    @property
    def watts(self) -> float | None:
        return None if self.volts is None else self.amps * self.volts


def _hangs(flow: BranchFlow, forward_volts: float) -> bool:
    return abs(flow.amps) < NO_AMPS and abs((flow.volts or 0.0) - forward_volts) < NO_VOLTS


@dataclass(frozen=True)
class Phase:
    """One part of a cycle: how long it lasts and the operating point during it."""

    seconds: float
    point: OperatingPoint


class Solutions:
    """The operating points of many cases, as arrays with one column per case."""

    def __init__(
        self, network: Network, circuit: IntArray, moves: Sequence[Moves], settled: Settled
    ) -> None:
        self.network = network
        self.circuit = circuit
        self.moves = moves
        self.settled = settled

    def __len__(self) -> int:
        return len(self.circuit)

    def volts(self, node: str) -> FloatArray:
        """Potential of a node by case (m,), nan where it floats or does not exist."""
        n = self.network.node_index[node]
        floats = self.settled.island[n] != 0
        return np.where(floats, np.nan, self.settled.volts[n])

    @property
    def behaviour(self) -> list[str]:
        """Behaviour by case."""
        found = ["steady"] * len(self)
        for case, history in self.settled.histories.items():
            found[case] = history.behaviour
        return found

    def certificate(self) -> FloatArray:
        """Worst relative Kirchhoff residual of each case (m,)."""
        s = self.settled
        solution = LinearSolution(s.volts, s.island, s.amps)
        return worst_residual(self.network.wiring, s.siemens, s.emf, solution)

    def point(self, case: int) -> OperatingPoint:
        """One case as a record of its own."""
        return OperatingPoint(self, case)

    @cached_property
    def phases(self) -> dict[int, tuple[Phase, ...]]:
        """Case → the states of its cycle in turn; all cycles are solved in one batch."""
        cycles = [
            (case, state, seconds)
            for case, history in self.settled.histories.items()
            for state, seconds in history.cycle
        ]
        if not cycles:
            return {}
        cases = [case for case, _, _ in cycles]
        settled = _frozen(
            self.network, self.circuit[cases], np.array([state for _, state, _ in cycles]).T
        )
        frozen = Solutions(
            self.network, self.circuit[cases], [self.moves[case] for case in cases], settled
        )
        found: dict[int, tuple[Phase, ...]] = {}
        for i, (case, _, seconds) in enumerate(cycles):
            found[case] = (*found.get(case, ()), Phase(seconds, frozen.point(i)))
        return found


@dataclass(frozen=True)
class OperatingPoint:
    """Voltages, currents and states of one case after everything has settled.

    While cycling or chattering the numbers are those of the state in which the cycle begins;
    `phases` has them all.
    """

    solutions: Solutions
    case: int

    @cached_property
    def circuit(self) -> Circuit:
        """The circuit solved, fault included."""
        return self.solutions.network.circuits[int(self.solutions.circuit[self.case])]

    @cached_property
    def positions(self) -> dict[str, str]:
        """Where every control stands."""
        return {**self.circuit.rest_positions(), **dict(self.solutions.moves[self.case])}

    @property
    def _history(self) -> History:
        return self.solutions.settled.histories[self.case]

    @property
    def behaviour(self) -> str:
        """steady, protector-open, cycling, chatter or race."""
        return self._history.behaviour

    @property
    def events(self) -> tuple[Event, ...]:
        """What moved since the battery was connected, in order."""
        return tuple(self._history.events)

    @property
    def ambiguous(self) -> tuple[str, ...]:
        """Reasons why a real circuit might do something else; empty if there is no doubt."""
        return tuple(dict.fromkeys(self._history.ambiguous))

    def volts(self, node: str) -> float | None:
        """Potential of `node` against the reference, None if it floats."""
        n, settled = self.solutions.network.node_index[node], self.solutions.settled
        return None if settled.island[n, self.case] else float(settled.volts[n, self.case])

    def between(self, red: str, black: str) -> float | None:
        """V(red) − V(black) without a meter; None if nothing joins the two points."""
        network, settled = self.solutions.network, self.solutions.settled
        r, b = network.node_index[red], network.node_index[black]
        if settled.island[r, self.case] != settled.island[b, self.case]:
            return None
        return float(settled.volts[r, self.case] - settled.volts[b, self.case])

    @cached_property
    def node_volts(self) -> dict[str, float | None]:
        """Every node of the circuit."""
        return {node: self.volts(node) for node in self.circuit.nodes}

    def flows(self, part: Part) -> tuple[BranchFlow, ...]:
        """Currents and voltages of the branches of a part of this circuit."""
        network, settled = self.solutions.network, self.solutions.settled
        slot, variant = self._slot(part)
        found = []
        for branch, column in zip(
            network.slots[slot].models[variant].branches,
            network.slots[slot].columns[variant],
            strict=True,
        ):
            amps = float(settled.amps[column, self.case])
            found.append(BranchFlow(branch.name, amps, self.between(branch.a, branch.b)))
        return tuple(found)

    def across(self, part: Part) -> tuple[float, ...]:
        """Volts across each branch as a meter put across it finds them; 0 where an end floats.

        An LED whose far end nothing holds passes no current and has no voltage, though a meter
        from that end to the reference shows what the LED leaves.
        """
        free = part.forward_volts if isinstance(part, LedLamp) else None
        return tuple(
            0.0 if free is not None and _hangs(flow, free) else flow.volts or 0.0
            for flow in self.flows(part)
        )

    def state(self, part: Part) -> str:
        """The discrete state of a part: a position, rest or pulled, intact or open; else ""."""
        slot, variant = self._slot(part)
        model = self.solutions.network.slots[slot].models[variant]
        if len(model.states) == 1:
            return model.states[0]
        return model.states[int(self.solutions.settled.state[slot, self.case])]

    def law_numbers(self, part: Part) -> FloatArray:
        """Numbers of the non-linear law of the part's only branch, shape (4,)."""
        slot, variant = self._slot(part)
        found = self.solutions.network.slots[slot]
        column = int(found.columns[variant][0]) - int(found.branches[0])
        return np.asarray(found.numbers[int(found.first_row[variant]), column])

    def _slot(self, part: Part) -> tuple[int, int]:
        slot = self.solutions.network.slot_index[part.id]
        circuit = int(self.solutions.circuit[self.case])
        return slot, int(self.solutions.network.variant[slot, circuit])

    @property
    def phases(self) -> tuple[Phase, ...]:
        """The states of the cycle in turn; empty unless cycling or chattering."""
        return self.solutions.phases.get(self.case, ())


def _frozen(network: Network, circuit: IntArray, state: IntArray) -> Settled:
    """Solve with discrete states as they are."""
    found = solve_electrical(network, network.rows(circuit, state))
    s = found.solution
    return Settled(
        state,
        found.siemens,
        found.emf,
        s.volts,
        s.island,
        s.amps,
        Histories(),
    )


def solve(circuit: Circuit, steps: Sequence[Mapping[str, str]] = ()) -> OperatingPoint:
    """Settle one circuit; `steps` are control moves, made one after the other in order.

    A mapping of several controls makes its moves in the order of the mapping. Raises
    InputError for an unknown control or position, CircuitError when the circuit contradicts
    itself or the solution fails its own certificate.
    """
    moves = tuple((name, position) for step in steps for name, position in step.items())
    solutions = solve_cases([circuit], [(0, moves)])
    worst = float(solutions.certificate()[0])
    if worst > CERTIFICATE_LIMIT:
        raise CircuitError(f"{circuit.name}: Kirchhoff residual {worst:.1e}, please report this")
    return solutions.point(0)


def solve_cases(circuits: Sequence[Circuit], cases: Sequence[tuple[int, Moves]]) -> Solutions:
    """Settle many cases at once: each is (index into `circuits`, control moves in order).

    Raises as `solve`; no certificate is checked here, see `Solutions.certificate`.
    """
    for c, (name, position) in {(c, move) for c, moves in cases for move in moves}:
        circuits[c].check_positions({name: position})
    network = build_network(circuits)
    if not _remembers(network):  # order is of no account: set all controls at once
        level = _Level(tuple(range(len(cases))), [c for c, _ in cases], [m for _, m in cases])
        settled = _settle_level(Movers(network), level, None)
        return Solutions(network, np.array(level.circuit, dtype=np.intp), level.moves, settled)
    return _solve_tree(network, cases)


def _remembers(network: Network) -> bool:
    """Does any part move by itself, so that the order of operations may matter?"""
    movers = [m.mover for slot in network.slots for m in slot.models]
    return any(mover is not None and not isinstance(mover, Follows) for mover in movers)


@dataclass
class _Level:
    """Distinct beginnings of one length: parent in the level before, circuit, moves so far."""

    parent: tuple[int, ...]
    circuit: list[int]
    moves: list[Moves]


def _solve_tree(network: Network, cases: Sequence[tuple[int, Moves]]) -> Solutions:
    """Settle level by level; a level holds all distinct beginnings with that many moves."""
    movers = Movers(network)
    longest = max((len(m) for _, m in cases), default=0)
    place: dict[tuple[int, Moves], int] = {}
    settled: Settled | None = None
    columns: dict[tuple[int, Moves], tuple[int, int]] = {}
    levels: list[Settled] = []
    for length in range(longest + 1):
        keys = dict.fromkeys((c, m[:length]) for c, m in cases if len(m) >= length)
        level = _Level(
            tuple(place[(c, m[:-1])] if length else 0 for c, m in keys),
            [c for c, _ in keys],
            [m for _, m in keys],
        )
        settled = _settle_level(movers, level, settled)
        place = {key: i for i, key in enumerate(keys)}
        columns.update({key: (length, i) for key, i in place.items()})
        levels.append(settled)
    where = [columns[case] for case in cases]
    moves = [m for _, m in cases]
    circuit = np.array([c for c, _ in cases], dtype=np.intp)
    return Solutions(network, circuit, moves, _gather(levels, where))


def _settle_level(movers: Movers, level: _Level, before: Settled | None) -> Settled:
    network = movers.network
    circuit = np.array(level.circuit, dtype=np.intp)
    if before is None:
        state = np.zeros((len(network.slots), len(circuit)), dtype=np.intp)
        histories, guess = Histories(), None
    else:
        guess = before.siemens[:, list(level.parent)]
        state = before.state[:, list(level.parent)]
        after = ["=".join(moves[-1]) for moves in level.moves]
        histories = Histories(after)
        for case, parent in enumerate(level.parent):
            past = before.histories.get(parent)
            if past is not None:
                histories[case] = past.go_on(after[case])
    allowed = np.ones(state.shape, dtype=bool)
    kinds = {moves: i for i, moves in enumerate(dict.fromkeys(level.moves))}
    kind = np.array([kinds[moves] for moves in level.moves], dtype=np.intp)
    for s, slot in enumerate(network.slots):
        for v, model in enumerate(slot.models):
            mover = model.mover
            if not isinstance(mover, Follows) and (mover is None or mover.gate is None):
                continue
            mine = np.flatnonzero(network.variant[s, circuit] == v)
            if not len(mine):
                continue
            gate = Gate(mover.control, "") if isinstance(mover, Follows) else mover.gate
            assert gate is not None  # passed over above
            control = gate.control
            rest = network.circuits[circuit[mine[0]]].by_control[control].rest
            positions = [dict(moves).get(control, rest) for moves in kinds]
            if isinstance(mover, Follows):
                states = np.array([model.states.index(p) for p in positions], dtype=np.intp)
                state[s, mine] = states[kind[mine]]
            else:
                opens = np.array([p == gate.position for p in positions])
                allowed[s, mine] = opens[kind[mine]]
    return Settling(movers, circuit, state, allowed, histories, guess).run()


def _gather(levels: list[Settled], where: list[tuple[int, int]]) -> Settled:
    """Columns picked from several levels, put side by side."""
    histories = Histories()
    for case, (n, i) in enumerate(where):
        past = levels[n].histories.get(i)
        if past is not None:
            histories[case] = past

    level = np.array([n for n, _ in where], dtype=np.intp)
    column = np.array([i for _, i in where], dtype=np.intp)
    places = [np.flatnonzero(level == n) for n in range(len(levels))]

    def pick(name: str) -> NDArray[Any]:
        first = getattr(levels[0], name)
        out = np.empty((len(first), len(where)), dtype=first.dtype)
        for settled, place in zip(levels, places, strict=True):
            out[:, place] = getattr(settled, name)[:, column[place]]
        return out

    return Settled(
        pick("state"),
        pick("siemens"),
        pick("emf"),
        pick("volts"),
        pick("island"),
        pick("amps"),
        histories,
    )
