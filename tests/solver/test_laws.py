"""The solver against the laws of linear networks, one law a test.

None of these needs an expected value: they are the theorems of any textbook on networks
(Kirchhoff, superposition, reciprocity, Rayleigh's monotonicity law).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest

from quizgen.base.errors import CircuitError
from quizgen.circuit.components import Battery, Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.solver import OperatingPoint, solve
from tests.solver.networks import network, random_network

NETWORKS = 60


def points(seed: int, **choices: object) -> Iterator[OperatingPoint]:
    """Solved random networks, those that contradict themselves left out."""
    rng = random.Random(seed)
    for _ in range(NETWORKS):
        circuit = random_network(rng, rng.randint(3, 12), 20, **choices)  # type: ignore[arg-type]
        try:
            yield solve(circuit)
        except CircuitError:
            continue


def only(part: Part, kept: str) -> Part:
    """The part with its source set to 0 V unless it is the one kept."""
    if part.id == kept:
        return part
    if isinstance(part, Source):
        return replace(part, volts=0.0)
    return replace(part, emf_volts=0.0) if isinstance(part, Battery) else part


def passive(rng: random.Random, decades: tuple[float, float]) -> tuple[Part, ...]:
    """Resistors only, on nodes 0 to 7, no joints and no opens."""
    return random_network(rng, 8, 16, decades=decades, special=False, sources=0).parts


def test_kirchhoffs_current_law() -> None:
    """What enters a node leaves it: the currents add up to rounding of the largest possible one."""
    for point in points(1):
        balance = dict.fromkeys(point.circuit.nodes, 0.0)
        largest = 0.0
        for part in point.circuit.parts:
            amps = point.flows(part)[0].amps
            balance[part.nodes[0]] -= amps
            balance[part.nodes[1]] += amps
            ohm = {Resistor: "ohm", Battery: "internal_ohm"}.get(type(part))
            if ohm and getattr(part, ohm) > 0:
                largest += 75 / getattr(part, ohm)
        for node, left_over in balance.items():
            assert abs(left_over) <= 1e-14 * largest, node


def test_kirchhoffs_voltage_law() -> None:
    """Each branch holds its own law between the node voltages: any loop then adds up to 0."""
    for point in points(2):
        for part in point.circuit.parts:
            flow = point.flows(part)[0]
            if flow.volts is None:
                assert isinstance(part, Resistor | Battery)
                assert flow.amps == 0.0
                continue
            a, b = (point.volts(node) for node in part.nodes)
            if a is not None and b is not None:
                assert flow.volts == pytest.approx(a - b, abs=1e-13)
            match part:
                case Source():
                    assert flow.volts == pytest.approx(part.volts, abs=1e-13)
                case Resistor() if part.ohm != inf:
                    drop = flow.amps * part.ohm
                    assert flow.volts == pytest.approx(drop, rel=1e-12, abs=1e-13)
                case Battery() if part.internal_ohm != inf:
                    volts = part.emf_volts + flow.amps * part.internal_ohm
                    assert flow.volts == pytest.approx(volts, rel=1e-12, abs=1e-12)


def test_the_certificate_is_small() -> None:
    """Every solution carries a Kirchhoff residual of rounding size, ideal branches or not."""
    for point in points(3):
        assert point.solutions.certificate()[0] < 1e-13


def test_superposition() -> None:
    """Each source alone, the others at 0 V, and the answers added: the same as all at once."""
    for point in points(4, sources=3):
        total = dict.fromkeys(point.circuit.nodes, 0.0)
        for kept in point.circuit.parts:
            if isinstance(kept, Source | Battery):
                alone = solve(network([only(p, kept.id) for p in point.circuit.parts]))
                for node, volts in alone.node_volts.items():
                    assert (volts is None) == (point.volts(node) is None)
                    total[node] += volts or 0.0
        for node, volts in point.node_volts.items():
            if volts is not None:
                assert volts == pytest.approx(total[node], abs=1e-12)


def test_proportionality() -> None:
    """Twice the source voltages give exactly twice the node voltages."""
    for point in points(5):
        doubled = [
            replace(p, volts=2 * p.volts)
            if isinstance(p, Source)
            else replace(p, emf_volts=2 * p.emf_volts)
            if isinstance(p, Battery)
            else p
            for p in point.circuit.parts
        ]
        again = solve(network(doubled)).node_volts
        assert again == {n: v if v is None else 2 * v for n, v in point.node_volts.items()}


def test_only_ratios_of_resistances_matter() -> None:
    """All resistances times 1024: exactly the same voltages, currents 1/1024."""
    for point in points(6):
        scaled: list[Part] = []
        for p in point.circuit.parts:
            if isinstance(p, Resistor):
                scaled.append(replace(p, ohm=1024 * p.ohm))
            elif isinstance(p, Battery):
                scaled.append(replace(p, internal_ohm=1024 * p.internal_ohm))
            else:
                scaled.append(p)
        again = solve(network(scaled))
        assert again.node_volts == point.node_volts
        for before, after in zip(point.circuit.parts, scaled, strict=True):
            assert again.flows(after)[0].amps == point.flows(before)[0].amps / 1024


def test_the_order_of_parts_and_of_their_ends_does_not_matter() -> None:
    """Parts shuffled and resistors turned round: the same voltages to rounding."""
    rng = random.Random(7)
    for point in points(7):
        parts = [
            replace(p, nodes=p.nodes[::-1]) if isinstance(p, Resistor) and rng.random() < 0.5 else p
            for p in point.circuit.parts
        ]
        rng.shuffle(parts)
        again = solve(network(parts))
        for node, volts in point.node_volts.items():
            assert again.volts(node) == pytest.approx(volts, abs=1e-12)


def test_reciprocity() -> None:
    """1 V in branch A drives the same current in branch B as 1 V in B drives in A."""
    rng = random.Random(8)
    for _ in range(NETWORKS):
        resistors = passive(rng, (-2, 5))
        a, b = rng.sample(resistors, 2)
        amps = []
        for driven, read in ((a, b), (b, a)):
            # the source goes in series with its resistor: the same as inside a battery
            inside = Battery(id=driven.id, nodes=driven.nodes, emf_volts=1, internal_ohm=driven.ohm)  # type: ignore[attr-defined]
            parts = [inside if p is driven else p for p in resistors]
            amps.append(solve(network(parts)).flows(read)[0].amps)
        assert amps[0] == pytest.approx(amps[1], rel=1e-9, abs=1e-11)


def held_up(parts: tuple[Part, ...]) -> float:
    """Volts left at node 1 behind 12 V and 100 Ω: the more, the higher the resistance seen."""
    supply = Battery(id="GB", nodes=("1", "0"), emf_volts=12, internal_ohm=100)
    volts = solve(network([supply, *parts])).volts("1")
    assert volts is not None
    return volts


def test_rayleighs_monotonicity() -> None:
    """Raising one resistance, from a joint to an open, never lowers what the source sees."""
    rng = random.Random(9)
    rose = 0
    for _ in range(NETWORKS):
        parts = passive(rng, (-3, 9))
        chosen = rng.randrange(len(parts))
        ohm = parts[chosen].ohm  # type: ignore[attr-defined]
        volts = [
            held_up((*parts[:chosen], replace(parts[chosen], ohm=r), *parts[chosen + 1 :]))  # type: ignore[call-arg]
            for r in (0.0, ohm, 1.5 * ohm, 100 * ohm, inf)
        ]
        assert all(b >= a - 1e-13 for a, b in pairwise(volts))
        rose += volts[-1] > volts[0] + 1e-6
    assert rose >= 10  # in the others the resistor hardly matters


def test_voltages_stay_between_those_of_one_source() -> None:
    """With one source no node lies outside the source's two terminals (maximum principle)."""
    rng = random.Random(10)
    for _ in range(NETWORKS):
        circuit: Circuit = random_network(rng, 10, 16, sources=0)
        parts = [p for p in circuit.parts if isinstance(p, Resistor)]
        point = solve(network([Battery(id="GB", nodes=("1", "0"), emf_volts=12.5), *parts]))
        for volts in point.node_volts.values():
            assert volts is None or 0.0 <= volts <= 12.5 * (1 + 1e-15)
