"""The verifier's voltmeter against voltage dividers that a person can work out."""

from __future__ import annotations

import random

import pytest

from quizgen.circuit.components import Lamp, Relay, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.items.verify.meter import bounds, margin, measure, shown_as
from quizgen.solver import solve_cases


def circuit(*parts: Resistor | Lamp | Relay) -> Circuit:
    """12 V between "top" and the reference, and these parts."""
    source = Source(id="V1", nodes=("top", "0"), volts=12.0)
    return Circuit(
        name="divider", title="", system_volts=12.0, parts=(source, *parts), reference="0"
    )


def resistor(name: str, a: str, b: str, ohm: float) -> Resistor:
    """One resistor."""
    return Resistor(id=name, nodes=(a, b), ohm=ohm)


MEGOHMS = circuit(resistor("R1", "top", "mid", 1e6), resistor("R2", "mid", "0", 1e6))
HANGING = circuit(
    resistor("R1", "top", "0", 100.0),
    resistor("R2", "x", "y", 100.0),
    resistor("R3", "top", "z", 1e6),
)


def test_the_meter_loads_what_it_measures() -> None:
    """1 MΩ over 1 MΩ and the meter's 10 MΩ beside: 12 V · (10/11) / (1 + 10/11) = 5.714 V."""
    ((low, high),) = measure((), [(MEGOHMS, ("mid", "0"))])
    assert low == high == pytest.approx(12.0 * 10.0 / 21.0)
    assert measure((), [(MEGOHMS, ("0", "mid"))])[0][0] == pytest.approx(-12.0 * 10.0 / 21.0)


def test_bounds_hold_the_exact_reading_and_the_reading_without_a_meter() -> None:
    """The lower one takes both resistors in series, 2 MΩ: 6 V / 1.2 = 5 V; the upper is 6 V."""
    low, high = bounds(solve_cases([MEGOHMS], [(0, ())]), ("mid", "0"))
    assert (low[0], high[0]) == pytest.approx((5.0, 6.0))
    low, high = bounds(solve_cases([MEGOHMS], [(0, ())]), ("0", "mid"))
    assert (low[0], high[0]) == pytest.approx((-6.0, -5.0))


def test_points_that_hang_loose_read_nothing() -> None:
    """A point that nothing joins to the other lead reads 0 V, one at the end of 1 MΩ 10/11 of it.

    Between two loose points that a resistor joins there is nothing either.
    """
    pairs = [("x", "0"), ("x", "y"), ("x", "top"), ("z", "0")]
    shown = [low for low, _ in measure((), [(HANGING, pair) for pair in pairs])]
    assert shown == pytest.approx([0.0, 0.0, 0.0, 12.0 * 10.0 / 11.0], abs=1e-9)
    solutions = solve_cases([HANGING], [(0, ())])
    for pair, volts in zip(pairs, shown, strict=True):
        low, high = bounds(solutions, pair)
        assert low[0] - 1e-9 <= volts <= high[0] + 1e-9


def test_bounds_hold_in_random_ladders() -> None:
    """Whatever the resistors, the exact reading lies between the bounds (Rayleigh)."""
    rng = random.Random(5)
    for _ in range(30):
        nodes = ["top", "a", "b", "c", "0"]
        parts = [
            resistor(f"R{i}", *rng.sample(nodes, 2), 10.0 ** rng.uniform(-2, 7)) for i in range(8)
        ]
        made = circuit(*parts)
        pair = tuple(rng.sample([n for n in nodes if n in made.nodes], 2))
        ((volts, _),) = measure((), [(made, pair)])
        low, high = bounds(solve_cases([made], [(0, ())]), pair)
        assert low[0] - 1e-6 <= volts <= high[0] + 1e-6


def test_a_chattering_point_swings() -> None:
    """A relay that opens its own supply: its coil reads the supply and nothing in turn."""
    buzzer = Relay(
        id="K1",
        nodes=("coil", "0", "top", "coil"),
        contact="break",
        pull_in_volts=8.0,
        drop_out_volts=1.5,
    )
    made = circuit(buzzer)
    ((low, high),) = measure((), [(made, ("coil", "0"))])
    assert low == pytest.approx(0.0, abs=0.01)
    assert high == pytest.approx(12.0, abs=0.01)


@pytest.mark.parametrize(
    ("volts", "text"),
    [(12.34, "12.3 V"), (0.04, "0.0 V"), (-0.04, "0.0 V"), (-12.65, "−12.7 V"), (0.0, "0.0 V")],
)
def test_one_decimal_and_a_true_minus(volts: float, text: str) -> None:
    """As printed; nothing is ever shown as minus zero."""
    assert shown_as(volts) == text


def test_the_margin_is_twice_half_a_percent_and_a_digit() -> None:
    """10 V: 2 · (0.05 V + 0.1 V), the same below zero."""
    assert margin(10.0) == margin(-10.0) == pytest.approx(0.3)
