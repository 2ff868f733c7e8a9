"""All orders in which relays could move one at a time, as a graph of states.

Real relays never move at the very same moment. Whether a circuit comes to rest, and where,
may hang on which is the quicker: then no question can rest on it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from quizgen.solver.network import IntArray

MOST_STATES = 256


@dataclass(frozen=True)
class Orders:
    """`found`: states reached, the start first; `rests`: those in which nothing wants to move.

    `loops`: some order of moves goes round for ever.
    """

    found: tuple[IntArray, ...]
    rests: tuple[IntArray, ...]
    loops: bool


def explore(start: IntArray, wanted: Callable[[IntArray], IntArray]) -> Orders:
    """Follow every order of single moves from `start`.

    `wanted` maps a state (slots,) to the state its relays ask for.
    """
    found = {start.tobytes(): start}
    todo = [start]
    rests: list[IntArray] = []
    links: dict[bytes, set[bytes]] = {}
    while todo and len(found) < MOST_STATES:
        state = todo.pop()
        asked = wanted(state)
        moves = np.flatnonzero(asked != state)
        ahead = links.setdefault(state.tobytes(), set())
        if not len(moves):
            rests.append(state)
        for slot in moves:
            after = state.copy()
            after[slot] = asked[slot]
            ahead.add(after.tobytes())
            if after.tobytes() not in found:
                found[after.tobytes()] = after
                todo.append(after)
    return Orders(tuple(found.values()), tuple(rests), _loops(start.tobytes(), links))


def _loops(first: bytes, links: dict[bytes, set[bytes]]) -> bool:
    """True if some path from `first` comes back to a state on it."""
    done: set[bytes] = set()
    path: set[bytes] = set()

    def visit(state: bytes) -> bool:
        if state in path:
            return True
        if state in done:
            return False
        path.add(state)
        looping = any(visit(s) for s in links.get(state, ()))
        path.discard(state)
        done.add(state)
        return looping

    return visit(first)
