"""The solver against exact rational arithmetic, at any spread of resistances.

Promise: at most 1e-9 V off, the same nodes floating, contradictions refused. What the solver
achieves is nearer 1e-14 V, and the tests hold it to 1e-12 V so that a loss is noticed.
"""

from __future__ import annotations

import random
from math import inf

import pytest
from hypothesis import given, settings

from quizgen.base.errors import CircuitError
from quizgen.circuit.components import Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.solver import OperatingPoint, solve
from tests.oracles.exact import Answer, Contradiction, solve_exactly
from tests.solver.networks import edges_of, network, networks, random_network, random_tree

VOLTS = 1e-12


def exactly(circuit: Circuit) -> Answer | None:
    """The exact answer; None for a contradiction."""
    try:
        return solve_exactly(edges_of(circuit), circuit.reference, circuit.nodes)
    except Contradiction:
        return None


def solved(circuit: Circuit) -> OperatingPoint | None:
    """The solver's answer; None for a contradiction. Any other refusal is a failure."""
    try:
        return solve(circuit)
    except CircuitError as error:
        if "do not add" in str(error):
            return None
        raise


def check(circuit: Circuit) -> str:
    """Compare both; returns what kind of network it was."""
    true, found = exactly(circuit), solved(circuit)
    if true is None or found is None:
        assert true is None, "refused, but the sources add up"
        assert found is None, "accepted, but the sources contradict each other"
        return "contradiction"
    volts = found.node_volts
    assert {n for n, v in volts.items() if v is None} == true.floating
    for node, v in volts.items():
        if v is not None:
            assert v == pytest.approx(float(true.volts[node] or 0), abs=VOLTS), node
    return "floating" if true.floating else "whole"


@pytest.mark.parametrize("block", range(4))
def test_seeded_networks(block: int) -> None:
    """Four times 150 networks of 2 to 16 nodes: voltages, floating sets, contradictions."""
    rng = random.Random(block)
    kinds = []
    for _ in range(150):
        nodes = rng.randint(2, 16)
        parts = rng.randint(1, 2 * nodes)
        kinds.append(check(random_network(rng, nodes, parts, sources=rng.randint(0, 3))))
    assert min(kinds.count(k) for k in ("contradiction", "floating", "whole")) >= 10


def test_seeded_trees_like_a_vehicle() -> None:
    """Thirty circuits of 40 nodes: milliohms in series, megohms across, a few wires broken."""
    rng = random.Random(12)
    for _ in range(30):
        check(random_tree(rng, 40))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(networks())
def test_any_network(circuit: Circuit) -> None:
    """Whatever is joined to whatever: the same answer as exact arithmetic, or both refuse."""
    check(circuit)


def test_currents_also_through_joints_and_sources() -> None:
    """Amps of every branch whose current is determined, 1 mΩ to 1 MΩ with joints and opens.

    A voltage is known to 1e-14 V or so, hence a current to 1e-14 V times the largest
    conductance in the network.
    """
    rng = random.Random(5)
    compared = 0
    for _ in range(200):
        circuit = random_network(rng, rng.randint(3, 10), 14, decades=(-3, 6))
        true, found = exactly(circuit), solved(circuit)
        if true is None or found is None:
            continue
        for part, amps in zip(circuit.parts, true.amps, strict=True):
            if amps is not None:
                assert found.flows(part)[0].amps == pytest.approx(float(amps), abs=1e-9)
                compared += 1
    assert compared > 1000


def test_opens_of_1e12_ohm_beside_shorts_of_1e_minus_3_ohm() -> None:
    """The spread at which nodal LU loses tenths of a volt; by hand 12 V · 1e12/(1e12 + 2e12)."""
    parts: list[Part] = [Source(id="V", nodes=("1", "0"), volts=12)]
    chain = [1e12, 1e-3, 1e-3, 1e12, 1e-3, 1e12]
    for i, ohm in enumerate(chain):
        ends = (str(i + 1), str(i + 2) if i + 1 < len(chain) else "0")
        parts.append(Resistor(id=f"R{i}", nodes=ends, ohm=ohm))
    point = solve(network(parts))
    for node, share in (("2", 2 / 3), ("4", 2 / 3), ("5", 1 / 3), ("6", 1 / 3)):
        assert point.volts(node) == pytest.approx(12 * share, abs=1e-12)


def contradictions() -> dict[str, list[Part]]:
    """Networks that no physics can satisfy."""
    v12 = Source(id="V1", nodes=("p", "0"), volts=12)
    return {
        "two sources side by side": [v12, Source(id="V2", nodes=("p", "0"), volts=11)],
        "a shorted source": [v12, Resistor(id="R", nodes=("0", "p"), ohm=0.0)],
        "a source onto itself": [v12, Source(id="V2", nodes=("q", "q"), volts=1)],
        "round through joints": [
            v12,
            Resistor(id="R1", nodes=("p", "q"), ohm=0.0),
            Resistor(id="R2", nodes=("q", "r"), ohm=0.0),
            Source(id="V2", nodes=("r", "0"), volts=12.5),
        ],
        "in an island of its own": [
            v12,
            Source(id="V2", nodes=("x", "y"), volts=1),
            Source(id="V3", nodes=("y", "x"), volts=1),
        ],
    }


@pytest.mark.parametrize("name", contradictions())
def test_contradictory_sources_are_refused(name: str) -> None:
    """One line that names a part of the loop."""
    with pytest.raises(CircuitError, match=r"(V|R)\d? .*do not add") as refusal:
        solve(network(contradictions()[name]))
    assert "\n" not in str(refusal.value)


def test_sources_that_agree_are_accepted() -> None:
    """Two equal sources side by side, and 8 V on 4 V beside 12 V."""
    parts = [
        Source(id="V1", nodes=("p", "0"), volts=12),
        Source(id="V2", nodes=("0", "p"), volts=-12),
        Source(id="V3", nodes=("p", "q"), volts=8),
        Source(id="V4", nodes=("q", "0"), volts=4),
        Resistor(id="R", nodes=("q", "0"), ohm=inf),
    ]
    assert solve(network(parts)).node_volts == {"0": 0.0, "p": 12.0, "q": 4.0}


def test_a_joint_to_a_dead_end_is_no_reason_to_refuse() -> None:
    """Joints that lead nowhere carry nothing, whatever flows past them."""
    parts = [
        Source(id="V1", nodes=("p", "0"), volts=10),
        Resistor(id="R1", nodes=("p", "a"), ohm=3e-5),
        Resistor(id="R2", nodes=("a", "0"), ohm=7.3e-5),
        Resistor(id="J1", nodes=("a", "b"), ohm=0.0),
        Resistor(id="J2", nodes=("c", "b"), ohm=0.0),
        Resistor(id="J3", nodes=("0", "z"), ohm=0.0),
    ]
    point = solve(network(parts))
    assert point.volts("c") == pytest.approx(10 * 7.3 / 10.3, abs=1e-12)
    assert [point.flows(part)[0].amps for part in parts[3:]] == [0.0, 0.0, 0.0]
