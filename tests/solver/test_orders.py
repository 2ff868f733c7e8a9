"""Orders of single relay moves, on graphs small enough to follow with a pencil."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from quizgen.solver.network import IntArray
from quizgen.solver.orders import Orders, explore


def state(*positions: int) -> IntArray:
    """Positions of the relays, 0 at rest and 1 pulled."""
    return np.array(positions, dtype=np.intp)


def orders_from(start: IntArray, rule: Callable[[IntArray], IntArray]) -> Orders:
    """One search: `rule` maps a state to the state that its relays ask for."""
    (found,) = explore([start], lambda _, states: np.stack([rule(s) for s in states.T], axis=1))
    return found


def test_what_moves_once_is_no_part_of_the_loop() -> None:
    """Relay 1 pulls in and stays; relay 2 buzzes for ever after: only relay 2 chatters."""
    found = orders_from(state(0, 0), lambda s: state(1, 1 - s[1]))
    assert found.rests == ()
    assert {tuple(s.tolist()) for s in found.loop} == {(1, 0), (1, 1)}


def test_two_rests_are_both_found() -> None:
    """Each relay opens the other's coil: whichever is quicker stays in (a race)."""
    found = orders_from(state(0, 0), lambda s: state(1 - s[1], 1 - s[0]))
    assert {tuple(s.tolist()) for s in found.rests} == {(0, 1), (1, 0)}
    assert found.loop == ()


def test_one_rest_by_every_order() -> None:
    """Two independent relays pull in: four states, one rest, no loop."""
    found = orders_from(state(0, 0), lambda s: state(1, 1))
    assert len(found.found) == 4
    assert [s.tolist() for s in found.rests] == [[1, 1]]
    assert found.loop == ()


def test_searches_of_different_length_side_by_side() -> None:
    """A circuit at rest is done at once; its neighbours go on, each by its own rule."""
    rules = [lambda s: s, lambda s: state(1 - s[1], 1 - s[0]), lambda s: state(1, 1)]
    calls = []

    def wanted(places: IntArray, states: IntArray) -> IntArray:
        calls.append(places.tolist())
        return np.stack([rules[i](s) for i, s in zip(places, states.T, strict=True)], axis=1)

    found = explore([state(0, 0)] * 3, wanted)
    assert [len(f.rests) for f in found] == [1, 2, 1]
    assert [len(f.found) for f in found] == [1, 3, 4]
    assert calls == [[0, 1, 2], [1, 2], [1, 2], [2]]
