"""Cheapest circulation by the network simplex method, which can go on from where it stopped.

Drawings are solved many times over with a few more arcs or other costs, and the tree of the
solution before is then nearly right. Nothing but whole numbers; the flow 0 is always possible.
The tree is kept strongly feasible, so the method ends (Ahuja, Magnanti and Orlin, "Network
Flows", 1993, chapter 11).
"""

from __future__ import annotations

from dataclasses import dataclass, field

ROOT = 0
FAR = 1 << 20  # cost of an arc to the root: dearer than any way through the network
ENDLESS = 1 << 40  # capacity of an arc without limit


@dataclass
class Circulation:
    """Nodes are numbered from 1; node 0 holds the tree together and carries no flow."""

    tail: list[int] = field(default_factory=list)
    head: list[int] = field(default_factory=list)
    cost: list[int] = field(default_factory=list)
    room: list[int] = field(default_factory=list)
    flow: list[int] = field(default_factory=list)
    state: list[int] = field(default_factory=list)  # 1 empty, -1 full, 0 in the tree
    level: list[int] = field(default_factory=lambda: [0])  # potential of each node
    parent: list[int] = field(default_factory=lambda: [ROOT])
    above: list[int] = field(default_factory=lambda: [-1])  # the arc to the parent
    depth: list[int] = field(default_factory=lambda: [0])
    children: list[set[int]] = field(default_factory=lambda: [set()])

    def node(self) -> int:
        """A new node."""
        node = len(self.level)
        self.level.append(0)
        self.parent.append(ROOT)
        self.above.append(self.arc(node, ROOT, FAR, ENDLESS))
        self.state[-1] = 0
        self.depth.append(1)
        self.children.append(set())
        self.children[ROOT].add(node)
        return node

    def arc(self, tail: int, head: int, cost: int, room: int = ENDLESS) -> int:
        """A new arc from `tail` to `head` that carries at most `room`."""
        for column, value in zip(
            (self.tail, self.head, self.cost, self.room, self.flow, self.state),
            (tail, head, cost, room, 0, 1),
            strict=True,
        ):
            column.append(value)
        return len(self.tail) - 1

    def solve(self) -> list[int]:
        """Potential of every node: `cost + level[tail] - level[head]` is 0 or more on every
        arc that is not full, and 0 or less on every arc that carries something.
        """
        self._level(ROOT)
        at, block = 0, max(16, int(len(self.tail) ** 0.5))
        waited = 0
        while waited < len(self.tail):
            at, entering, seen = self._price(at, block)
            waited = 0 if entering >= 0 else waited + seen
            if entering >= 0:
                self._pivot(entering)
        return self.level

    def _price(self, at: int, block: int) -> tuple[int, int, int]:
        """The worst arc of the next block, or -1: (where to go on, the arc, arcs looked at)."""
        stop = min(at + block, len(self.tail))
        worst, found = 0, -1
        level, state, cost = self.level, self.state, self.cost
        tail, head = self.tail, self.head
        for arc in range(at, stop):
            if state[arc]:
                saving = state[arc] * (cost[arc] + level[tail[arc]] - level[head[arc]])
                if saving < worst:
                    worst, found = saving, arc
        return (0 if stop == len(tail) else stop), found, stop - at

    def _pivot(self, entering: int) -> None:
        """Send what goes round with `entering`, which takes the place of an arc that is stuck."""
        p, q = self.tail[entering], self.head[entering]
        if self.state[entering] < 0:
            p, q = q, p
        least, leaving = ENDLESS, -1  # leaving: the node below the arc; -1 is `entering` itself
        down, up = self._ways(p, q)
        for v in down:  # towards the root; the current comes the other way
            arc = self.above[v]
            left = self.flow[arc] if self.tail[arc] == v else self.room[arc] - self.flow[arc]
            if left < least:
                least, leaving = left, v
        if self.room[entering] <= least:  # a way out of the tree is empty or full
            least, leaving = self.room[entering], -1
        for v in up:
            arc = self.above[v]
            left = self.room[arc] - self.flow[arc] if self.tail[arc] == v else self.flow[arc]
            if left <= least:
                least, leaving = left, v
        self._send(entering, least, down, up)
        if leaving < 0:
            self.state[entering] = -self.state[entering]
            return
        stuck = self.above[leaving]
        self.state[stuck] = 1 if self.flow[stuck] == 0 else -1
        self.state[entering] = 0
        if leaving in up:
            self._hang(q, p, entering, leaving)
        else:
            self._hang(p, q, entering, leaving)

    def _ways(self, p: int, q: int) -> tuple[list[int], list[int]]:
        """Nodes from p and from q up to, and without, the first that they share."""
        ways: tuple[list[int], list[int]] = ([], [])
        parent, depth = self.parent, self.depth
        while p != q:
            if depth[p] >= depth[q]:
                ways[0].append(p)
                p = parent[p]
            else:
                ways[1].append(q)
                q = parent[q]
        return ways

    def _send(self, entering: int, amount: int, down: list[int], up: list[int]) -> None:
        if amount:
            self.flow[entering] += self.state[entering] * amount
            for nodes, sign in ((down, -amount), (up, amount)):
                for v in nodes:
                    arc = self.above[v]
                    self.flow[arc] += sign if self.tail[arc] == v else -sign

    def _hang(self, inner: int, outer: int, entering: int, top: int) -> None:
        """Cut the branch off above `top` and hang it, by `inner`, onto `outer`."""
        self.children[self.parent[top]].discard(top)
        v, parent, arc = inner, outer, entering
        while True:
            after, arc_after = self.parent[v], self.above[v]
            self.parent[v], self.above[v] = parent, arc
            self.children[parent].add(v)
            if v == top:
                break
            self.children[after].discard(v)
            v, parent, arc = after, v, arc_after
        self._level(inner)

    def _level(self, top: int) -> None:
        """Potentials and depths of the branch below and with `top`, from what is above it."""
        stack = [top]
        level, depth, parent = self.level, self.depth, self.parent
        while stack:
            v = stack.pop()
            if v != ROOT:
                arc, up = self.above[v], parent[v]
                cost = self.cost[arc]
                level[v] = level[up] + (-cost if self.tail[arc] == v else cost)
                depth[v] = depth[up] + 1
            stack.extend(self.children[v])
