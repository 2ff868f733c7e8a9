"""What a voltmeter shows at points that only a diode leads to.

The other way to know: the meter as a resistor of 10 MΩ in the circuit. A diode here is a
threshold and a resistance; a real one drops a few tenths of a volt less at a microampere.
"""

from __future__ import annotations

import random

import pytest

from quizgen.circuit.components import Battery, Diode, LedLamp, Part, Resistor
from quizgen.solver import solve, solve_cases
from quizgen.solver.metering import METER_OHM, metered_volts
from tests.solver.networks import network

# 12 V over 1 Ω at "hot"; 20 mΩ to the reference under a load of about 10 A: "low" is at 0.2 V
SUPPLY = (
    Battery(id="GB1", nodes=("plus", "0"), emf_volts=12.0, internal_ohm=0.0),
    Resistor(id="R1", nodes=("plus", "hot"), ohm=1.0),
    Resistor(id="R2", nodes=("plus", "low"), ohm=1.18),
    Resistor(id="R3", nodes=("low", "0"), ohm=0.02),
)


def shown(parts: list[Part], point: str) -> float:
    """The meter's figure at a point, black lead on the reference."""
    return float(metered_volts(solve_cases([network(parts)], [(0, ())]), [point])[0, 0])


@pytest.mark.parametrize(
    ("anode", "cathode", "volts"),
    [
        ("hot", "end", 12.0 - 0.7),  # the meter's microampere drops nothing more
        ("end", "hot", 0.0),  # reverse: no current reaches the meter
        ("low", "end", 0.0),  # 0.2 V is less than the diode needs
        ("end", "low", 0.0),
        ("0", "end", 0.0),
    ],
)
def test_a_point_behind_one_diode(anode: str, cathode: str, volts: float) -> None:
    """Forward: what is before it less its threshold, never below 0 V. Reverse: nothing."""
    parts = [*SUPPLY, Diode(id="R9d", nodes=(anode, cathode), forward_volts=0.7)]
    assert shown(parts, "end") == pytest.approx(volts, abs=1e-5)


def test_two_diodes_in_a_row() -> None:
    """Two thresholds; and none from 1 V, as the first leaves too little for the second."""
    row = [
        Diode(id="R8d", nodes=("hot", "mid"), forward_volts=0.7),
        Diode(id="R9d", nodes=("mid", "end"), forward_volts=0.7),
    ]
    assert shown([*SUPPLY, *row], "end") == pytest.approx(12.0 - 1.4, abs=1e-5)
    weak = Battery(id="GB1", nodes=("hot", "0"), emf_volts=1.0, internal_ohm=1.0)
    assert shown([weak, *row], "end") == 0.0
    assert shown([weak, *row], "mid") == pytest.approx(0.3, abs=1e-5)


def test_another_diode_takes_the_push_away() -> None:
    """Of 12 V behind 1 kΩ a second diode leaves 0.3 V: too little for the one to the open end."""
    parts = [
        Battery(id="GB1", nodes=("plus", "0"), emf_volts=12.0, internal_ohm=0.0),
        Resistor(id="R1", nodes=("plus", "hot"), ohm=1000.0),
        Diode(id="R8d", nodes=("hot", "0"), forward_volts=0.3, on_ohm=0.01),
        Diode(id="R9d", nodes=("hot", "end"), forward_volts=0.7),
    ]
    assert shown(parts, "hot") == pytest.approx(0.3, abs=1e-3)
    assert shown(parts, "end") == 0.0


def test_random_networks_with_open_ends() -> None:
    """Trees of resistors and diodes with open ends: as with the meter put in as a resistor."""
    rng = random.Random(5)
    live = 0
    for _ in range(150):
        parts: list[Part] = [
            Battery(id="GB1", nodes=("1", "0"), emf_volts=12.0, internal_ohm=0.01),
            Resistor(id="R1", nodes=("1", "2"), ohm=rng.choice([0.1, 10.0])),
            Resistor(id="R2", nodes=("2", "0"), ohm=rng.choice([0.01, 1.0, 50.0])),
        ]
        for n in range(3, rng.randint(4, 8)):
            before = str(rng.randrange(n))
            ends = (before, str(n)) if rng.random() < 0.7 else (str(n), before)
            if rng.random() < 0.6:
                parts.append(Diode(id=f"R{n}d", nodes=ends))
            else:
                parts.append(Resistor(id=f"R{n}", nodes=ends, ohm=rng.choice([0.1, 100.0])))
        nodes = [n for n in network(parts).nodes if n != "0"]
        volts = metered_volts(solve_cases([network(parts)], [(0, ())]), nodes)[:, 0]
        for node, volt in zip(nodes, volts.tolist(), strict=True):
            meter = Resistor(id="R99meter", nodes=(node, "0"), ohm=METER_OHM)
            true = solve(network([*parts, meter])).volts(node)
            assert volt == pytest.approx(true, abs=2e-4)
            live += volt > 0.1
    assert live > 150


@pytest.mark.parametrize(
    ("anode", "cathode", "point", "volts"),
    [
        ("plus", "0", "minus", -8.0),  # 12 V of the battery less 4 V of the diode
        ("plus", "0", "plus", 0.0),  # the meter itself brings plus to the reference
        ("0", "minus", "plus", 8.0),
        ("0", "minus", "minus", 0.0),
        ("minus", "0", "plus", 0.0),  # reverse
    ],
)
def test_a_battery_that_only_a_diode_joins(
    anode: str, cathode: str, point: str, volts: float
) -> None:
    """A battery off its ground: a meter on one pole closes the circuit through the diode."""
    parts: list[Part] = [
        Battery(id="GB1", nodes=("plus", "minus"), emf_volts=12.0, internal_ohm=0.01),
        Diode(id="R9d", nodes=(anode, cathode), forward_volts=4.0),
    ]
    meter = Resistor(id="R99meter", nodes=(point, "0"), ohm=METER_OHM)
    true = solve(network([*parts, meter])).volts(point)
    assert shown(parts, point) == pytest.approx(volts, abs=1e-5)
    assert shown(parts, point) == pytest.approx(true, abs=1e-5)


def test_an_led_that_hangs_free_has_nothing_across_it() -> None:
    """From its far end to the reference a meter shows what the LED leaves; across it, 0 V."""
    led = LedLamp(id="P1", nodes=("hot", "end"), watts=1.0, volts=12.0, forward_volts=4.0)
    loose = solve(network([*SUPPLY, led]))
    meter = Resistor(id="R99meter", nodes=("hot", "end"), ohm=METER_OHM)
    true = solve(network([*SUPPLY, led, meter])).between("hot", "end")
    assert loose.across(led) == pytest.approx((true,), abs=1e-6) == (0.0,)
    assert shown([*SUPPLY, led], "end") == pytest.approx(8.0, abs=1e-3)
    lit = solve(network([*SUPPLY, led, Resistor(id="R9", nodes=("end", "0"), ohm=0.1)]))
    assert lit.across(led)[0] == lit.between("hot", "end") != 0.0
