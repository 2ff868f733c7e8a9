"""The cheapest order of tests for a case, and what it takes on average.

The truth is one of the claims that agree with the driver's story, each at its usual severity and as
likely as its share says. Nobody who tests knows severities, so what must be ruled out are the
claims at *every* severity. A place in the tree is therefore two sets: the truths that would have
led there, and the cells that all readings so far allow. A test sends each truth to the cells that
could have shown what it shows; truths that leave the same cells standing share a branch. A branch
ends when nothing is left but claims that no test tells from the truth or that one repair mends.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import repeat

from quizgen.diagnosis.checks import LOOK, Check
from quizgen.diagnosis.decision_tree import members
from quizgen.diagnosis.next_tests import RankedTest, next_tests
from quizgen.drill.hunt.case import Case
from quizgen.drill.hunt.engine import BACK, TURN, UNPLUG, WATCH, Act
from quizgen.drill.hunt.field import Field, View
from quizgen.drill.hunt.standing import Standing
from quizgen.drill.hunt.tree import Fork, Leaf, Ready, Search, TooMany, Trial

MOST_TRIALS = 24  # the most telling ones; beyond these what parts claims that are still alike


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
    search = Search(field, trials, _answers(field, trials))
    truths, cells, ready = (1 << len(field.claimed)) - 1, field.everything, Ready()
    exact = True
    try:
        search.value(truths, cells, ready)
        root = search.tree(truths, cells, ready)
    except TooMany:
        exact = False
        root = search.improved(truths, cells, ready)
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
