"""The search for the cheapest tree of tests: exact while it is small, else improved greedy.

What the sets of a place in the tree mean is told in `quizgen.drill.hunt.course`.

Exact by dynamic programming over (truths, cells, places reached, state of the controls, battery on
or off) until `MOST_NODES` of them have been looked at; after that, most doubt removed per minute
first, improved by looking one step ahead, and the plan says that it may not be the cheapest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from quizgen.diagnosis.checks import ISOLATE_MINUTES, LOOK, TURN_MINUTES, Check
from quizgen.diagnosis.decision_tree import members
from quizgen.drill.hunt.engine import MEASURE, WATCH, Act
from quizgen.drill.hunt.field import Field

MOST_NODES = 3000
MOST_OPTIONS = 6  # trials that are looked at one step ahead

Places = frozenset[tuple[str, float]]


@dataclass(frozen=True)
class Trial:
    """A test, and for each truth the cells that could have shown what it shows."""

    check: Check
    leaves: tuple[int, ...]  # masks of cells, by truth

    @property
    def is_dead(self) -> bool:
        """The batteries are off for it."""
        return bool(self.check.unplugged)

    @property
    def act(self) -> Act:
        """The test itself, the machine being ready for it."""
        check = self.check
        if check.instrument == LOOK:
            return Act(WATCH)
        return Act(MEASURE, (check.instrument, check.red, check.black))


@dataclass(frozen=True)
class Ready:
    """How far a course has come: what is paid for already."""

    reached: Places = frozenset()
    state: int = 0
    dead: bool = False

    def cost(self, trial: Trial) -> float:
        """Minutes of a trial from here; as `quizgen.drill.hunt.standing` counts them."""
        check = trial.check
        if check.instrument == LOOK:
            return check.minutes
        use = check.minutes - (ISOLATE_MINUTES if trial.is_dead and self.dead else 0.0)
        use += TURN_MINUTES * (check.state != self.state)
        # a check in another state than the first has its turn counted in already
        use -= TURN_MINUTES * (check.state != 0)
        return use + sum(minutes for _, minutes in frozenset(check.places) - self.reached)

    def after(self, trial: Trial) -> Ready:
        """Where the trial leaves off."""
        return Ready(self.reached | frozenset(trial.check.places), trial.check.state, trial.is_dead)


@dataclass(frozen=True)
class Leaf:
    """The claims left are all alike to any test."""

    cells: int


@dataclass(frozen=True)
class Fork:
    """Do a trial, then go on by the cells it leaves."""

    trial: int
    cells: int
    branches: tuple[tuple[int, Fork | Leaf], ...]


class TooMany(Exception):
    """The search has grown beyond MOST_NODES."""


Branches = tuple[tuple[int, int], ...]  # cells left, truths that lead there


class Search:
    """Value of a place in the tree = expected minutes still to pay, times its probability."""

    def __init__(
        self, field: Field, trials: tuple[Trial, ...], answers: Sequence[frozenset[int]]
    ) -> None:
        self.trials = trials
        chances = [claimed.suspect.probability for claimed in field.claimed]
        self.shares = tuple(chance / sum(chances) for chance in chances)
        masks = field.mask_of
        self.fine = [sum(masks[claim] for claim in answer) for answer in answers]
        self.weights = [self.shares[claim] for claim, _ in field.cells]
        self.best: dict[tuple[int, int, Ready], tuple[float, int]] = {}
        self.rough: dict[tuple[int, int, Ready], float] = {}
        self.quickest = min((t.check.minutes for t in trials), default=0.0)

    def is_open(self, truths: int, cells: int) -> bool:
        """A claim is left that a test could tell from one of the truths."""
        return any(cells & ~self.fine[t] for t in members(truths))

    def share(self, truths: int) -> float:
        """Probability of a set of truths."""
        return sum(self.shares[t] for t in members(truths))

    def value(self, truths: int, cells: int, ready: Ready) -> float:
        """The least value, and in `best` the trial that begins it."""
        key = truths, cells, ready
        if key in self.best:
            return self.best[key][0]
        if len(self.best) >= MOST_NODES:
            raise TooMany
        if not self.is_open(truths, cells):
            self.best[key] = 0.0, -1
            return 0.0
        share = self.share(truths)
        least, chosen = inf, -1
        for cost, number, branches in self._ways(truths, cells, ready):
            total = cost * share + sum(self._floor(t, c) for c, t in branches)
            after = ready.after(self.trials[number])
            for left, some in branches:
                if total >= least:
                    break
                total += self.value(some, left, after) - self._floor(some, left)
            if total < least:
                least, chosen = total, number
        self.best[key] = least, chosen
        return least

    def _floor(self, truths: int, cells: int) -> float:
        return self.share(truths) * self.quickest if self.is_open(truths, cells) else 0.0

    def _ways(self, truths: int, cells: int, ready: Ready) -> list[tuple[float, int, Branches]]:
        """Trials that rule something out, cheapest first; of equal ones that lead on alike, one."""
        found: dict[tuple[Branches, Ready], tuple[float, int]] = {}
        for number, trial in enumerate(self.trials):
            branches = self._branches(trial, truths, cells)
            if any(left != cells for left, _ in branches):
                cost = ready.cost(trial)
                key = branches, ready.after(trial)
                found[key] = min(found.get(key, (inf, number)), (cost, number))
        return sorted((cost, number, key[0]) for key, (cost, number) in found.items())

    def _branches(self, trial: Trial, truths: int, cells: int) -> Branches:
        found: dict[int, int] = {}
        for truth in members(truths):
            left = trial.leaves[truth] & cells
            found[left] = found.get(left, 0) | 1 << truth
        return tuple(sorted(found.items()))

    def tree(self, truths: int, cells: int, ready: Ready) -> Fork | Leaf:
        """The tree that the search found."""
        number = self.best[truths, cells, ready][1]
        if number < 0:
            return Leaf(cells)
        trial = self.trials[number]
        after = ready.after(trial)
        branches = self._branches(trial, truths, cells)
        return Fork(number, cells, tuple((c, self.tree(t, c, after)) for c, t in branches))

    def improved(self, truths: int, cells: int, ready: Ready) -> Fork | Leaf:
        """Of the trials that promise most the one that is best if all after it is greedy.

        One step of policy improvement: never dearer than the greedy tree.
        """
        options = self._promising(truths, cells, ready)
        if not options:
            return Leaf(cells)
        share = self.share(truths)

        def value(way: tuple[float, int, Branches]) -> float:
            after = ready.after(self.trials[way[1]])
            return way[0] * share + sum(self.greedy(t, c, after) for c, t in way[2])

        _, number, branches = min(options[:MOST_OPTIONS], key=value)
        after = ready.after(self.trials[number])
        return Fork(number, cells, tuple((c, self.improved(t, c, after)) for c, t in branches))

    def greedy(self, truths: int, cells: int, ready: Ready) -> float:
        """Value of taking, from here on, what removes most doubt per minute."""
        key = truths, cells, ready
        if key not in self.rough:
            total = 0.0
            options = self._promising(truths, cells, ready)
            if options:
                cost, number, branches = options[0]
                after = ready.after(self.trials[number])
                total = cost * self.share(truths)
                total += sum(self.greedy(t, c, after) for c, t in branches)
            self.rough[key] = total
        return self.rough[key]

    def _promising(
        self, truths: int, cells: int, ready: Ready
    ) -> list[tuple[float, int, Branches]]:
        """Trials, most doubt removed per minute first; none where nothing is open."""
        if not self.is_open(truths, cells):
            return []
        doubt = self._doubt(truths, cells)

        def worth(way: tuple[float, int, Branches]) -> float:
            return (doubt - sum(self._doubt(t, c) for c, t in way[2])) / max(way[0], 1e-9)

        return sorted(self._ways(truths, cells, ready), key=worth, reverse=True)

    def _doubt(self, truths: int, cells: int) -> float:
        """Weight of the cells still to be ruled out, averaged over the truths."""
        return sum(
            self.shares[t] * sum(self.weights[n] for n in members(cells & ~self.fine[t]))
            for t in members(truths)
        )
