"""Filaments, motors and diodes in random networks: exact arithmetic and ngspice.

Every node has a meter's 10 MΩ to the reference, so nothing floats and, all laws rising, there
is one operating point only: whatever state of the diodes fits its own voltages is the answer.
"""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest

from quizgen.base.errors import InputError
from quizgen.circuit.components import Battery, Diode, Lamp, LedLamp, Motor, Part, Resistor
from quizgen.circuit.netlist import Circuit
from quizgen.solver import solve
from tests.oracles.exact import Edge, solve_exactly
from tests.oracles.spice import frozen, solve_by_ngspice
from tests.solver.networks import edges_of, network, random_network


def metered(rng: random.Random, nodes: int) -> tuple[list[str], list[Part]]:
    """Node names; a mesh of resistors, meters at all nodes and up to three batteries."""
    names = [str(n) for n in range(nodes)]
    mesh = random_network(rng, nodes, nodes + nodes // 2, decades=(-3, 4), special=False, sources=0)
    parts = list(mesh.parts)
    parts += [Resistor(id=f"R{n}meter", nodes=(n, "0"), ohm=1e7) for n in names[1:]]
    for i in range(rng.randint(1, 3)):
        ends = tuple(rng.sample(names, 2))
        emf = rng.randint(-200, 200) / 8
        parts.append(Battery(id=f"GB{i}", nodes=ends, emf_volts=emf, internal_ohm=0.01))
    return names, parts


def test_diodes_against_exact_arithmetic() -> None:
    """Up to twelve diodes any way round: the solver's states fit exact voltages, and so do its own.

    1e-9 V is the solver's own tolerance at the knee of a diode.
    """
    rng = random.Random(1)
    conducting = blocking = 0
    for _ in range(150):
        names, parts = metered(rng, rng.randint(3, 10))
        for i in range(rng.randint(1, 12)):
            ends = tuple(rng.sample(names, 2))
            knee = rng.choice([0.0, 0.3, 0.7, 2.0])
            ohm = rng.choice([1e-3, 0.02, 5.0])
            parts.append(Diode(id=f"R{i}d", nodes=ends, forward_volts=knee, on_ohm=ohm))
        point = solve(network(parts))
        edges = []
        for part in parts:
            if isinstance(part, Diode):
                on = point.flows(part)[0].amps != 0
                g = 1 / Fraction(part.on_ohm) if on else Fraction(0)
                edges.append(Edge(*part.nodes, g, part.forward_volts))
            else:
                edges += edges_of(network([part]))
        true = {n: float(v or 0) for n, v in solve_exactly(edges, "0").volts.items()}
        assert point.node_volts == pytest.approx(true, abs=1e-12)
        for part, edge in zip(parts, edges, strict=True):
            if isinstance(part, Diode):
                above = true[edge.a] - true[edge.b] - part.forward_volts
                assert above > -1e-8 if edge.siemens else above < 1e-8
                conducting += edge.siemens > 0
                blocking += edge.siemens == 0
    assert min(conducting, blocking) > 100


def load(rng: random.Random, i: int, ends: tuple[str, ...]) -> Part:
    """A lamp, motor, LED lamp or diode of some size."""
    volts = rng.choice([13.5, 28.0])
    match rng.randrange(4):
        case 0:
            return Lamp(id=f"E{i}", nodes=ends, watts=rng.choice([3, 5, 21, 55]), volts=volts)
        case 1:
            run = rng.uniform(0.5, 15)
            stall = run * rng.uniform(2.5, 8)
            friction = rng.choice([0.0, 0.15, 0.5, 0.9])
            return Motor(
                id=f"M{i}", nodes=ends, volts=volts, run_amps=run, stall_amps=stall,
                friction=friction,
            )  # fmt: skip
        case 2:
            return LedLamp(id=f"P{i}", nodes=ends, watts=2, volts=volts, forward_volts=8)
        case _:
            return Diode(id=f"R{i}d", nodes=ends)


def loaded(rng: random.Random) -> Circuit:
    """Two to eight such loads in a metered mesh."""
    names, parts = metered(rng, rng.randint(3, 9))
    parts += [load(rng, i, tuple(rng.sample(names, 2))) for i in range(rng.randint(2, 8))]
    return network(parts)


@pytest.mark.ngspice
def test_loads_in_random_networks_against_ngspice(ngspice: str, tmp_path: Path) -> None:
    """Within 1e-6 V at every node; ngspice iterates the laws in another way."""
    rng = random.Random(2)
    circuits = [loaded(rng) for _ in range(200)]
    points = [solve(circuit) for circuit in circuits]
    cases = []
    for point in points:
        on = [
            (part.id, "")
            for part in point.circuit.parts
            if isinstance(part, Diode | LedLamp) and point.flows(part)[0].amps != 0
        ]
        cases.append(frozen(point.circuit, {}, on))
    for point, volts in zip(points, solve_by_ngspice(cases, tmp_path, ngspice), strict=True):
        assert point.node_volts == pytest.approx(volts, abs=1e-6)
        for part in point.circuit.parts:
            if isinstance(part, Diode | LedLamp):
                a, b = (volts[node] or 0.0 for node in part.nodes)
                above = a - b - part.forward_volts
                on_now = point.flows(part)[0].amps != 0
                assert above > -1e-6 if on_now else above < 1e-6


@pytest.mark.parametrize("series", ["meter", "lamp"])
def test_a_frictionless_motor_held_to_a_crawl(series: str) -> None:
    """Fed by next to no current, i grows as v²: plain secant steps would swing for ever.

    From the law: i = I0·x² and v = R·i + E·x, with R = 0.3 Ω and E = 13.5 V − 8 A·0.3 Ω.
    """
    feed: Part = Resistor(id="R1", nodes=("p", "m"), ohm=1e7)
    if series == "lamp":
        feed = Lamp(id="E1", nodes=("p", "m"), watts=0.05, volts=28)
    motor = Motor(id="M1", nodes=("m", "0"), volts=13.5, run_amps=8, stall_amps=45, friction=0)
    point = solve(network([Battery(id="GB", nodes=("p", "0"), emf_volts=12.65), feed, motor]))
    volts, amps = point.volts("m"), point.flows(motor)[0].amps
    assert volts is not None
    assert amps == pytest.approx(point.flows(feed)[0].amps, rel=1e-9)
    assert volts == pytest.approx(0.3 * amps + (13.5 - 8 * 0.3) * (amps / 8) ** 0.5, rel=1e-9)


def test_two_parts_of_one_name_are_refused() -> None:
    """Cases are told apart by part ids, so a second R1 would quietly take the first one's place."""
    parts = [Resistor(id="R1", nodes=("a", "0"), ohm=r) for r in (1.0, 2.0)]
    with pytest.raises(InputError, match="two parts are called R1"):
        solve(network([Battery(id="GB", nodes=("a", "0"), emf_volts=12.65), *parts]))
