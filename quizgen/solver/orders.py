"""All orders in which relays could move one at a time, as a graph of states.

Real relays never move at the very same moment. Whether a circuit comes to rest, and where,
may hang on which is the quicker: then no question can rest on it.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
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


def explore(
    starts: Sequence[IntArray], wanted: Callable[[IntArray, IntArray], IntArray]
) -> list[Orders]:
    """Follow every order of single moves from each of the `starts`, all of them side by side.

    `wanted` maps (places in `starts` (k,), a state of each (slots, k)) to the states (slots, k)
    that their relays ask for: one call serves a step of every search that is still going.
    """
    searches = [_search(start) for start in starts]
    found: dict[int, Orders] = {}
    ask = {i: next(search) for i, search in enumerate(searches)}
    while ask:
        answers = wanted(np.array(list(ask)), np.stack(list(ask.values()), axis=1))
        for column, i in enumerate(list(ask)):
            try:
                ask[i] = searches[i].send(answers[:, column])
            except StopIteration as end:
                found[i] = end.value
                del ask[i]
    return [found[i] for i in range(len(searches))]


def _search(start: IntArray) -> Generator[IntArray, IntArray, Orders]:
    """Yields the states it wants to know about, is sent what their relays ask for."""
    found = {start.tobytes(): start}
    todo = [start]
    rests: list[IntArray] = []
    links: dict[bytes, dict[bytes, None]] = {}  # in order of the slots, so that runs repeat
    while todo and len(found) < MOST_STATES:
        state = todo.pop()
        asked = yield state
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
