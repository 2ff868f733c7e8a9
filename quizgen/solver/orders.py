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

    `loop`: the states that some order of moves goes round for ever, in turn; empty if none does.
    """

    found: tuple[IntArray, ...]
    rests: tuple[IntArray, ...]
    loop: tuple[IntArray, ...]


def explore(start: IntArray, wanted: Callable[[IntArray], IntArray]) -> Orders:
    """Follow every order of single moves from `start`.

    `wanted` maps a state (slots,) to the state its relays ask for.
    """
    found = {start.tobytes(): start}
    todo = [start]
    rests: list[IntArray] = []
    links: dict[bytes, dict[bytes, None]] = {}  # in order of the slots, so that runs repeat
    while todo and len(found) < MOST_STATES:
        state = todo.pop()
        asked = wanted(state)
        moves = np.flatnonzero(asked != state)
        ahead = links.setdefault(state.tobytes(), {})
        if not len(moves):
            rests.append(state)
        for slot in moves:
            after = state.copy()
            after[slot] = asked[slot]
            ahead[after.tobytes()] = None
            if after.tobytes() not in found:
                found[after.tobytes()] = after
                todo.append(after)
    loop = tuple(found[key] for key in _loop(start.tobytes(), links))
    return Orders(tuple(found.values()), tuple(rests), loop)


def _loop(first: bytes, links: dict[bytes, dict[bytes, None]]) -> list[bytes]:
    """The first path found from `first` that comes back to a state on it, from that state on."""
    done: set[bytes] = set()
    path: list[bytes] = []

    def visit(state: bytes) -> list[bytes]:
        if state in path:
            return path[path.index(state) :]
        if state in done:
            return []
        path.append(state)
        for ahead in links.get(state, ()):
            if back := visit(ahead):
                return back
        path.pop()
        done.add(state)
        return []

    return visit(first)
