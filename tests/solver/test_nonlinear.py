"""Filaments, motors and diodes in random networks: exact arithmetic and ngspice.

Every node has a meter's 10 MΩ to the reference, so nothing floats and, all laws rising, there
is one operating point only: whatever state of the diodes fits its own voltages is the answer.
"""

from __future__ import annotations

import itertools
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


@pytest.mark.parametrize("above", [-1e-2, -1e-6, 1e-6, 1e-4, 1e-3, 1e-2, 0.1])
@pytest.mark.parametrize("motors", [1, 3])
def test_motors_that_just_start_to_turn(above: float, motors: int) -> None:
    """Fed with hardly more than the friction takes, a motor's current hardly grows with voltage.

    In x, the share of rated speed, the law makes the loop a quadratic equation: with k equal
    motors in a row, 12.6 V = (R1 + k·R)·(I_friction + I_fan·x²) + k·E·x; below, x is 0.
    """
    volts, run, stall, friction = 13.5, 25.7, 95.7, 0.02
    ohm = volts / stall
    still, fan, emf = friction * run, (1 - friction) * run, volts - run * ohm
    total = 12.6 / (still * (1 + above))
    row = ["m", *(f"m{i}" for i in range(1, motors)), "0"]
    parts: list[Part] = [
        Battery(id="GB", nodes=("p", "0"), emf_volts=12.6, internal_ohm=0.0),
        Resistor(id="R1", nodes=("p", "m"), ohm=total - motors * ohm),
    ]
    for i, ends in enumerate(itertools.pairwise(row)):
        parts.append(
            Motor(
                id=f"M{i}", nodes=ends, volts=volts, run_amps=run, stall_amps=stall,
                friction=friction,
            )
        )  # fmt: skip
    speed, amps = 0.0, 12.6 / total
    if above > 0:
        spare, back = 12.6 - total * still, motors * emf
        speed = 2 * spare / (back + (back**2 + 4 * total * fan * spare) ** 0.5)
        amps = still + fan * speed**2
    point = solve(network(parts))
    assert point.flows(parts[1])[0].amps == pytest.approx(amps, rel=1e-9)
    assert point.volts("m") == pytest.approx(motors * (ohm * amps + emf * speed), rel=1e-8)


def test_a_motor_that_just_turns_beside_lamps() -> None:
    """R1 and the motor carry one current, and the motor's voltage is what its law says for it.

    Steps by secants alone gave up here after two thousand.
    """
    feed = Resistor(id="R1", nodes=("p", "m"), ohm=24.35425410816125)
    motor = Motor(
        id="M3", nodes=("m", "0"), volts=13.5, run_amps=25.699516547154836,
        stall_amps=95.69212122675545, friction=0.02,
    )  # fmt: skip
    lamps = [
        Resistor(id="R0", nodes=("p", "a"), ohm=87050.8969467107),
        Lamp(id="E0", nodes=("a", "b"), watts=55, volts=28),
        Lamp(id="E1", nodes=("b", "c"), watts=5, volts=28),
        Lamp(id="E2", nodes=("c", "0"), watts=1.2, volts=28),
    ]
    battery = Battery(id="GB", nodes=("p", "0"), emf_volts=12.6, internal_ohm=0.01)
    point = solve(network([battery, feed, motor, *lamps]))
    amps, volts = point.flows(motor)[0].amps, point.flows(motor)[0].volts
    assert amps == pytest.approx(point.flows(feed)[0].amps, rel=1e-9)
    assert volts == pytest.approx(turning_volts(motor, amps), rel=1e-8)


def turning_volts(motor: Motor, amps: float) -> float:
    """Volts at which a turning motor takes `amps`: its law the other way round."""
    ohm = motor.volts / motor.stall_amps
    still, fan = motor.friction * motor.run_amps, (1 - motor.friction) * motor.run_amps
    speed = ((amps - still) / fan) ** 0.5
    return float(ohm * amps + (motor.volts - motor.run_amps * ohm) * speed)


def test_rows_of_motors_and_lamps_at_a_crawl() -> None:
    """Up to four in a row behind anything from 0.01 Ω to 10 MΩ: one current, and each its law."""
    rng = random.Random(3)
    turning = 0
    for _ in range(150):
        row = ["2", *(str(n + 3) for n in range(rng.randint(0, 3))), "0"]
        parts: list[Part] = [
            Battery(
                id="GB", nodes=("1", "0"), emf_volts=rng.choice([1.0, 25.2]), internal_ohm=0.01
            ),
            Resistor(id="R1", nodes=("1", "2"), ohm=10 ** rng.uniform(-2, 7)),
        ]
        for i, ends in enumerate(itertools.pairwise(row)):
            run, ratio = rng.uniform(0.1, 40), rng.uniform(2, 10)
            if rng.random() < 0.3:
                parts.append(Lamp(id=f"E{i}", nodes=ends, watts=21, volts=28))
            else:
                parts.append(
                    Motor(
                        id=f"M{i}", nodes=ends, volts=28, run_amps=run, stall_amps=run * ratio,
                        friction=rng.choice([0, 0.02, 0.3]),
                    )
                )  # fmt: skip
        point = solve(network(parts))
        amps = point.flows(parts[1])[0].amps
        for part in parts[2:]:
            flow = point.flows(part)[0]
            assert flow.amps == pytest.approx(amps, rel=1e-9)
            if isinstance(part, Motor) and amps > part.friction * part.run_amps * (1 + 1e-6):
                assert flow.volts == pytest.approx(turning_volts(part, amps), rel=1e-8)
                turning += 1
    assert turning > 100


def test_two_parts_of_one_name_are_refused() -> None:
    """Cases are told apart by part ids, so a second R1 would quietly take the first one's place."""
    parts = [Resistor(id="R1", nodes=("a", "0"), ohm=r) for r in (1.0, 2.0)]
    with pytest.raises(InputError, match="two parts are called R1"):
        solve(network([Battery(id="GB", nodes=("a", "0"), emf_volts=12.65), *parts]))
