"""What items are made of: one circuit on one machine in one state, everything solved once.

Several items of several kinds may be made of the same material; they share its fault
dictionary.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from quizgen.base.errors import UnprovableError
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import Template
from quizgen.diagnosis.dictionary import FaultDictionary, build_dictionary
from quizgen.items.item import Item, Moves, Origin, Response
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import Observation, observe, visible

IDLE = {"dark", "stopped", "silent", "cold", "released", "at the lower stop"}

MOST_STATES = 64  # combinations of positions looked at for one circuit
RESTLESS_SHARE = 0.03  # of the weight of a state in which something flashes or chatters
MOVE_SHARE = 1 / 3  # few things switched on at a time is how a complaint is tried out

# part id, name, level seen, level it should have, state → the driver's words, "" for none
Complain = Callable[[str, str, str, str, Moves], str]


def nobody_complains(part: str, name: str, does: str, instead_of: str, moves: Moves) -> str:
    """For material without a scenario."""
    return ""


@dataclass(frozen=True, kw_only=True)
class Request:
    """What sort of item is wanted. `used` are the items of the same form so far.

    `options` is how many; a kind may take one fewer where good wrong answers are scarce.
    `response` may be left to the kind.
    """

    options: int = 4
    response: Response | None = None
    used: Sequence[Item] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class Material:
    """A sound circuit, the controls moved as `moves` says, and the machine it is part of."""

    template: str
    parameters: Mapping[str, object]
    circuit: Circuit
    moves: Moves
    states: tuple[Moves, ...] = ()  # others in which some visible load is at work
    machine: str = ""
    complain: Complain = field(default=nobody_complains)

    def origin(self, fault: str = "") -> Origin:
        """The record from which the circuit is made again."""
        return Origin(
            template=self.template,
            parameters=tuple(self.parameters.items()),  # type: ignore[arg-type]
            positions=self.moves,
            fault=fault,
        )

    @cached_property
    def sound(self) -> OperatingPoint:
        """The circuit with nothing wrong in this state."""
        return solve_cases([self.circuit], [(0, self.moves)]).point(0)

    @cached_property
    def seen(self) -> tuple[Observation, ...]:
        """What the driver sees of a sound machine in this state."""
        return visible(self.circuit, observe(self.sound))

    @cached_property
    def dictionary(self) -> FaultDictionary:
        """Every possible fault in this state, readings at every point."""
        points = [n for n in self.circuit.nodes if n != self.circuit.reference]
        return build_dictionary(self.circuit, self.moves, points)


def draw_material(
    template: Template,
    rng: random.Random,
    settings: Mapping[str, object] | None = None,
    machine: str = "",
    complain: Complain = nobody_complains,
) -> Material:
    """A random circuit of a template in a random state in which something works.

    `settings` fixes parameters (a machine's own). Raises UnprovableError if nothing in the
    circuit can be switched on.
    """
    parameters = template.draw(rng, settings or {})
    circuit = template.build(parameters)
    states = working_states(circuit, rng)
    moves = rng.choices(list(states), list(states.values()))[0]
    return Material(
        template=template.name, parameters=parameters, circuit=circuit, moves=moves,
        states=tuple(states), machine=machine, complain=complain,
    )  # fmt: skip


def working_states(circuit: Circuit, rng: random.Random) -> dict[Moves, float]:
    """Control moves after which a load that a driver can see is at work, and their weights.

    Raises UnprovableError if there are none, as in a circuit that nothing switches on.
    """
    choices = [[(c.name, p) for p in c.positions] for c in circuit.controls]
    rest = circuit.rest_positions()
    combos = list(itertools.product(*choices))
    if len(combos) > MOST_STATES:
        combos = rng.sample(combos, MOST_STATES)
    states = [tuple((n, p) for n, p in combo if p != rest[n]) for combo in combos]
    solutions = solve_cases([circuit], [(0, moves) for moves in states])
    found = {}
    for i, moves in enumerate(states):
        point = solutions.point(i)
        if any(o.level not in IDLE for o in visible(circuit, observe(point))):
            restless = RESTLESS_SHARE if point.phases else 1.0
            found[moves] = restless * MOVE_SHARE ** len(moves)
    if not found:
        raise UnprovableError(f"{circuit.name}: no position of the controls sets a load to work")
    return found
