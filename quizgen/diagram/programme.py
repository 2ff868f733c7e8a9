"""The linear programme of places: distances to keep, and pairs to bring together.

Places x minimise Σ w·|x_a - x_b - offset| under x_b - x_a ≥ d. That is the dual of a cheapest
circulation (Gansner, Koutsofios, North and Vo, "A technique for drawing directed graphs",
1993, use the same duality): the places are the node potentials, and come out as whole steps.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from math import ceil

from quizgen.diagram.circulation import Circulation

VOID = 1 << 18  # a distance of minus so many steps is always kept

Place = tuple[Hashable, int]  # variable and offset in steps


@dataclass
class Programme:
    """The linear programme: distances to keep, and pairs to bring together."""

    apart: dict[tuple[Hashable, Hashable], int] = field(default_factory=dict)
    near: list[tuple[Hashable, Hashable, int, int]] = field(default_factory=list)
    bound: set[tuple[Hashable, Hashable]] = field(default_factory=set)
    step: float = 1.0  # places are multiples of this

    def keep(self, a: Place, b: Place, distance: float) -> None:
        """b stands at least `distance` right of a."""
        if a[0] == b[0]:
            return
        steps = ceil(distance / self.step - 1e-9) + a[1] - b[1]
        pair = (a[0], b[0])
        self.apart[pair] = max(steps, self.apart.get(pair, steps))

    def pull(self, a: Place, b: Place, weight: int) -> None:
        """a and b had best stand above each other."""
        if a[0] != b[0]:
            self.near.append((a[0], b[0], b[1] - a[1], weight))

    def least(self) -> dict[Hashable, int] | None:
        """The leftmost places that keep all distances, or None when there are none."""
        at = {v: 0 for pair in self.apart for v in pair}
        for _ in range(len(at) + 1):
            changed = False
            for (a, b), steps in self.apart.items():
                if at[a] + steps > at[b]:
                    at[b], changed = at[a] + steps, True
            if not changed:
                return at
        return None

    def bind(self, pairs: Iterable[tuple[Hashable, Hashable, int]]) -> bool:
        """Put a at b + offset for good, pair by pair, where that can be; whether any could."""
        at = self.least()
        assert at is not None  # only programmes with a solution are made better
        after: dict[Hashable, dict[Hashable, int]] = {v: {} for v in at}
        for (a, b), steps in self.apart.items():
            after[a][b] = steps
        found = False
        for a, b, offset in pairs:
            for tail, head, steps in ((b, a, offset), (a, b, -offset)):
                raised = _raised(at, after, tail, head, steps)
                if raised is None:
                    break
                at = raised
                after[tail][head] = max(steps, after[tail].get(head, steps))
            else:
                found = True
                self.apart[b, a], self.apart[a, b] = after[b][a], after[a][b]
                continue
            _forget(after, self.apart, a, b)
        return found


def _raised(
    at: dict[Hashable, int],
    after: Mapping[Hashable, Mapping[Hashable, int]],
    tail: Hashable,
    head: Hashable,
    steps: int,
) -> dict[Hashable, int] | None:
    """Places that keep one more distance besides those in `after`, or None when none can."""
    if at[tail] + steps <= at[head]:
        return at
    at = {**at, head: at[tail] + steps}
    queue = [head]
    while queue:
        a = queue.pop()
        for b, distance in after[a].items():
            if at[a] + distance > at[b]:
                if b == tail:
                    return None  # a ring: raising the tail would raise the head again
                at[b] = at[a] + distance
                queue.append(b)
    return at


def _forget(
    after: dict[Hashable, dict[Hashable, int]],
    apart: Mapping[tuple[Hashable, Hashable], int],
    a: Hashable,
    b: Hashable,
) -> None:
    """Take the distances between a and b back to what is kept for good."""
    for pair in ((a, b), (b, a)):
        after[pair[0]].pop(pair[1], None)
        if pair in apart:
            after[pair[0]][pair[1]] = apart[pair]


class Balance:
    """Solves programmes that pull the same pairs, each beginning at the solution before."""

    def __init__(self) -> None:
        self.net = Circulation()
        self.nodes: dict[Hashable, int] = {}
        self.kept: dict[tuple[Hashable, Hashable], int] = {}  # pair → arc
        self.pulled: list[tuple[int, int]] = []  # the two arcs of each pull

    def _node(self, name: Hashable) -> int:
        if name not in self.nodes:
            self.nodes[name] = self.net.node()
        return self.nodes[name]

    def solve(self, programme: Programme) -> tuple[int, dict[Hashable, int]]:
        """The cost of the best places, and the places in steps."""
        net = self.net
        for pair in programme.apart:
            if pair not in self.kept:
                self.kept[pair] = net.arc(self._node(pair[0]), self._node(pair[1]), 0)
        for pair, arc in self.kept.items():
            net.cost[arc] = -programme.apart.get(pair, -VOID)
        for a, b, _, weight in programme.near[len(self.pulled) :]:
            u, v = self._node(a), self._node(b)
            self.pulled.append((net.arc(u, v, 0, weight), net.arc(v, u, 0, weight)))
        for (there, back), (_, _, offset, _) in zip(self.pulled, programme.near, strict=True):
            net.cost[there], net.cost[back] = offset, -offset
        level = net.solve()
        at = {name: -level[node] for name, node in self.nodes.items()}
        return sum(w * abs(at[a] - at[b] - offset) for a, b, offset, w in programme.near), at
