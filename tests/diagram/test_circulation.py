"""The network simplex method against another one, and the places that follow from it."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from quizgen.diagram.circulation import Circulation
from quizgen.diagram.programme import Balance, Programme


def cost_of(net: Circulation) -> int:
    """What the present flow costs."""
    return sum(c * f for c, f in zip(net.cost, net.flow, strict=True))


def cheapest(arcs: list[tuple[int, int, int, int]]) -> int:
    """The cost of the cheapest circulation, by networkx."""
    graph: nx.MultiDiGraph[int] = nx.MultiDiGraph()
    for tail, head, cost, room in arcs:
        graph.add_edge(tail, head, weight=cost, capacity=room)
    cost, _ = nx.network_simplex(graph)
    return int(cost)


@pytest.mark.parametrize("seed", range(20))
def test_as_cheap_as_networkx_from_the_start_and_going_on(seed: int) -> None:
    """Also after arcs are added and costs changed, when the old tree is gone on with."""
    rng = random.Random(seed)
    count = rng.randint(2, 12)
    net = Circulation()
    nodes = [net.node() for _ in range(count)]
    arcs: list[tuple[int, int, int, int]] = []
    at: list[int] = []
    for _ in range(4):
        for _ in range(rng.randint(1, 20)):
            tail, head = rng.sample(nodes, 2)
            arcs.append((tail, head, rng.randint(-20, 20), rng.randint(1, 9)))
            at.append(net.arc(*arcs[-1]))
        k = rng.randrange(len(arcs))
        arcs[k] = (*arcs[k][:2], rng.randint(-20, 20), arcs[k][3])
        net.cost[at[k]] = arcs[k][2]
        level = net.solve()
        assert cost_of(net) == cheapest(arcs)
        for arc, (tail, head, cost, room) in zip(at, arcs, strict=True):
            reduced = cost + level[tail] - level[head]
            assert reduced >= 0 or net.flow[arc] == room
            assert reduced <= 0 or net.flow[arc] == 0


def test_places_keep_their_distances_and_meet_where_they_can() -> None:
    """b stands 5 right of a, c above a; the pull of d towards both ends is undecided."""
    programme = Programme()
    programme.keep(("a", 0), ("b", 0), 5)
    programme.pull(("a", 0), ("c", 0), 3)
    programme.pull(("c", 0), ("b", 0), 1)
    cost, at = Balance().solve(programme)
    assert (cost, at["b"] - at["a"], at["c"] - at["a"]) == (5, 5, 0)


def test_binding_stops_before_a_contradiction() -> None:
    """a and b are kept apart, so only the pair that can be brought together is."""
    programme = Programme()
    programme.keep(("a", 0), ("b", 0), 2)
    programme.pull(("a", 0), ("b", 0), 1)
    programme.keep(("a", 0), ("c", 0), 0)
    assert not programme.bind([("a", "b", 0)])
    assert programme.bind([("a", "b", 0), ("c", "b", 1)])
    _, at = Balance().solve(programme)
    assert at["c"] == at["b"] + 1
