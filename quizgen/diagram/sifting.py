"""Sifting: the search for an order of the rows with few crossings.

Rows are filled in the order in which the circuit is walked from the supply and sorted by the
average place of neighbours. Then each member is carried through its row and put down where
fewest conductors cross, as long as that helps (Matuszewski, Schönfeld and Molitor, "Using
sifting for k-layer straightline crossing minimization", 1999). Carrying a member past its
neighbour changes only crossings between conductors of these two, so a step is cheap.

Among equals the order is taken that a reader expects: parts by number, the supply at the left.
A hint `column` of a template counts for more than any crossing.
"""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

from quizgen.diagram.order import Grid, Member, Order, Rim, places, ports_in_order
from quizgen.diagram.scheme import Scheme

SHAKES = 24  # tries in vain before the crossings that are left are taken as they are
KEPT = 4  # orders worth placing
CROSSING = 1000  # what a crossing costs beside one pair out of order
HINTED = 1000 * CROSSING  # a pair against the template's hints
WIDE = 64  # more than a block has ports

Chord = tuple[int, int, int, int]  # rim index and side of each end; side 0 above, -1 below


class Sifter:
    """Improves orders of one grid. `columns` are the hints of the template, block → column."""

    def __init__(self, scheme: Scheme, grid: Grid, columns: Mapping[int, int]) -> None:
        self.scheme, self.grid, self.columns = scheme, grid, columns
        self.home: dict[Member, int] = {("block", i): r for i, r in enumerate(grid.rows)}
        self.home |= {("lane", i): row for i, (_, row) in enumerate(grid.lanes)}
        self.rims: dict[Rim, int] = {}
        self.own: dict[Member, list[int]] = {}  # rim indexes of a member, by port
        for kind, i in self.home:
            ports = 1 if kind == "lane" else len(scheme.blocks[i].symbol.ports)
            self.own[kind, i] = [self.rims.setdefault((kind, i, k), len(self.rims))
                                 for k in range(ports)]  # fmt: skip
        self.chords: list[Chord] = []
        self.inside: list[list[int]] = []  # per channel its chords
        self.touching: dict[Member, tuple[list[int], list[int]]] = {
            member: ([], []) for member in self.home
        }
        for c, pieces in enumerate(grid.channels):
            self.inside.append([])
            for piece in pieces:
                (a, b), (u, v) = piece.ends, piece.upper
                self.inside[c].append(len(self.chords))
                for end, up in ((a, u), (b, v)):
                    self.touching[end[:2]][up].append(len(self.chords))
                self.chords.append((self.rims[a], u - 1, self.rims[b], v - 1))
        self.at = [0] * len(self.rims)  # place of each rim index from the left, ports included
        self.rank: dict[tuple[int, bool], list[int]] = {}
        self.awkward = [self._awkward(i) for i in range(len(scheme.blocks))]

    # what an order costs

    def _awkward(self, block: int) -> tuple[str, int]:
        """By what a block is compared with its neighbours: the letter of a part, its number."""
        b = self.scheme.blocks[block]
        return (b.key[0] if b.part else "", block)

    def _ranks(self, block: int, turned: bool) -> list[int]:
        """Port → its place among the ports of its block."""
        if (block, turned) not in self.rank:
            row = Order([], {block} if turned else set())
            ranks = [0] * len(self.scheme.blocks[block].symbol.ports)
            for n, k in enumerate(ports_in_order(self.scheme, row, block)):
                ranks[k] = n
            self.rank[block, turned] = ranks
        return self.rank[block, turned]

    def _read(self, order: Order) -> None:
        for r in range(len(order.rows)):
            self._read_row(order, r)

    def _read_row(self, order: Order, r: int) -> None:
        for n, member in enumerate(order.rows[r]):
            self._read_member(order, n, member)

    def _read_member(self, order: Order, n: int, member: Member) -> None:
        kind, i = member
        ranks = [0] if kind == "lane" else self._ranks(i, i in order.mirrored)
        for index, rank in zip(self.own[member], ranks, strict=True):
            self.at[index] = n * WIDE + rank

    def crossings(self, c: int) -> int:
        """Crossings in one channel as last read: pairs of chords whose ends alternate."""
        at = self.at
        ends: list[tuple[int, bool, int, int, int]] = []
        for n, chord in enumerate(self.inside[c]):
            a, s, b, t = self.chords[chord]
            p, q = at[a] ^ s, at[b] ^ t  # x ^ -1 is -x - 1: the lower edge, backwards
            ends += [(p, q > p, -q, n if q > p else -n, n), (q, p > q, -p, n if p > q else -n, n)]
        ends.sort()
        passed, count = 0, 0
        opened: dict[int, int] = {}
        for *_, n in ends:
            if n in opened:
                count += (passed ^ opened[n]).bit_count() - 1
            else:
                opened[n] = passed
            passed ^= 1 << n
        return count // 2

    def _between(self, left: Member, right: Member) -> int:
        """What it costs that `right` stands next to the right of `left`, as last read."""
        at, chords, cost = self.at, self.chords, 0
        for ps, qs in zip(self.touching[left], self.touching[right], strict=True):
            for p in ps if qs else ():
                i, s, j, t = chords[p]
                a, b = at[i] ^ s, at[j] ^ t
                if a > b:
                    a, b = b, a
                for q in qs:
                    i, s, j, t = chords[q]
                    c, d = at[i] ^ s, at[j] ^ t
                    if c > d:
                        c, d = d, c
                    if a < c < b < d or c < a < d < b:
                        cost += CROSSING
        return cost

    def _oddness(self, left: Member, right: Member) -> int:
        """What it costs a reader that `right` stands somewhere right of `left`."""
        if left[0] != "block" or right[0] != "block":
            return 0
        a, b = self.columns.get(left[1]), self.columns.get(right[1])
        hinted = HINTED if a is not None and b is not None and a > b else 0
        (letter, i), (other, j) = self.awkward[left[1]], self.awkward[right[1]]
        return hinted + (letter == other and letter != "" and i > j) + (j == 0 and letter != "")

    def around(self, order: Order, r: int) -> int:
        """What one row costs, as last read."""
        row = order.rows[r]
        odd = sum(self._oddness(a, b) for n, a in enumerate(row) for b in row[n + 1 :])
        return CROSSING * (self.crossings(r) + self.crossings(r + 1)) + odd

    def total(self, order: Order) -> tuple[int, int]:
        """Crossings of the whole drawing, and the cost with oddness."""
        self._read(order)
        crossings = sum(self.crossings(c) for c in range(len(self.inside)))
        odd = sum(
            self._oddness(a, b) for row in order.rows for n, a in enumerate(row) for b in row[:n:-1]
        )
        return crossings, CROSSING * crossings + odd

    # how an order is made and improved

    def start(self, backwards: bool) -> Order:
        """Rows filled in the order of a walk from the first block."""
        neighbours: dict[Member, list[Member]] = {m: [] for m in self.home}
        for piece in (p for pieces in self.grid.channels for p in pieces):
            a, b = piece.ends[0][:2], piece.ends[1][:2]
            neighbours[a].append(b)
            neighbours[b].append(a)
        order = Order([[] for _ in range(max(self.home.values(), default=-1) + 1)])
        seen: set[Member] = set()
        for root in sorted(self.home, key=lambda m: (self.home[m], m)):
            stack = [root]
            while stack:
                member = stack.pop()
                if member in seen:
                    continue
                seen.add(member)
                order.rows[self.home[member]].append(member)
                after = neighbours[member]
                stack.extend(after if backwards else after[::-1])
        return order

    def sweep(self, order: Order, down: bool) -> None:
        """Sort each row by the average place of its neighbours in the row before."""
        rows = range(len(order.rows)) if down else range(len(order.rows) - 1, -1, -1)
        for r in rows:
            other = places(self.scheme, order, r - 1 if down else r + 1)
            own = places(self.scheme, order, r)
            width = max(len(other), 1)
            pull: dict[Member, list[float]] = {}
            for piece in self.grid.channels[r if down else r + 1]:
                for a, b in (piece.ends, piece.ends[::-1]):
                    if a in own and b in other:
                        pull.setdefault(a[:2], []).append(other[b] / width)
            now = {m: i / max(len(order.rows[r]), 1) for i, m in enumerate(order.rows[r])}
            average = {m: sum(v) / len(v) for m, v in pull.items()}
            order.rows[r].sort(key=(now | average).__getitem__)

    def shaken(self, order: Order, rng: Random) -> Order:
        """A copy with a few members moved and a few blocks mirrored at random, then swept."""
        copy = Order([list(row) for row in order.rows], set(order.mirrored))
        for row in copy.rows:
            if len(row) > 1 and rng.random() < 0.4:
                row.insert(rng.randrange(len(row)), row.pop(rng.randrange(len(row))))
        for i, block in enumerate(self.scheme.blocks):
            if block.mirrored and rng.random() < 0.3:
                copy.mirrored ^= {i}
        for k in range(rng.randrange(3)):
            self.sweep(copy, down=k % 2 == 0)
        return copy

    def reflected(self, order: Order) -> Order:
        """The whole drawing seen from behind: it has the same crossings."""
        turned = {i for i, b in enumerate(self.scheme.blocks) if b.mirrored}
        return Order([row[::-1] for row in order.rows], turned - order.mirrored)

    def settle(self, order: Order) -> None:
        """Move members and mirror blocks while that makes the order better."""
        self._read(order)
        improved = True
        while improved:
            improved = sum([self._settle_row(order, r) for r in range(len(order.rows))]) > 0

    def _settle_row(self, order: Order, r: int) -> bool:
        if self.around(order, r) == 0:
            return False
        better = False
        for member in list(order.rows[r]):
            if member[0] == "block" and self.scheme.blocks[member[1]].mirrored:
                better = self._turn(order, r, member) or better
            better = self._carry(order, r, member) or better
        return better

    def _turn(self, order: Order, r: int, member: Member) -> bool:
        """Mirror a block if that saves crossings."""
        n = order.rows[r].index(member)
        before = self.crossings(r) + self.crossings(r + 1)
        order.mirrored ^= {member[1]}
        self._read_member(order, n, member)
        if self.crossings(r) + self.crossings(r + 1) < before:
            return True
        order.mirrored ^= {member[1]}
        self._read_member(order, n, member)
        return False

    def _carry(self, order: Order, r: int, member: Member) -> bool:
        """Carry a member through its row and put it down at its best place."""
        row = order.rows[r]
        home = row.index(member)
        best, least = home, 0
        for way in (-1, 1):
            gain, n = 0, home
            while 0 <= n + way < len(row):
                gain += self._pass(row, n, way)
                n += way
                if gain < least:
                    best, least = n, gain
            row.insert(home, row.pop(n))
            self._read_row(order, r)
        row.insert(best, row.pop(home))
        self._read_row(order, r)
        return least < 0

    def _pass(self, row: list[Member], n: int, way: int) -> int:
        """Exchange member n of a row with its neighbour; what that adds to the cost."""
        i = min(n, n + way)
        left, right = row[i], row[i + 1]
        before = self._between(left, right) + self._oddness(left, right)
        row[i], row[i + 1] = right, left
        for index in self.own[left]:
            self.at[index] += WIDE
        for index in self.own[right]:
            self.at[index] -= WIDE
        return self._between(right, left) + self._oddness(right, left) - before


def candidates(
    scheme: Scheme, grid: Grid, columns: Mapping[int, int], rng: Random
) -> list[tuple[int, Order]]:
    """Good orders with their crossings, fewest first; `rng` shakes up what has crossings left."""
    sifter = Sifter(scheme, grid, columns)
    found: list[tuple[tuple[int, int], Order]] = []

    def settled(order: Order) -> tuple[int, int]:
        sifter.settle(order)
        found.append((sifter.total(order), order))
        return found[-1][0]

    for backwards in (False, True):
        for sweeps in (0, 4):
            order = sifter.start(backwards)
            for k in range(sweeps):
                sifter.sweep(order, down=k % 2 == 0)
            settled(order)
    found.sort(key=lambda f: f[0])
    tries = 0
    while found[0][0][0] > 0 and tries < SHAKES:
        least = found[0][0]
        tries = 0 if settled(sifter.shaken(found[0][1], rng)) < least else tries + 1
        found.sort(key=lambda f: f[0])
    sides = [side for _, order in found[:KEPT] for side in (order, sifter.reflected(order))]
    costs = [(sifter.total(side), side) for side in sides]
    hinted = min(cost for (_, cost), _ in costs) // HINTED  # a reflection may break the hints
    return [(n, side) for (n, cost), side in costs if cost // HINTED == hinted]
