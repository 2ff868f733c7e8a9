"""Orders of single relay moves, on graphs small enough to follow with a pencil."""

from __future__ import annotations

import numpy as np

from quizgen.solver.network import IntArray
from quizgen.solver.orders import explore


def state(*positions: int) -> IntArray:
    """Positions of the relays, 0 at rest and 1 pulled."""
    return np.array(positions, dtype=np.intp)


def test_what_moves_once_is_no_part_of_the_loop() -> None:
    """Relay 1 pulls in and stays; relay 2 buzzes for ever after: only relay 2 chatters."""
    found = explore(state(0, 0), lambda s: state(1, 1 - s[1]))
    assert found.rests == ()
    assert {tuple(s.tolist()) for s in found.loop} == {(1, 0), (1, 1)}


def test_two_rests_are_both_found() -> None:
    """Each relay opens the other's coil: whichever is quicker stays in (a race)."""
    found = explore(state(0, 0), lambda s: state(1 - s[1], 1 - s[0]))
    assert {tuple(s.tolist()) for s in found.rests} == {(0, 1), (1, 0)}
    assert found.loop == ()


def test_one_rest_by_every_order() -> None:
    """Two independent relays pull in: four states, one rest, no loop."""
    found = explore(state(0, 0), lambda s: state(1, 1))
    assert len(found.found) == 4
    assert [s.tolist() for s in found.rests] == [[1, 1]]
    assert found.loop == ()
