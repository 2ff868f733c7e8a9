"""Channels: at which height each sideways run lies.

Two runs whose spans overlap need different heights. Which one lies higher decides whether
they cross, and is forced where one comes down the very column in which the other goes up.
Runs are ordered to have few crossings among the orders that keep what is forced, then packed
into as few tracks as possible. If the forced pairs form a ring (two conductors that change
places), one of the runs is split and changes height on a free column.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import permutations

from quizgen.diagram.order import Piece, Rim

NEAR = 2.0  # conductors closer than this look like one, mm


@dataclass(frozen=True)
class Run:
    """A piece that runs sideways: x at each end, and whether that end is above or below."""

    key: int
    x0: float
    x1: float
    up0: bool
    up1: bool

    @property
    def span(self) -> tuple[float, float]:
        """Leftmost and rightmost x."""
        return min(self.x0, self.x1), max(self.x0, self.x1)

    def stubs(self, up: bool) -> list[float]:
        """x of the ends that lead up (or down)."""
        return [x for x, u in ((self.x0, self.up0), (self.x1, self.up1)) if u == up]


def sideways(
    pieces: Sequence[Piece], x: Callable[[Rim, int], float]
) -> tuple[list[Run], list[float]]:
    """The runs among the pieces of a channel, and every x at which a piece ends.

    `x` is where a link meets a rim spot.
    """
    runs, taken = [], []
    for piece in pieces:
        x0, x1 = (x(e, piece.link) for e in piece.ends)
        taken += [x0, x1]
        if abs(x0 - x1) > 1e-6 or piece.upper[0] == piece.upper[1]:
            runs.append(Run(piece.link, x0, x1, *piece.upper))
    return runs, taken


def overlap(a: Run, b: Run) -> bool:
    """Whether two runs would touch at one height."""
    return a.span[0] < b.span[1] + NEAR and b.span[0] < a.span[1] + NEAR


def barred(a: Run, b: Run) -> bool:
    """Whether a must not lie above b."""
    return any(abs(x - y) < NEAR for x in a.stubs(False) for y in b.stubs(True))


def crossings(a: Run, b: Run) -> int:
    """Crossings of two runs when a lies above b."""
    inside = [x for x in a.stubs(False) if b.span[0] < x < b.span[1]]
    return len(inside) + sum(a.span[0] < x < a.span[1] for x in b.stubs(True))


def assign_tracks(
    runs: Sequence[Run], free: Callable[[float], float]
) -> tuple[dict[int, list[tuple[float, float, int]]], int]:
    """Tracks for the runs of one channel.

    `free(x)` gives a column near x on which nothing stands at either edge of the channel.
    Returns, per key, the stretches (x from, x to, track) in the order from x0 to x1, and
    the number of tracks; track 0 is the highest.
    """
    pieces = list(runs)
    parts: dict[int, list[int]] = {i: [i] for i in range(len(runs))}
    while (order := _order(pieces)) is None:
        _split(pieces, parts, free)
    height = _pack(pieces, order)
    found = {
        runs[i].key: [(pieces[p].x0, pieces[p].x1, height[p]) for p in chain]
        for i, chain in parts.items()
    }
    return found, max(height.values(), default=-1) + 1


def _split(pieces: list[Run], parts: dict[int, list[int]], free: Callable[[float], float]) -> None:
    """Split the first run of a ring of forced pairs in two."""
    victim = _ring(pieces)
    run = pieces[victim]
    taken = [x for p in pieces for x in (p.x0, p.x1)]
    x = free((run.x0 + run.x1) / 2)
    while any(abs(x - t) < NEAR for t in taken):
        x = free(x + NEAR)
    # the first half comes from x0 and turns away from it on the free column
    pieces[victim] = Run(run.key, run.x0, x, run.up0, not run.up0)
    pieces.append(Run(run.key, x, run.x1, run.up0, run.up1))
    chain = next(c for c in parts.values() if victim in c)
    chain.insert(chain.index(victim) + 1, len(pieces) - 1)


def _above(pieces: Sequence[Run]) -> dict[int, set[int]]:
    """Run → the runs that must lie above it."""
    must: dict[int, set[int]] = {i: set() for i in range(len(pieces))}
    for i, a in enumerate(pieces):
        for j, b in enumerate(pieces):
            if a.key == b.key and a.x1 == b.x0 and i != j:  # halves of one split run
                upper, lower = (j, i) if a.up1 else (i, j)
                must[lower].add(upper)
            elif i != j and not (a.key == b.key and b.x1 == a.x0) and barred(a, b):
                must[i].add(j)
    return must


def _ring(pieces: Sequence[Run]) -> int:
    must = _above(pieces)
    left = set(must)
    while True:
        loose = [i for i in left if not must[i] & left]
        if not loose:
            inner = [i for i in sorted(left) if any(i in must[j] for j in left)]
            return max(inner, key=lambda i: pieces[i].span[1] - pieces[i].span[0])
        left -= set(loose)


def _order(pieces: Sequence[Run]) -> list[int] | None:
    """Runs from the highest to the lowest, or None when the forced pairs form a ring."""
    must = _above(pieces)
    order: list[int] = []
    while len(order) < len(pieces):
        open_ = [i for i in must if i not in order and must[i] <= set(order)]
        if not open_:
            return None
        rest = [i for i in must if i not in order]
        order.append(min(open_, key=lambda i: (_cost_first(pieces, i, rest), i)))
    return _polish(pieces, order, must)


def _cost_first(pieces: Sequence[Run], i: int, rest: list[int]) -> int:
    """Crossings caused, less crossings saved, by putting run i above all of `rest`."""
    return sum(
        crossings(pieces[i], pieces[j]) - crossings(pieces[j], pieces[i])
        for j in rest
        if j != i and overlap(pieces[i], pieces[j])
    )


def _polish(pieces: Sequence[Run], order: list[int], must: dict[int, set[int]]) -> list[int]:
    """The best order outright while few runs make that cheap."""
    if len(order) > 6:
        return order

    def cost(candidate: tuple[int, ...]) -> int:
        return sum(
            crossings(pieces[a], pieces[b])
            for n, a in enumerate(candidate)
            for b in candidate[n + 1 :]
            if overlap(pieces[a], pieces[b])
        )

    allowed: list[tuple[int, ...]] = [
        p for p in permutations(order) if all(must[x] <= set(p[:n]) for n, x in enumerate(p))
    ]
    best = min(allowed, key=cost)
    return list(best)


def _pack(pieces: Sequence[Run], order: list[int]) -> dict[int, int]:
    """The least track of each run that keeps the order among overlapping runs."""
    track: dict[int, int] = {}
    for i in order:
        above = [track[j] for j in track if overlap(pieces[i], pieces[j])]
        track[i] = max(above, default=-1) + 1
    return track
