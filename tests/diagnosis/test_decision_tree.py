"""The cheapest test tree, against a published value, hand-made cases and plain enumeration."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import log2

import pytest

from quizgen.base.errors import InputError
from quizgen.diagnosis import decision_tree
from quizgen.diagnosis.decision_tree import (
    Fork,
    Leaf,
    Plan,
    Probe,
    Problem,
    best_plan,
    bound,
    plan_cost,
    undominated,
)

# D1, from memory of Pattipati and Alexandridis 1990
STATES = ("00000", "01001", "00110", "10011", "11000", "11110")
LIKELY = (0.70, 0.01, 0.02, 0.10, 0.05, 0.12)


def d1() -> Problem:
    """Five tests of unit cost on six states."""
    tests = [Probe(f"t{t + 1}", tuple(int(row[t]) for row in STATES)) for t in range(5)]
    return Problem(LIKELY, tuple(tests))


def chain(n: int) -> Problem:
    """n equally likely suspects in a row; a test at each point between two of them."""
    tests = [Probe(f"point {k}", tuple(int(i >= k) for i in range(n))) for k in range(1, n)]
    return Problem((1.0,) * n, tuple(tests))


def leaves(tree: Fork | Leaf) -> Iterator[tuple[int, ...]]:
    """What each leaf leaves."""
    if isinstance(tree, Leaf):
        yield tree.left
    else:
        for _, branch in tree.branches:
            yield from leaves(branch)


def cheapest(problem: Problem, mask: int, reached: frozenset[str]) -> float:
    """The same value by plain recursion: no memory, no pruning. An oracle for small problems."""
    inside = [h for h in range(len(problem.weights)) if mask >> h & 1]
    rows = {h: tuple(p.outcomes[h] for p in problem.probes) for h in inside}
    if not any(problem.kind[a] != problem.kind[b] and rows[a] != rows[b]
               for a in inside for b in inside):  # fmt: skip
        return 0.0
    share = sum(problem.weights[h] for h in inside)
    found = []
    for probe in problem.probes:
        parts: dict[int, int] = {}
        for h in inside:
            parts[probe.outcomes[h]] = parts.get(probe.outcomes[h], 0) | 1 << h
        if len(parts) > 1:
            new = probe.places - reached
            cost = probe.minutes + sum(problem.access.get(p, 0.0) for p in new)
            below = [cheapest(problem, part, reached | probe.places) for part in parts.values()]
            found.append(cost * share + sum(below))
    return min(found)


def drawn(rng: random.Random, n: int, tests: int) -> Problem:
    """Random weights, kinds, outcomes, minutes and places."""
    weights = [rng.random() + 0.01 for _ in range(n)]
    total = sum(weights)
    places = ("seat", "cab", "roof")
    return Problem(
        tuple(w / total for w in weights),
        tuple(
            Probe(
                f"t{t}", tuple(rng.randrange(3) for _ in range(n)), rng.uniform(0.1, 3.0),
                frozenset(rng.sample(places, rng.randrange(3))),
            )
            for t in range(tests)
        ),
        tuple(rng.randrange(n - 1) for _ in range(n)),
        {place: rng.uniform(0.0, 4.0) for place in places},
    )  # fmt: skip


def test_d1_the_published_optimum() -> None:
    """Expected cost 2.18, beginning with t2."""
    plan = best_plan(d1())
    assert plan.is_exact
    assert plan.expected_minutes == pytest.approx(2.18, abs=1e-9)
    assert isinstance(plan.root, Fork)
    assert plan.root.probe == 1


@pytest.mark.parametrize(("n", "tests"), [(4, 2.0), (8, 3.0), (12, 11 / 3), (16, 4.0)])
def test_d5_halving_a_chain(n: int, tests: float) -> None:
    """4, 8, 12, 16 suspects need 2, 3, 3.6667, 4 tests; log2 n is the bound for two outcomes."""
    plan = best_plan(chain(n))
    assert plan.is_exact
    assert plan.expected_minutes == pytest.approx(tests, abs=1e-9)
    assert plan.bound_minutes == pytest.approx(log2(n))


def test_the_search_agrees_with_plain_recursion() -> None:
    """Kinds, places and several outcomes included, on random problems."""
    rng = random.Random(11)
    for _ in range(60):
        problem = drawn(rng, rng.randrange(3, 6), rng.randrange(2, 5))
        plan = best_plan(problem)
        everything = (1 << len(problem.weights)) - 1
        assert plan.is_exact
        assert plan.expected_minutes == pytest.approx(
            cheapest(problem, everything, frozenset()), abs=1e-9
        )


def test_no_tree_undercuts_the_bound() -> None:
    """Neither the best nor a hurried one."""
    rng = random.Random(12)
    for _ in range(60):
        problem = drawn(rng, rng.randrange(3, 8), rng.randrange(2, 6))
        assert bound(problem) <= best_plan(problem).expected_minutes + 1e-9


def test_a_meter_of_three_outcomes_beats_log2_n() -> None:
    """Nine suspects, two tests of three outcomes: two tests, below log2 9 = 3.17; bound kept."""
    problem = Problem(
        (1.0,) * 9,
        (Probe("a", tuple(i // 3 for i in range(9))), Probe("b", tuple(i % 3 for i in range(9)))),
    )
    plan = best_plan(problem)
    assert plan.expected_minutes == pytest.approx(2.0)
    assert plan.bound_minutes == pytest.approx(2.0)


def test_leaves_hold_what_no_test_tells_apart() -> None:
    """Every hypothesis is in one leaf; rivals in one leaf have equal outcomes everywhere."""
    rng = random.Random(13)
    for _ in range(40):
        problem = drawn(rng, 6, 2)
        found = list(leaves(best_plan(problem).root))
        assert sorted(h for leaf in found for h in leaf) == list(range(6))
        for leaf in found:
            rows = {(problem.kind[h], tuple(p.outcomes[h] for p in problem.probes)) for h in leaf}
            assert len({k for k, _ in rows}) == 1 or len({r for _, r in rows}) == 1


def test_two_of_one_kind_cost_nothing_to_leave_together() -> None:
    """Different severities of one fault need no further test."""
    tests = (Probe("which fault", (0, 0, 1)), Probe("how bad", (0, 1, 1), 9.0))
    plan = best_plan(Problem((1.0, 1.0, 1.0), tests, (0, 0, 1)))
    assert plan.expected_minutes == pytest.approx(1.0)


def test_a_place_is_paid_for_once() -> None:
    """Two tests under one seat: 5 minutes for the seat, 1 for each test, by hand.

    a splits {0,1,2,3} in halves, b and c finish; all under the seat: 5 + 1 + 1.
    """
    seat = frozenset({"seat"})
    tests = (Probe("a", (0, 0, 1, 1), 1.0, seat), Probe("b", (0, 1, 0, 1), 1.0, seat))
    plan = best_plan(Problem((1.0,) * 4, tests, access={"seat": 5.0}))
    assert plan.expected_minutes == pytest.approx(7.0)


def test_many_hypotheses_are_said_to_be_inexact() -> None:
    """Thirty-three: a tree all the same, complete, and marked as not proved to be the best."""
    plan = best_plan(chain(33))
    assert not plan.is_exact
    assert sorted(leaves(plan.root)) == [(i,) for i in range(33)]
    assert plan.bound_minutes <= plan.expected_minutes <= log2(33) + 1


def test_a_cheap_test_does_not_make_the_bound_useless() -> None:
    """By hand: a test of 0.1 minutes tells 1 bit at most, once; the other bit costs a minute."""
    tests = (Probe("cheap", (0, 0, 1, 1), 0.1), Probe("dear", (0, 1, 0, 1), 1.0))
    plan = best_plan(Problem((1.0,) * 4, tests))
    assert plan.bound_minutes == pytest.approx(1.1)
    assert plan.expected_minutes == pytest.approx(1.1)


def test_a_search_that_grows_too_large_is_said_to_be_inexact(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The limit on sets gives a tree that does not claim to be the best."""
    monkeypatch.setattr(decision_tree, "MOST_STATES", 3)
    assert not best_plan(d1()).is_exact


def test_the_cost_of_a_tree_is_that_of_its_paths() -> None:
    """By hand: t on all, u on half of them."""
    problem = Problem((0.5, 0.25, 0.25), (Probe("t", (0, 1, 1), 2.0), Probe("u", (0, 0, 1), 4.0)))
    tree = Fork(0, ((0, Leaf((0,))), (1, Fork(1, ((0, Leaf((1,))), (1, Leaf((2,))))))))
    assert plan_cost(problem, tree) == pytest.approx(2.0 + 0.5 * 4.0)


def test_needless_tests_are_left_out() -> None:
    """A dearer one, a coarser one, one that shows nothing and a second of the same go."""
    fine = Probe("fine", (0, 1, 2))
    others = (
        Probe("again", (2, 0, 1)), Probe("coarse", (0, 0, 1)), Probe("dear", (0, 1, 2), 3.0),
        Probe("blind", (0, 0, 0), 0.1),
    )  # fmt: skip
    cheap = Probe("cheap", (0, 1, 1), 0.5)
    assert undominated((others[0], fine, *others[1:], cheap)) == (others[0], cheap)


def test_nothing_to_ask_is_a_leaf() -> None:
    """One hypothesis, or no test at all."""
    assert best_plan(Problem((1.0,), ())) == Plan(Leaf((0,)), 0.0, 0.0, True)
    assert best_plan(Problem((1.0, 1.0), ())).root == Leaf((0, 1))


def test_tests_of_another_length_are_refused() -> None:
    """A test says something about each hypothesis."""
    with pytest.raises(InputError, match="same 2 hypotheses"):
        Problem((0.5, 0.5), (Probe("t", (0,)),))
