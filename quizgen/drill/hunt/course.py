"""The cheapest order of tests for a case, and what it takes on average.

The truth is one of the claims that agree with the driver's story, each at its usual severity and as
likely as its share says. Nobody who tests knows severities, so what must be ruled out are the
claims at *every* severity. A place in the tree is therefore two sets: the truths that would have
led there, and the cells that all readings so far allow. A test sends each truth to the cells that
could have shown what it shows; truths that leave the same cells standing share a branch. A branch
ends when nothing is left but claims that no test tells from the truth or that one repair mends.

Exact by dynamic programming over (truths, cells, places reached, state of the controls, battery on
or off) until `MOST_NODES` of them have been looked at; after that, most doubt removed per minute
first, and the plan says that it may not be the cheapest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import repeat
from math import inf

from quizgen.diagnosis.checks import ISOLATE_MINUTES, LOOK, TURN_MINUTES, Check
from quizgen.diagnosis.decision_tree import members
from quizgen.diagnosis.next_tests import RankedTest, next_tests
from quizgen.drill.hunt.case import Case
from quizgen.drill.hunt.engine import BACK, MEASURE, TURN, UNPLUG, WATCH, Act
from quizgen.drill.hunt.field import Field, View
from quizgen.drill.hunt.standing import Standing

MOST_TRIALS = 24  # the most telling ones; beyond these what parts claims that are still alike
MOST_NODES = 2000

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


@dataclass(frozen=True, eq=False)
class Course:
    """The tree; `minutes` by truth, and on average."""

    case: Case
    field: Field
    trials: tuple[Trial, ...]
    shares: tuple[float, ...]  # by truth
    root: Fork | Leaf
    minutes: tuple[float, ...]
    is_exact: bool

    @property
    def expected_minutes(self) -> float:
        """Mean over the truths, weighted by likelihood."""
        return sum(s * m for s, m in zip(self.shares, self.minutes, strict=True))

    @cached_property
    def answers(self) -> tuple[frozenset[int], ...]:
        """By truth: the claims that nothing tells from it, or that one repair mends with it."""
        return _answers(self.field, self.trials)

    def path(self, truth: int) -> Iterator[tuple[Trial, float, int]]:
        """Trials on the way to a truth, what each costs, and the cells it leaves."""
        node, ready = self.root, Ready()
        while isinstance(node, Fork):
            trial = self.trials[node.trial]
            left = trial.leaves[truth] & node.cells
            yield trial, ready.cost(trial), left
            ready = ready.after(trial)
            node = dict(node.branches)[left]


def plan_course(case: Case, field: Field) -> Course:
    """The course for a case with its suspects. Raises CircuitError if a test cannot be solved."""
    trials = _trials(field)
    search = _Search(field, trials)
    truths, cells, ready = (1 << len(field.claimed)) - 1, field.everything, Ready()
    exact = True
    try:
        search.value(truths, cells, ready)
        root = search.tree(truths, cells, ready)
    except _TooMany:
        exact = False
        root = search.greedy(truths, cells, ready)
    course = Course(case, field, trials, search.shares, root, (), exact)
    minutes = [sum(cost for _, cost, _ in course.path(t)) for t in members(truths)]
    return replace(course, minutes=tuple(minutes))


def _trials(field: Field) -> tuple[Trial, ...]:
    """The tests that tell most per minute, and of the rest those that part claims still alike.

    With the most telling ones alone a course would end at claims that a dearer test tells apart.
    One in which a truth blows a fuse is left out.
    """
    ranked = next_tests(field.found)
    chosen = [t for t in _tried(field, [r.check for r in ranked[:MOST_TRIALS]]) if t]
    left = [field.everything] * len(field.claimed)  # cells that the tests chosen cannot rule out
    for trial in chosen:
        left = [mask & leaves for mask, leaves in zip(left, trial.leaves, strict=True)]
    more = [r.check for r in ranked[MOST_TRIALS:] if _may_part(field, r, left)]
    for dearer in _tried(field, more):
        if dearer is None:
            continue
        after = [mask & leaves for mask, leaves in zip(left, dearer.leaves, strict=True)]
        if any(map(_loses_a_claim, repeat(field), left, after)):
            chosen.append(dearer)
            left = after
    return tuple(chosen)


def _tried(field: Field, checks: Sequence[Check]) -> list[Trial | None]:
    """Tests with what they leave; None where one tells nothing or a fuse would blow."""
    groups: dict[tuple[str, int, tuple[str, ...]], list[int]] = {}
    for number, check in enumerate(checks):
        groups.setdefault((check.instrument, check.state, check.unplugged), []).append(number)
    found: list[Trial | None] = [None] * len(checks)
    rows = [claimed.row for claimed in field.claimed]
    for numbers in groups.values():
        some = [checks[number] for number in numbers]
        for number, views in zip(numbers, _views(field, some, rows), strict=True):
            if views is None:
                continue
            spans = field.spans(views)
            leaves = tuple(field.agreeing(spans, views[row], field.everything) for row in rows)
            if any(mask != field.everything for mask in leaves):
                found[number] = Trial(checks[number], leaves)
    return found


def _views(field: Field, checks: Sequence[Check], rows: Sequence[int]) -> list[list[View] | None]:
    """What all rows show in tests with one instrument in one state, solved together."""
    first = checks[0]
    standing = ready_for(field, first)
    views, gone = field.views(Act(WATCH), standing, field.opened)
    if any(gone[row] != field.opened[row] for row in rows):
        return [None] * len(checks)
    if first.instrument == LOOK:
        return [views] * len(checks)
    leads = [(check.red, check.black) for check in checks]
    return field.views_of_many(first.instrument, leads, standing)


def _may_part(field: Field, ranked: RankedTest, left: list[int]) -> bool:
    """Two claims that are still alike are not expected to show the same. Costs no solving."""
    likeliest = ranked.table.likelihood.argmax(axis=0).tolist()
    shows: dict[str, set[int]] = {}
    for cell, outcome in zip(field.found.cells, likeliest, strict=True):
        shows.setdefault(field.found.listed[cell.cause].key, set()).add(outcome)
    return any(
        len({frozenset(shows[field.claimed[n].key]) for n in field.claims_in(mask)}) > 1
        for mask in set(left)
    )


def _loses_a_claim(field: Field, before: int, after: int) -> bool:
    return len(field.claims_in(after)) < len(field.claims_in(before))


def _answers(field: Field, trials: tuple[Trial, ...]) -> tuple[frozenset[int], ...]:
    suspects = [claimed.suspect for claimed in field.claimed]
    found = []
    for truth, mine in enumerate(suspects):
        cells = field.everything
        for trial in trials:
            cells &= trial.leaves[truth]
        here = field.place(truth)
        alike = {
            n
            for n, other in enumerate(suspects)
            if other.group == mine.group or field.place(n) == here
        }
        found.append(field.claims_in(cells) | alike)
    return tuple(found)


# --- the search -----------------------------------------------------------------------


class _TooMany(Exception):
    """The search has grown beyond MOST_NODES."""


Branches = tuple[tuple[int, int], ...]  # cells left, truths that lead there


class _Search:
    """Value of a place in the tree = expected minutes still to pay, times its probability."""

    def __init__(self, field: Field, trials: tuple[Trial, ...]) -> None:
        self.trials = trials
        chances = [claimed.suspect.probability for claimed in field.claimed]
        self.shares = tuple(chance / sum(chances) for chance in chances)
        masks = field.mask_of
        self.fine = [sum(masks[claim] for claim in answer) for answer in _answers(field, trials)]
        self.weights = [self.shares[claim] for claim, _ in field.cells]
        self.best: dict[tuple[int, int, Ready], tuple[float, int]] = {}
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
            raise _TooMany
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

    def greedy(self, truths: int, cells: int, ready: Ready) -> Fork | Leaf:
        """Most doubt removed per minute first; no promise how near to the best."""
        ways = self._ways(truths, cells, ready)
        if not ways or not self.is_open(truths, cells):
            return Leaf(cells)
        doubt = self._doubt(truths, cells)

        def worth(way: tuple[float, int, Branches]) -> float:
            return (doubt - sum(self._doubt(t, c) for c, t in way[2])) / max(way[0], 1e-9)

        _, number, branches = max(ways, key=worth)
        after = ready.after(self.trials[number])
        return Fork(number, cells, tuple((c, self.greedy(t, c, after)) for c, t in branches))

    def _doubt(self, truths: int, cells: int) -> float:
        """Weight of the cells still to be ruled out, averaged over the truths."""
        return sum(
            self.shares[t] * sum(self.weights[n] for n in members(cells & ~self.fine[t]))
            for t in members(truths)
        )


# --- doing it -------------------------------------------------------------------------


def ready_for(field: Field, check: Check) -> Standing:
    """How the machine stands for a test: controls moved from rest, in their order."""
    moves = Standing(moves=check.moves).from_rest(field.sound)
    return Standing(moves=moves, unplugged=check.unplugged)


def acts_for(field: Field, trial: Trial, standing: Standing) -> tuple[Act, ...]:
    """What it takes to do a trial as the machine stands.

    Where controls have to be moved they all go to rest first, or a relay might hold that would not
    have pulled in.
    """
    wanted = ready_for(field, trial.check)
    acts = [Act(BACK, (name,)) for name in standing.unplugged if name not in wanted.unplugged]
    rest = field.sound.rest_positions()
    if standing.from_rest(field.sound) != wanted.moves:
        stands = rest | dict(standing.moves)
        released = [(k, rest[k]) for k, at in stands.items() if at != rest[k]]
        moves = (*released, *wanted.moves)
        acts.append(Act(TURN, tuple(word for move in moves for word in move)))
    acts += [Act(UNPLUG, (name,)) for name in wanted.unplugged if name not in standing.unplugged]
    return (*acts, trial.act)
