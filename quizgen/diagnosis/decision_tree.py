"""The cheapest order of tests that tells hypotheses apart, adapting to what each test shows.

A hypothesis has a weight and a *kind*; two of one kind need not be told apart, two that no
test tells apart cannot be. A test sends each hypothesis to one outcome and costs its own
minutes plus, once in the whole course, the access to each of its places.

Exact by dynamic programming over the sets of hypotheses still open (as bit masks) and the
places reached. Such sets are at most 2^n: sixteen hypotheses are no trouble, and more are
tried until `MOST_STATES` sets have been looked at. After that the tree is built from the top
by most information per minute and says that it may not be the cheapest.

Either way the expected cost stands beside a bound that no tree can beat. Let H be the bits
that a complete tree gains. On every path a test is used once at most, so over the whole tree
test t gains b_t <= H(t), the entropy of its outcomes (conditioning never adds entropy), and
each use gains log2 k_t at most, k_t its number of outcomes. So the tree costs at least the least
sum of minutes_t * b_t / log2 k_t with the b_t adding up to H: tests are filled in by rising
minutes per bit. Access is left out of the bound.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import inf, log2

from quizgen.base.errors import InputError
from quizgen.diagnosis.beliefs import entropy, normalised

MOST_HYPOTHESES = 32
MOST_STATES = 10_000

Places = frozenset[str]
NOWHERE: Places = frozenset()


@dataclass(frozen=True)
class Probe:
    """One test: the outcome of each hypothesis, its own minutes, the places it needs."""

    name: str
    outcomes: tuple[int, ...]
    minutes: float = 1.0
    places: Places = NOWHERE

    @cached_property
    def parts(self) -> tuple[tuple[int, int], ...]:
        """(outcome, bit mask of the hypotheses that it leaves)."""
        masks: dict[int, int] = {}
        for h, outcome in enumerate(self.outcomes):
            masks[outcome] = masks.get(outcome, 0) | 1 << h
        return tuple(sorted(masks.items()))

    def split(self, mask: int) -> tuple[tuple[int, int], ...]:
        """The parts that `mask` falls into."""
        return tuple((o, m & mask) for o, m in self.parts if m & mask)


@dataclass(frozen=True)
class Leaf:
    """Nothing more to ask: the hypotheses left."""

    left: tuple[int, ...]


@dataclass(frozen=True)
class Fork:
    """Do test number `probe`, then go on by its outcome."""

    probe: int
    branches: tuple[tuple[int, Fork | Leaf], ...]


@dataclass(frozen=True)
class Plan:
    """A tree, what it costs on average, and what no tree can undercut."""

    root: Fork | Leaf
    expected_minutes: float
    bound_minutes: float
    is_exact: bool


@dataclass(frozen=True)
class Problem:
    """Hypotheses and the tests on them."""

    weights: tuple[float, ...]
    probes: tuple[Probe, ...]
    kinds: tuple[int, ...] = ()  # default: each its own
    access: Mapping[str, float] = field(default_factory=dict)  # place → minutes

    def __post_init__(self) -> None:
        n = len(self.weights)
        if (self.kinds and len(self.kinds) != n) or any(len(p.outcomes) != n for p in self.probes):
            raise InputError(f"every test and the kinds must cover the same {n} hypotheses")
        if any(p.minutes < 0.0 for p in self.probes):
            raise InputError("the minutes of a test must not be below 0")

    @cached_property
    def shares(self) -> tuple[float, ...]:
        """Weights as probabilities."""
        return tuple(normalised(self.weights).tolist())

    @cached_property
    def kind(self) -> tuple[int, ...]:
        """Kind by hypothesis."""
        return self.kinds or tuple(range(len(self.weights)))

    @cached_property
    def rivals(self) -> tuple[int, ...]:
        """Bit mask by hypothesis: those of other kinds that some test tells from it."""
        rows = list(zip(*(p.outcomes for p in self.probes), strict=True))
        rows = rows or [()] * len(self.weights)
        return tuple(
            sum(
                1 << j
                for j, other in enumerate(rows)
                if self.kind[i] != self.kind[j] and row != other
            )
            for i, row in enumerate(rows)
        )

    def open(self, mask: int) -> bool:
        """True if two hypotheses of the set are still to be told apart."""
        return any(self.rivals[h] & mask for h in members(mask))

    def share(self, mask: int) -> float:
        """Probability of the set."""
        return sum(self.shares[h] for h in members(mask))

    def cost(self, probe: Probe, reached: Places) -> float:
        """Minutes of one test when some places have been reached already."""
        return probe.minutes + sum(self.access.get(p, 0.0) for p in probe.places - reached)

    def by_kind(self, mask: int) -> list[float]:
        """Probability of each kind within the set."""
        found: dict[int, float] = {}
        for h in members(mask):
            found[self.kind[h]] = found.get(self.kind[h], 0.0) + self.shares[h]
        return list(found.values())


def members(mask: int) -> tuple[int, ...]:
    """The numbers of the bits set in `mask`.

    >>> members(0b1101)
    (0, 2, 3)
    """
    return tuple(h for h in range(mask.bit_length()) if mask >> h & 1)


def best_plan(problem: Problem) -> Plan:
    """The cheapest tree if there are few enough hypotheses, else a good one that says so.

    Raises InputError for weights that are no likelihoods.
    """
    everything = (1 << len(problem.weights)) - 1
    start: Places = frozenset()
    lower = bound(problem)
    if len(problem.weights) <= MOST_HYPOTHESES:
        search = _Search(problem, undominated(problem.probes))
        try:
            search.value(everything, start)
            root = search.tree(everything, start)
            return Plan(root, plan_cost(problem, root), lower, True)
        except _TooMany:
            pass
    root = _greedy(problem, everything, start)
    return Plan(root, plan_cost(problem, root), lower, False)


def bound(problem: Problem) -> float:
    """Minutes that no tree can undercut, access left out; see the head of the module."""
    missing = entropy(_told_apart(problem))
    total = 0.0
    probes = [probe for probe in problem.probes if len(probe.parts) > 1]
    for probe in sorted(probes, key=lambda p: p.minutes / log2(len(p.parts))):
        bits = min(missing, entropy([problem.share(mask) for _, mask in probe.parts]))
        total += bits * probe.minutes / log2(len(probe.parts))
        missing -= bits
    return total


def _told_apart(problem: Problem) -> list[float]:
    """Probabilities of the sets that any complete tree tells apart for certain.

    Two hypotheses that no test tells apart may end in one leaf, so their kinds count as one.
    """
    whole = (1 << len(problem.weights)) - 1
    group = list(range(len(problem.weights)))
    for a in group:
        for b in members(whole & ~problem.rivals[a]):
            low, high = sorted((group[a], group[b]))
            group = [low if g == high else g for g in group]
    found: dict[int, float] = {}
    for h, g in enumerate(group):
        found[g] = found.get(g, 0.0) + problem.shares[h]
    return list(found.values())


def plan_cost(problem: Problem, root: Fork | Leaf, reached: Places = NOWHERE) -> float:
    """Expected minutes of a tree, walked branch by branch."""

    def walk(tree: Fork | Leaf, reached: Places) -> tuple[float, float]:
        if isinstance(tree, Leaf):
            return 0.0, sum(problem.shares[h] for h in tree.left)
        probe = problem.probes[tree.probe]
        below = [walk(branch, reached | probe.places) for _, branch in tree.branches]
        share = sum(s for _, s in below)
        return problem.cost(probe, reached) * share + sum(c for c, _ in below), share

    return walk(root, reached)[0]


def undominated(probes: Sequence[Probe]) -> tuple[Probe, ...]:
    """Tests that no other makes needless.

    One that tells at least as much, takes no longer and needs no further place can stand in for
    the other anywhere in a tree. Of equals the first stays.
    """
    kept: list[Probe] = []
    for i, probe in enumerate(probes):
        rivals = [*kept, *probes[i + 1 :]]
        if len(probe.parts) > 1 and not any(
            _stands_in(r, probe) and not (j >= len(kept) and _stands_in(probe, r))
            for j, r in enumerate(rivals)
        ):
            kept.append(probe)
    return tuple(kept)


def _stands_in(one: Probe, other: Probe) -> bool:
    if one.minutes > other.minutes or not one.places <= other.places:
        return False
    goes: dict[int, int] = {}
    return all(
        goes.setdefault(a, b) == b for a, b in zip(one.outcomes, other.outcomes, strict=True)
    )


class _TooMany(Exception):
    """The search has grown beyond MOST_STATES."""


class _Search:
    """Value of a set = expected minutes still to pay, times the set's probability."""

    def __init__(self, problem: Problem, probes: tuple[Probe, ...]) -> None:
        self.problem = problem
        self.probes = probes
        self.useful: Places = frozenset(problem.access)
        self.best: dict[tuple[int, Places], tuple[float, Probe | None]] = {}
        self.floors: dict[int, float] = {}
        # bits of the kinds must all be gained only where every two kinds can be told apart
        self.apart = len(set(problem.kind)) == len(_told_apart(problem))
        self.cheapest = min((p.minutes / log2(len(p.parts)) for p in probes), default=0.0)
        self.quickest = min((p.minutes for p in probes), default=0.0)

    def value(self, mask: int, reached: Places) -> float:
        """The least value, and in `best` the test that begins it."""
        key = mask, reached
        if key in self.best:
            return self.best[key][0]
        if len(self.best) >= MOST_STATES:
            raise _TooMany
        if not self.problem.open(mask):
            self.best[key] = 0.0, None
            return 0.0
        share = self.problem.share(mask)
        least, chosen = inf, None
        for cost, probe, parts in self._ways(mask, reached):
            total = cost * share + sum(self.floor(part) for _, part in parts)
            after = reached | (probe.places & self.useful)
            for _, part in parts:
                if total >= least:
                    break
                total += self.value(part, after) - self.floor(part)
            if total < least:
                least, chosen = total, probe
        self.best[key] = least, chosen
        return least

    def floor(self, mask: int) -> float:
        """What the set costs at least: one test, and its bits at the cheapest rate."""
        if mask not in self.floors:
            found = 0.0
            if self.problem.open(mask):
                share = self.problem.share(mask)
                bits = entropy(normalised(self.problem.by_kind(mask))) if self.apart else 0.0
                found = share * max(self.quickest, bits * self.cheapest)
            self.floors[mask] = found
        return self.floors[mask]

    def _ways(
        self, mask: int, reached: Places
    ) -> list[tuple[float, Probe, tuple[tuple[int, int], ...]]]:
        """Tests that split the set, cheapest first; of equal splits at one place, one."""
        found: dict[tuple[frozenset[int], Places], tuple[float, int, Probe]] = {}
        for i, probe in enumerate(self.probes):
            parts = probe.split(mask)
            if len(parts) > 1:
                key = frozenset(p for _, p in parts), probe.places - reached
                cost = self.problem.cost(probe, reached)
                found[key] = min(found.get(key, (inf, i, probe)), (cost, i, probe))
        return [(cost, probe, probe.split(mask)) for cost, _, probe in sorted(found.values())]

    def tree(self, mask: int, reached: Places) -> Fork | Leaf:
        """The tree that the search found."""
        probe = self.best[mask, reached][1]
        if probe is None:
            return Leaf(members(mask))
        after = reached | (probe.places & self.useful)
        branches = tuple((o, self.tree(part, after)) for o, part in probe.split(mask))
        return Fork(self.problem.probes.index(probe), branches)


def _greedy(problem: Problem, mask: int, reached: Places) -> Fork | Leaf:
    """Most information about the kinds per minute first; no promise how near to the best."""
    ways = [(p, probe.split(mask)) for p, probe in enumerate(problem.probes)]
    ways = [(p, parts) for p, parts in ways if len(parts) > 1]
    if not ways or not problem.open(mask):
        return Leaf(members(mask))

    def worth(way: tuple[int, tuple[tuple[int, int], ...]]) -> tuple[float, float]:
        p, parts = way
        gain = _gain(problem, mask, [part for _, part in parts])
        # ties, such as several tests that only prepare another, go to the finer one
        return gain / max(problem.cost(problem.probes[p], reached), 1e-9), len(parts)

    p, parts = max(ways, key=worth)
    after = reached | problem.probes[p].places
    return Fork(p, tuple((o, _greedy(problem, part, after)) for o, part in parts))


def _gain(problem: Problem, mask: int, parts: Sequence[int]) -> float:
    def uncertain(some: int) -> float:
        share = problem.share(some)
        return share * entropy(normalised(problem.by_kind(some))) if share > 0.0 else 0.0

    return (uncertain(mask) - sum(uncertain(p) for p in parts)) / max(problem.share(mask), 1e-300)
