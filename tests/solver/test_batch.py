"""Solving many cases at once gives what solving them one by one gives."""

from __future__ import annotations

import random
from dataclasses import replace
from math import inf

import numpy as np
import pytest

from quizgen.base.errors import CircuitError, InputError
from quizgen.circuit.components import Bridge, Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import inject, universe
from quizgen.solver import solve, solve_cases
from tests.solver.networks import network, random_network


def variations(rng: random.Random, circuit: Circuit, count: int) -> list[Circuit]:
    """The circuit with one or two parts altered, shorted, opened or bridged; solvable ones."""
    found = [circuit]
    while len(found) < count:
        parts: list[Part] = list(circuit.parts)
        for _ in range(rng.randint(1, 2)):
            i = rng.randrange(len(parts))
            part = parts[i]
            if isinstance(part, Resistor):
                parts[i] = replace(part, ohm=rng.choice([0.0, inf, 10 ** rng.uniform(-6, 15)]))
            elif isinstance(part, Source):
                parts[i] = replace(part, volts=rng.randint(-200, 200) / 8)
        if rng.random() < 0.4:
            a, b = rng.sample(circuit.nodes, 2)
            parts.append(Bridge(id=f"~{a}", nodes=(a, b)))
        try:
            solve(network(parts))
        except CircuitError:
            continue
        found.append(network(parts))
    return found


def same_as_alone(
    circuits: list[Circuit], cases: list[tuple[int, tuple[tuple[str, str], ...]]], within: float
) -> None:
    """Every node of every case, in the batch and alone; floating nodes must agree."""
    batch = solve_cases(circuits, cases)
    for i, (c, moves) in enumerate(cases):
        alone = solve_cases([circuits[c]], [(0, moves)]).point(0)
        together = batch.point(i)
        assert together.behaviour == alone.behaviour
        for one, other in zip(together.events, alone.events, strict=True):
            assert (one.part, one.change) == (other.part, other.change)
            assert one.seconds == pytest.approx(other.seconds, rel=1e-6)
        for node, volts in alone.node_volts.items():
            assert together.volts(node) == pytest.approx(volts, abs=within), (i, node)


@pytest.mark.parametrize("seed", range(6))
def test_linear_variations_in_one_batch(seed: int) -> None:
    """Forty variations with different joints, opens, sources and added bridges: 1e-12 V."""
    rng = random.Random(seed)
    while True:
        base = random_network(rng, rng.randint(4, 12), 20)
        try:
            solve(base)
            break
        except CircuitError:
            continue
    circuits = variations(rng, base, 40)
    same_as_alone(circuits, [(c, ()) for c in range(len(circuits))], within=1e-12)


@pytest.mark.parametrize("name", shipped_templates())
def test_faults_of_a_family_in_one_batch(name: str) -> None:
    """Lamps, motors, relays and protectors too: within the tolerance of the iteration.

    Forty faults drawn from the universe, at rest and after a few moves in order.
    """
    rng = random.Random(name)
    circuit = find_template(name).build()
    faults = [weighted.fault for weighted in universe(circuit)]
    circuits = [circuit, *(inject(circuit, f) for f in rng.sample(faults, 40))]
    moves = [
        tuple((k.name, rng.choice(k.positions)) for k in rng.sample(circuit.controls, n))
        for n in range(len(circuit.controls) + 1)
    ]
    cases = [(c, rng.choice(moves)) for c in range(len(circuits))]
    same_as_alone(circuits, cases, within=1e-9)


def test_the_same_batch_twice_gives_the_same_bits() -> None:
    """Nothing depends on anything but the input."""
    circuit = find_template("blower-pack").build()
    cases = [(0, (("S1", "on"), ("S2", p))) for p in circuit.by_control["S2"].positions]
    one, two = (solve_cases([circuit], cases) for _ in range(2))
    for node in circuit.nodes:
        assert np.array_equal(one.volts(node), two.volts(node), equal_nan=True)


def test_one_contradiction_in_a_batch_is_refused() -> None:
    """A batch with a circuit that no physics satisfies is not half answered."""
    good = network([Source(id="V1", nodes=("p", "0"), volts=12)])
    bad = network([*good.parts, Source(id="V2", nodes=("p", "0"), volts=6)])
    with pytest.raises(CircuitError, match="V2"):
        solve_cases([good, bad], [(0, ()), (1, ())])


def test_an_unknown_position_is_refused_wherever_it_stands_in_the_moves() -> None:
    """Also when a later move of the same control is fine."""
    circuit = find_template("push-button-relay").build()
    with pytest.raises(InputError, match="sideways"):
        solve(circuit, [{"S1": "sideways"}, {"S1": "on"}])
