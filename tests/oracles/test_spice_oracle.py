"""The ngspice oracle against the exact oracle and against the laws solved by bisection."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from quizgen.circuit.components import (
    Battery,
    Diode,
    Fuse,
    Lamp,
    Motor,
    Part,
    Resistor,
    Source,
)
from quizgen.circuit.netlist import Circuit
from tests.oracles.exact import Edge, resistor, solve_exactly, source
from tests.oracles.spice import frozen, solve_by_ngspice

pytestmark = pytest.mark.ngspice


def bare(*parts: Part) -> Circuit:
    """A circuit of `parts` with reference node "0"."""
    return Circuit(name="bare", title="bare", system_volts=12, parts=parts, reference="0")


def bisect(rises: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function passes 0."""
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if rises(middle) < 0 else (low, middle)
    return low


def in_series(ngspice: str, folder: Path, load: Part, ohm: float, volts: float) -> float:
    """ngspice's voltage at node n of: source, resistor, node n, load, reference."""
    circuit = bare(
        Source(id="V1", nodes=("p", "0"), volts=volts),
        Resistor(id="R1", nodes=("p", "n"), ohm=ohm),
        load,
    )
    answer = solve_by_ngspice([frozen(circuit, {})], folder, ngspice)[0]["n"]
    assert answer is not None
    return answer


def test_linear_networks_agree_with_rational_arithmetic(ngspice: str, tmp_path: Path) -> None:
    """Forty random meshes from 1 mΩ to 1 kΩ with two sources: within 1e-9 V, same floating set."""
    rng = random.Random(7)
    circuits, exact = [], []
    for _ in range(40):
        nodes = [str(n) for n in range(8)]
        parts: list[Part] = []
        edges: list[Edge] = []
        for i in range(12):
            a, b = rng.sample(nodes, 2)
            ohm = 10 ** rng.uniform(-3, 3)
            parts.append(Resistor(id=f"R{i}", nodes=(a, b), ohm=ohm))
            edges.append(resistor(a, b, ohm))
        for i, (a, b) in enumerate((("1", "0"), ("2", "3"))):
            volts = rng.uniform(-24, 24)
            parts.append(Source(id=f"V{i}", nodes=(a, b), volts=volts))
            edges.append(source(a, b, volts))
        circuits.append(bare(*parts))
        exact.append(solve_exactly(edges, "0").volts)
    cases = [frozen(circuit, {}) for circuit in circuits]
    for found, true in zip(solve_by_ngspice(cases, tmp_path, ngspice), exact, strict=True):
        assert {n for n, v in found.items() if v is None} == {n for n in found if true[n] is None}
        for node, volts in found.items():
            if volts is not None:
                assert volts == pytest.approx(float(true[node] or 0), abs=1e-9)


@pytest.mark.parametrize("volts", [0.02, 0.3, 6.0, 12.0, -24.0])
def test_filament_law(ngspice: str, tmp_path: Path, volts: float) -> None:
    """A 21 W lamp behind 2 Ω sits where its law and Ohm's law meet, hot, cold and reversed."""
    amps, cold = 21 / 13.5, 13.7 * 21 / 13.5**2

    def left_over(v: float) -> float:
        return min(amps * (v / 13.5) ** 0.55, cold * v) - (abs(volts) - v) / 2.0

    lamp = Lamp(id="E1", nodes=("n", "0"), watts=21, volts=13.5)
    found = in_series(ngspice, tmp_path, lamp, 2.0, volts)
    assert abs(found) == pytest.approx(bisect(left_over, 1e-9, abs(volts)), abs=1e-6)
    assert found * volts > 0


@pytest.mark.parametrize("friction", [0.0, 0.15, 1.0])
@pytest.mark.parametrize("volts", [0.05, 3.0, 13.5, -27.0])
def test_motor_law(ngspice: str, tmp_path: Path, friction: float, volts: float) -> None:
    """A motor behind 0.3 Ω: torques balance at its speed and the voltages add up."""
    rated, run, stall = 13.5, 8.0, 45.0
    ohm = rated / stall
    emf = rated - run * ohm

    def amps(x: float) -> float:
        return friction * run + (1 - friction) * run * x**2

    # by speed: what the loop needs at speed x, against what there is
    standing = abs(volts) / (ohm + 0.3) <= friction * run
    x = bisect(lambda x: (ohm + 0.3) * amps(x) + emf * x - abs(volts), 0.0, 10.0)
    expected = abs(volts) * ohm / (ohm + 0.3) if standing else ohm * amps(x) + emf * x
    motor = Motor(
        id="M1", nodes=("n", "0"), volts=rated, run_amps=run, stall_amps=stall, friction=friction
    )
    found = in_series(ngspice, tmp_path, motor, 0.3, volts)
    assert found * volts > 0
    assert abs(found) == pytest.approx(expected, abs=1e-6)


def test_states_open_branches_and_blocking_diodes_leave_nodes_floating(
    ngspice: str, tmp_path: Path
) -> None:
    """A blown fuse, then a diode that conducts or blocks: by hand 12 V, 11.3 V·2/2.02, None."""
    circuit = bare(
        Battery(id="GB1", nodes=("p", "0"), emf_volts=12, internal_ohm=0.0),
        Fuse(id="F1", nodes=("p", "f"), amps=10, ohm=0.0),
        Diode(id="D1", nodes=("f", "d")),
        Resistor(id="R1", nodes=("d", "x"), ohm=2.0),
        Resistor(id="R2", nodes=("x", "0"), ohm=0.0),
        Resistor(id="R3", nodes=("y", "z"), ohm=1.0),
    )
    intact = {"F1": "intact"}
    cases = [
        frozen(circuit, intact, [("D1", "")]),
        frozen(circuit, intact),
        frozen(circuit, {"F1": "open"}),
    ]
    on, off, blown = solve_by_ngspice(cases, tmp_path, ngspice)
    assert on == pytest.approx(
        {"0": 0, "p": 12, "f": 12, "d": 11.3 * 2 / 2.02, "x": 0, "y": None, "z": None}
    )
    assert off == {"0": 0, "p": 12, "f": 12, "d": 0, "x": 0, "y": None, "z": None}
    assert blown == {"0": 0, "p": 12, "f": None, "d": 0, "x": 0, "y": None, "z": None}


def test_a_case_without_an_operating_point_is_named(ngspice: str, tmp_path: Path) -> None:
    """A lamp of NaN watts that ngspice cannot read: named, not a number left from before."""
    fair = bare(Source(id="V1", nodes=("p", "0"), volts=5))
    broken = bare(
        Resistor(id="R1", nodes=("p", "0"), ohm=1.0),
        Lamp(id="E1", nodes=("p", "0"), watts=float("nan"), volts=12),
    )
    with pytest.raises(AssertionError, match="no operating point of case 1"):
        solve_by_ngspice([frozen(fair, {}), frozen(broken, {})], tmp_path, ngspice)


def test_contradicting_sources_are_named(ngspice: str, tmp_path: Path) -> None:
    """A loop of ideal branches is cut for ngspice, and then seen not to add up."""
    circuit = bare(
        Source(id="V1", nodes=("p", "0"), volts=5), Source(id="V2", nodes=("p", "0"), volts=4)
    )
    with pytest.raises(AssertionError, match="V2 contradicts"):
        solve_by_ngspice([frozen(circuit, {})], tmp_path, ngspice)
