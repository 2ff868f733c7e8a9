"""States of a circuit's controls, as moves that lead there from rest.

A state is reached by moving each control that is not at rest once, in the circuit's order.
With a button that is pressed and let go again there may be more states than combinations of
positions (a relay that holds itself): `after_release` has those.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import gcd, prod

from quizgen.circuit.netlist import Circuit
from quizgen.solver import Solutions, solve_cases
from quizgen.solver.observation import observe
from quizgen.solver.operating_point import Moves

MOST_STATES = 4096
GOLDEN = 0.618  # a stride of this share of a circle spreads evenly at any count

Feature = tuple[str, ...]


def all_states(circuit: Circuit, most: int = MOST_STATES) -> tuple[Moves, ...]:
    """Every combination of positions, rest first; at most `most`, spread evenly.

    The last control changes fastest.
    """
    choices = [_rest_first(c.positions, c.rest) for c in circuit.controls]
    total = prod(len(positions) for positions in choices)
    numbers: Sequence[int] = range(total) if total <= most else _spread(total, most)
    return tuple(_state(circuit, choices, number) for number in numbers)


def after_release(circuit: Circuit, states: Sequence[Moves]) -> tuple[Moves, ...]:
    """For each state with momentary controls pressed, the same with them let go afterwards."""
    springy = {c.name: c.rest for c in circuit.controls if c.momentary}
    return tuple(
        moves + tuple((name, springy[name]) for name, _ in moves if name in springy)
        for moves in states
        if any(name in springy for name, _ in moves)
    )


def telling_states(circuit: Circuit, most: int) -> tuple[Moves, ...]:
    """At most `most` states that show as much as possible; all of them if they are so few.

    Greedy cover, on the sound circuit, of every pair of positions of two controls and of
    everything that a load or relay does. Raises CircuitError if it cannot be solved.
    """
    states = all_states(circuit)
    if len(states) <= most:
        return states
    left = dict(zip(states, _features(circuit, states), strict=True))
    chosen = [states[0]]
    covered = set(left.pop(states[0]))
    while len(chosen) < most:
        best = max(left, key=lambda moves: len(left[moves] - covered))
        if not left[best] - covered:
            break
        covered |= left.pop(best)
        chosen.append(best)
    return tuple(chosen)


def state_name(moves: Moves) -> str:
    """Moves as they are typed, "at rest" for none.

    >>> state_name((("S1", "on"), ("S2", "3")))
    'S1=on S2=3'
    """
    return " ".join(f"{control}={position}" for control, position in moves) or "at rest"


def _features(circuit: Circuit, states: Sequence[Moves]) -> list[set[Feature]]:
    solutions = solve_cases([circuit], [(0, moves) for moves in states])
    return [
        set(_pairs(circuit, moves)) | set(_shown(circuit, solutions, case))
        for case, moves in enumerate(states)
    ]


def _pairs(circuit: Circuit, moves: Moves) -> Iterator[Feature]:
    stands = circuit.rest_positions() | dict(moves)
    for (a, at_a), (b, at_b) in combinations(stands.items(), 2):
        yield (a, at_a, b, at_b)


def _shown(circuit: Circuit, solutions: Solutions, case: int) -> Iterator[Feature]:
    point = solutions.point(case)
    for seen in observe(point):
        yield (seen.load, seen.level)
    for part in circuit.parts:
        yield (part.id, point.state(part))


def _rest_first(positions: tuple[str, ...], rest: str) -> tuple[str, ...]:
    return (rest, *(p for p in positions if p != rest))


def _spread(total: int, most: int) -> list[int]:
    stride = int(total * GOLDEN)
    while gcd(stride, total) != 1:
        stride += 1
    return sorted(i * stride % total for i in range(most))


def _state(circuit: Circuit, choices: list[tuple[str, ...]], number: int) -> Moves:
    moves = []
    for control, positions in zip(reversed(circuit.controls), reversed(choices), strict=True):
        number, place = divmod(number, len(positions))
        if place:
            moves.append((control.name, positions[place]))
    return tuple(reversed(moves))
