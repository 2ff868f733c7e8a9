"""What one fault does to a network, as textbooks say it, on random networks and on theirs."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from math import inf

import pytest

from quizgen.circuit.components import Battery, Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.solver import OperatingPoint, solve
from tests.checks.published import take_one
from tests.solver.networks import network, random_network

OPEN, SHORT = inf, 1e-6
SLACK = 1e-9  # rounding, as a share of the whole


def resistor(name: str, a: str, b: str, ohm: float) -> Resistor:
    """Between two nodes."""
    return Resistor(id=name, nodes=(a, b), ohm=ohm)


def with_ohm(circuit: Circuit, part_id: str, ohm: float) -> Circuit:
    """The circuit in which a resistor has failed."""
    return circuit.with_parts(changed=[replace(circuit.part(part_id), ohm=ohm)])  # type: ignore[call-arg]


def amps(point: OperatingPoint, part: str) -> float:
    """Size of the current."""
    return abs(point.flows(point.circuit.part(part))[0].amps)


def volts(point: OperatingPoint, part: str) -> float:
    """Size of the voltage; 0 where a part floats at one end, which drives nothing."""
    return abs(point.flows(point.circuit.part(part))[0].volts or 0.0)


def fed_networks(seed: int) -> Iterator[tuple[Circuit, str]]:
    """Random networks behind one ideal source, each with a resistor that carries current."""
    rng = random.Random(seed)
    while True:
        bare = random_network(rng, 8, 14, decades=(-1, 4), special=False, sources=0)
        circuit = network([Source(id="G1", nodes=("1", "0"), volts=12.0), *bare.parts])
        point = solve(circuit)
        used = [p.id for p in circuit.parts[1:] if amps(point, p.id) > 1e-6]
        if used:
            yield circuit, rng.choice(used)


def some(seed: int, count: int = 60) -> Iterator[tuple[Circuit, str]]:
    """The first `count` of `fed_networks`."""
    for _, found in zip(range(count), fed_networks(seed), strict=False):
        yield found


@pytest.mark.parametrize("ohm", [OPEN, SHORT])
def test_total_resistance_moves_with_the_failed_part(ohm: float) -> None:
    """Open: total resistance up, total current down. Shorted: the other way round."""
    assert "same direction" in take_one("LIEC-dir").value
    moved = 0
    for circuit, part in some(1):
        before = amps(solve(circuit), "G1")
        after = amps(solve(with_ohm(circuit, part, ohm)), "G1")
        if ohm == OPEN:
            assert after <= before * (1 + SLACK)
        else:
            assert after >= before * (1 - SLACK)
        moved += abs(after - before) > 1e-3 * before
    assert moved > 20


def test_a_shorted_part_takes_more_current_and_less_voltage() -> None:
    """Its current rises; its voltage falls or, straight across an ideal source, stays."""
    assert "its current rises, its voltage may fall" in take_one("LIEC-short").value
    for circuit, part in some(2):
        before, after = solve(circuit), solve(with_ohm(circuit, part, SHORT))
        assert amps(after, part) > amps(before, part)
        assert volts(after, part) <= volts(before, part) * (1 + SLACK)


def test_an_open_part_takes_no_current_and_may_have_more_voltage() -> None:
    """Its current is 0; the voltage across the gap is never less than it was across the part.

    Where nothing holds the far end of the gap at all, only a meter would see the voltage.
    """
    assert "current goes to zero; its voltage may rise" in take_one("LIEC-open").value
    meter = 1e9
    for circuit, part in some(3):
        gap = with_ohm(circuit, part, meter)
        before, after = solve(circuit), solve(gap)
        assert amps(solve(with_ohm(circuit, part, OPEN)), part) == 0.0
        assert volts(after, part) >= volts(before, part) * (1 - SLACK)


def test_a_short_across_one_load_takes_the_voltage_of_all() -> None:
    """Loads in parallel on a source with resistance: nearly all is lost in the source."""
    assert "almost all voltage is lost in the source resistance" in (
        take_one("LIEC-short-par").value
    )
    rng = random.Random(4)
    for _ in range(40):
        battery = Battery(id="GB1", nodes=("1", "0"), emf_volts=12.6, internal_ohm=0.05)
        loads = [resistor(f"R{n}", "1", "0", rng.uniform(1, 50)) for n in range(4)]
        sound = network([battery, *loads])
        after = solve(with_ohm(sound, "R2", 1e-4))
        assert volts(solve(sound), "R1") > 10.0
        for other in ("R0", "R1", "R3"):
            assert volts(after, other) < 0.05
            assert amps(after, other) < 0.01 * amps(solve(sound), other)


def test_two_pairs_in_series_one_resistor_shorted() -> None:
    """(R1 beside R2) in series with (R3 beside R4), R2 shorted: the table of the textbook."""
    words = take_one("LIEC-qual").value
    assert words.startswith("R total down, I total up; E(R1)=E(R2) down, E(R3)=E(R4) up")
    rng = random.Random(5)
    for _ in range(40):
        parts: list[Part] = [Source(id="G1", nodes=("1", "0"), volts=12.0)]
        for name, a, b in (("R1", "1", "2"), ("R2", "1", "2"), ("R3", "2", "0"), ("R4", "2", "0")):
            parts.append(resistor(name, a, b, rng.uniform(1, 1000)))
        before = solve(network(parts))
        after = solve(with_ohm(network(parts), "R2", SHORT))
        assert amps(after, "G1") > amps(before, "G1")
        for part, up_volts, up_amps in (
            ("R1", False, False), ("R2", False, True), ("R3", True, True), ("R4", True, True),
        ):  # fmt: skip
            assert (volts(after, part) > volts(before, part)) is up_volts, part
            assert (amps(after, part) > amps(before, part)) is up_amps, part


def string(*ohms: float) -> Circuit:
    """Resistors in series on an ideal source of 12 V."""
    nodes = ["1", *(str(n) for n in range(2, len(ohms) + 1)), "0"]
    parts = [resistor(f"R{n + 1}", nodes[n], nodes[n + 1], ohm) for n, ohm in enumerate(ohms)]
    return network([Source(id="G1", nodes=("1", "0"), volts=12.0), *parts])


def test_an_open_series_circuit_is_dead() -> None:
    """No current, no drop across any load, no power; the open has it all."""
    words = take_one("DOE-open-series").value
    assert words == "no current, no voltage drops across the loads, zero power"
    for broken in ("R1", "R2", "R3"):
        point = solve(with_ohm(string(10, 20, 30), broken, OPEN))
        for part in {"R1", "R2", "R3"} - {broken}:
            assert amps(point, part) < 1e-12
            assert volts(point, part) < 1e-12
        assert volts(point, broken) == pytest.approx(12.0)


def test_a_short_makes_a_very_large_current_and_in_parallel_a_larger_one() -> None:
    """In series the other loads limit it; a parallel load sits directly across the source."""
    assert "parallel loads are worse" in take_one("DOE-short").value
    series = solve(with_ohm(string(10, 20), "R2", SHORT))
    assert amps(series, "G1") == pytest.approx(1.2, rel=1e-3)
    side = [resistor(f"R{n}", "1", "0", 10.0) for n in (1, 2)]
    parallel = network([Source(id="G1", nodes=("1", "0"), volts=12.0), *side])
    assert amps(solve(parallel), "G1") == pytest.approx(2.4)
    assert amps(solve(with_ohm(parallel, "R1", SHORT)), "G1") > 1e6


def test_a_shorted_resistor_has_no_voltage_and_the_others_share_it() -> None:
    """Live: 0 V across it, a portion of the applied voltage across each of the others."""
    assert take_one("FAA-short-V").value == "0 V / a portion of the applied voltage"
    point = solve(with_ohm(string(10, 20, 30), "R2", 0.0))
    assert volts(point, "R2") == 0.0
    assert volts(point, "R1") == pytest.approx(3.0)
    assert volts(point, "R3") == pytest.approx(9.0)
