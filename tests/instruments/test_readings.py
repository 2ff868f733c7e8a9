"""What each instrument shows. Trade facts are common practice, no source, unless named."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.faults import inject, parse_fault, universe
from quizgen.instruments import Measurement, Shown, measure, measure_many
from quizgen.instruments.ammeter import SeriesAmmeter
from quizgen.instruments.instrument import Instrument
from quizgen.instruments.voltmeter import Voltmeter
from quizgen.solver import solve_cases
from quizgen.solver.metering import metered_volts
from quizgen.solver.observation import observe, visible
from tests.faults.circuits import circuit, one_lamp, pump_relay, shared_breaker

ON = (("S1", "on"),)


def take(
    good: Circuit,
    instrument: str,
    red: str,
    black: str = CHASSIS,
    *faults: str,
    positions: tuple[tuple[str, str], ...] = ON,
    **preparation: tuple[str, ...],
) -> Shown:
    """A measurement on a circuit with faults; switch S1 on unless said otherwise."""
    for text in faults:
        good = inject(good, parse_fault(text))
    return measure(
        good,
        Measurement(
            instrument=instrument, red=red, black=black, positions=positions, **preparation
        ),
    )


def network(*parts: c.Part) -> Circuit:
    """A textbook network with reference node "0"."""
    return Circuit(name="network", title="", system_volts=12.0, parts=parts, reference="0")


def source(volts: float, plus: str = "1") -> c.Source:
    """An ideal source from `plus` to node 0."""
    return c.Source(id="V1", nodes=(plus, "0"), volts=volts)


def resistor(number: str, start: str, end: str, ohm: float) -> c.Resistor:
    """A resistor between two nodes."""
    return c.Resistor(id=number, nodes=(start, end), ohm=ohm)


def read(net: Circuit, instrument: Instrument, red: str, black: str = "0") -> Shown:
    """An instrument that is not in the shop, on a textbook network."""
    return measure(
        net, Measurement(instrument="it", red=red, black=black), instruments={"it": instrument}
    )


# --- voltmeter ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "red", "shown"),
    [
        ("", "GB1.+", "12.6 V"),
        ("", "E1.2", "0.0 V"),
        ("W4:open", "X1.1b", "12.6 V"),
        ("W4:open", "E1.1", "0.0 V"),
        ("G1:open", "E1.2", "12.6 V"),
        ("E1:burned-out", "E1.1", "12.6 V"),
        ("E1:burned-out", "E1.2", "0.0 V"),
        ("F1:blown", "F1.2", "0.0 V"),
        ("F1:missing", "F1.1", "12.6 V"),
    ],
)
def test_voltage_along_a_lamp_circuit(fault: str, red: str, shown: str) -> None:
    """Supply up to the break and nothing behind; behind the lamp, supply if the ground is off."""
    assert take(one_lamp(), "voltmeter", red, CHASSIS, *filter(None, [fault])).shown == shown


def test_across_an_open_the_full_voltage_across_good_parts_nothing() -> None:
    """Series circuit with one open (FAA-H-8083-30, chapter 10 in the first edition)."""
    across = {
        pair: take(one_lamp(), "voltmeter", *pair, "W3:open").shown
        for pair in [("S1.2", "X1.1a"), ("E1.1", "E1.2"), ("S1.1", "S1.2"), ("X1.1a", "X1.1b")]
    }
    assert across.pop(("S1.2", "X1.1a")) == "12.6 V"
    assert set(across.values()) == {"0.0 V"}


def test_an_open_branch_in_parallel_shows_the_branch_voltage() -> None:
    """A voltmeter cannot find it (FAA-H-8083-30): lamp 2 burned out reads as lamp 1 does."""
    on = (*ON, ("S2", "on"))
    dead = take(shared_breaker(), "voltmeter", "E2.1", "E2.2", "E2:burned-out", positions=on)
    good = take(shared_breaker(), "voltmeter", "E1.1", "E1.2", "E2:burned-out", positions=on)
    assert dead.raw == pytest.approx(good.raw, abs=0.1)


def test_a_point_that_floats_reads_nothing_with_either_lead() -> None:
    """The meter itself pulls it to the other lead."""
    for red, black in [("E1.1", CHASSIS), (CHASSIS, "E1.1")]:
        shown = take(one_lamp(), "voltmeter", red, black, "X1:open:1", "E1:burned-out")
        assert shown.shown == "0.0 V"


def test_meter_loads_a_cell() -> None:
    """1.585 V behind 0.100 Ω, meter 1.00 kΩ: 1.5848 V (OpenStax College Physics 2e, 21.4)."""
    net = network(source(1.585), resistor("R1", "1", "2", 0.1))
    assert read(net, Voltmeter(decimals=4, ohm=1000.0), "2").shown == "1.5848 V"


def test_meter_of_a_hundred_kilohm_loads_a_divider() -> None:
    """120 V over 50 kΩ and 70 kΩ, 1000 Ω/V on 100 V: about 38.8 V (US Army SS0602, lesson 1).

    The page prints 38.8 from a rounded current; the exact figure is 38.71 V.
    """
    net = network(source(120.0), resistor("R2", "1", "2", 70e3), resistor("R1", "2", "0", 50e3))
    assert read(net, Voltmeter(ohm=100e3), "2").raw == pytest.approx(38.8, abs=0.1)
    assert read(net, Voltmeter(ohm=100e3), "2").shown == "38.7 V"


def test_a_digital_meter_upsets_a_divider_of_250_megohm() -> None:
    """24 V over 2 × 250 MΩ, truly 12 V (Kuphaldt, vol. I, "voltmeter impact").

    By hand: 10 MΩ beside 250 MΩ is 9.615 MΩ, so 24 × 9.615 / 259.615 = 0.889 V.
    """
    net = network(source(24.0), resistor("R1", "1", "2", 250e6), resistor("R2", "2", "0", 250e6))
    assert read(net, Voltmeter(), "2").raw == pytest.approx(0.889, abs=5e-4)


@pytest.mark.parametrize(
    ("volts", "tenths", "thousandths"),
    [(0.0, "0.0 V", "0.000 V"), (-0.04, "0.0 V", "-0.040 V"), (1.9986, "2.0 V", "1.999 V"),
     (-12.34, "-12.3 V", "OL"), (250.0, "OL", "OL")],
)  # fmt: skip
def test_digits_of_the_two_ranges(volts: float, tenths: str, thousandths: str) -> None:
    """Tenths for voltages, thousandths for drops; never a negative zero; OL above the range."""
    net = network(source(volts), resistor("R1", "1", "0", 100.0))
    for name, shown in [("voltmeter", tenths), ("voltmeter-2V", thousandths)]:
        assert measure(net, Measurement(instrument=name, red="1", black="0")).shown == shown


@pytest.mark.parametrize("make", [pump_relay, one_lamp, shared_breaker])
def test_every_fault_reads_the_same_by_thevenins_theorem(make: Callable[[], Circuit]) -> None:
    """Two ways to put the meter in: as a part, and as a resistance before the solved point.

    The second keeps the lamps as they were, which is good to a hundredth of a millivolt.
    """
    good = make()
    circuits = [good, *(inject(good, w.fault) for w in universe(good))]
    points = [n for n in good.nodes if n != CHASSIS]
    solved = metered_volts(solve_cases(circuits, [(i, ON) for i in range(len(circuits))]), points)
    for row, red in zip(solved, points, strict=True):
        shown = measure_many(
            circuits, Measurement(instrument="voltmeter", red=red, black=CHASSIS, positions=ON)
        )
        assert [s.raw for s in shown] == pytest.approx(list(row), abs=1e-5)


@given(st.sampled_from([("E1.1", "E1.2"), ("F1.1", "X1.1a"), ("E1.2", CHASSIS)]))
def test_exchanged_leads_change_the_sign(leads: tuple[str, str]) -> None:
    """Red on the lower point reads minus."""
    one = take(one_lamp(), "voltmeter", *leads)
    other = take(one_lamp(), "voltmeter", *reversed(leads))
    assert one.raw == pytest.approx(-(other.raw or 0.0))


# --- test lamp ------------------------------------------------------------------------


def test_the_lamp_tells_a_bad_joint_that_the_voltmeter_passes() -> None:
    """Load unplugged, 5 kΩ in the feed: 12.6 V on the meter, and the lamp stays dark."""
    bad = "W4:resistance:5000"
    meter = take(one_lamp(), "voltmeter", "E1.1", CHASSIS, bad, removed=("E1",))
    lamp = take(one_lamp(), "test-lamp", "E1.1", CHASSIS, bad, removed=("E1",))
    assert meter.shown == "12.6 V"
    assert lamp.shown == "dark"
    assert take(one_lamp(), "test-lamp", "E1.1", removed=("E1",)).shown == "lit bright"


def test_the_lamp_in_place_of_a_fuse_lights_at_a_short() -> None:
    """Lit through the short while the load is unplugged; dark without the short."""
    leads = ("F1.1", "F1.2")
    short = take(one_lamp(), "test-lamp", *leads, "W3:short-to-ground",
                 removed=("F1", "E1"))  # fmt: skip
    sound = take(one_lamp(), "test-lamp", *leads, removed=("F1", "E1"))
    assert (short.shown, sound.shown) == ("lit bright", "dark")


def test_the_lamp_on_a_coils_ground_side_pulls_the_relay_in() -> None:
    """The cold filament is little resistance beside a coil of 85 Ω, and the pump starts."""
    shown = take(pump_relay(), "test-lamp", "K1.85", positions=())
    assert shown.point is not None
    assert shown.point.state(shown.point.circuit.part("K1")) == "pulled"
    assert [o.level for o in visible(shown.point.circuit, observe(shown.point))] == ["turns"]
    meter = take(pump_relay(), "voltmeter", "K1.85", positions=())
    assert meter.shown == "12.6 V"
    assert meter.point is not None
    assert meter.point.state(meter.point.circuit.part("K1")) == "rest"


def test_the_lamp_suits_the_system() -> None:
    """On 24 V it is a 24 V lamp and just as bright."""
    truck = Circuit(name="t", title="", system_volts=24.0, reference=CHASSIS, parts=(
        c.Battery(id="GB1", nodes=("GB1.+", CHASSIS), emf_volts=25.2),))  # fmt: skip
    shown = take(truck, "test-lamp", "GB1.+", positions=())
    assert shown.shown == "lit bright"
    assert shown.raw == pytest.approx(25.2 / 28.0, abs=0.01)


@pytest.mark.parametrize(
    ("share", "shown", "doubtful"),
    [(0.1, "dark", False), (0.22, "", True), (0.5, "glows dim", False), (0.72, "", True),
     (0.95, "lit bright", False)],
)  # fmt: skip
def test_brightness_near_a_step_is_doubtful(share: float, shown: str, doubtful: bool) -> None:
    """Where two people might report different things, the reading says so."""
    net = network(source(13.5 * share))
    found = measure(net, Measurement(instrument="test-lamp", red="1", black="0"))
    assert bool(found.doubts) is doubtful
    assert doubtful or found.shown == shown


def test_the_clip_closes_last() -> None:
    """With S1 off, a pull-in caused by the lamp does not happen before the controls are set.

    At K1.87 the lamp changes nothing about the relay: same state as with the voltmeter.
    """
    for instrument in ("test-lamp", "voltmeter"):
        shown = take(pump_relay(), instrument, "K1.87")
        assert shown.point is not None
        moves = [e.part for e in shown.point.events]
        assert moves[0] == "K1"


# --- ohmmeter and self-powered lamp ---------------------------------------------------


def dead(good: Circuit, instrument: str, red: str, black: str, *faults: str,
         **more: tuple[str, ...]) -> Shown:  # fmt: skip
    """A measurement with the battery off."""
    more["unplugged"] = (*more.get("unplugged", ()), "GB1")
    return take(good, instrument, red, black, *faults, **more)


def test_ohmmeter_on_parts_that_are_out() -> None:
    """Coil 85.0 Ω; the lamp cold, 13.7 times less than hot: 13.5² / 21 / 13.7 = 0.63 Ω."""
    assert dead(pump_relay(), "ohmmeter", "K1/86", "K1/85", removed=("K1",)).shown == "85.0 Ω"
    assert dead(one_lamp(), "ohmmeter", "E1/1", "E1/2", removed=("E1",)).shown == "0.6 Ω"


def test_ohmmeter_across_an_open_and_across_a_good_lamp() -> None:
    """Infinite, and some resistance (FAA-H-8083-30)."""
    assert dead(one_lamp(), "ohmmeter", "S1.2", "X1.1a", "W3:open").shown == "OL"
    assert dead(one_lamp(), "ohmmeter", "E1.1", "E1.2", "W3:open").raw == pytest.approx(
        0.63, abs=0.01
    )


def test_ohmmeter_across_a_short_is_zero() -> None:
    """Shorted resistor, power off: zero (FAA-H-8083-30)."""
    shown = dead(one_lamp(), "ohmmeter", "E1.1", "E1.2", "E1:shorted")
    assert shown.shown == "0.0 Ω"


def test_an_open_branch_hides_behind_its_neighbours() -> None:
    """Three branches of 30 Ω, one open: 15 Ω left connected, infinite alone (FAA-H-8083-30)."""
    parts = (
        resistor("R1", "1", "0", 30.0),
        resistor("R2", "1", "0", 30.0),
        resistor("R3", "1", "0", inf),
        c.Battery(id="GB1", nodes=("1", "0"), emf_volts=30.0),
    )
    assert dead_network(parts, "1", "0").shown == "15.0 Ω"
    assert dead_network(parts, "R3/1", "R3/2", "R3").shown == "OL"


def dead_network(parts: tuple[c.Part, ...], red: str, black: str, *out: str) -> Shown:
    """An ohmmeter on a network whose battery is off."""
    return measure(network(*parts), Measurement(
        instrument="ohmmeter", red=red, black=black, removed=out, unplugged=("GB1",)
    ))  # fmt: skip


@given(st.lists(st.integers(min_value=1, max_value=10**6), min_size=2, max_size=8))
def test_ohmmeter_on_a_ladder(ohms: list[int]) -> None:
    """Series, parallel, series ... worked out in exact fractions."""
    parts, value = [], Fraction(0)
    for i, ohm in enumerate(reversed(ohms)):
        near, far = f"n{len(ohms) - i - 1}", f"n{len(ohms) - i}"
        if i % 2 == 0:
            value += ohm
            parts.append(resistor(f"R{i}", near, far if i else "0", ohm))
        else:
            value = 1 / (1 / value + Fraction(1, ohm))
            parts += [
                resistor(f"R{i}", far, "0", ohm),
                resistor(f"RZ{i}", near, far, 0.0),
            ]
    first = parts[-1].nodes[0]
    shown = measure(network(*parts), Measurement(instrument="ohmmeter", red=first, black="0"))
    assert shown.raw == pytest.approx(float(value), rel=1e-9)


def test_ohmmeter_neither_opens_a_diode_nor_moves_a_relay() -> None:
    """Half a volt: a diode blocks both ways, and K1 stays at rest."""
    net = network(c.Diode(id="V1", nodes=("1", "0")))
    for leads in [("1", "0"), ("0", "1")]:
        assert measure(net, Measurement(instrument="ohmmeter", red=leads[0],
                                        black=leads[1])).shown == "OL"  # fmt: skip
    shown = dead(pump_relay(), "ohmmeter", "K1.86", "K1.85")
    assert shown.point is not None
    assert shown.point.state(shown.point.circuit.part("K1")) == "rest"


def test_the_self_powered_lamp_finds_breaks_and_misses_bad_joints() -> None:
    """Bright through a wire, dim through 5 Ω, dark through a break or a relay coil."""
    leads = ("F1.2", "X1.1a")
    assert dead(one_lamp(), "self-powered-lamp", *leads).shown == "lit bright"
    worn = dead(one_lamp(), "self-powered-lamp", *leads, "S1:resistance:1-2=5")
    assert worn.shown == "glows dim"
    assert dead(one_lamp(), "self-powered-lamp", *leads, "W2:open").shown == "dark"
    coil = dead(pump_relay(), "self-powered-lamp", "K1/86", "K1/85", removed=("K1",))
    assert coil.shown == "dark"
    assert not coil.warnings


# --- ammeters and jumper --------------------------------------------------------------


@pytest.mark.parametrize(
    ("ohms", "shown"), [((3.0, 1.5), 0.57143), ((1.5, 3.0), 1.0)]
)  # fmt: skip
def test_an_ammeter_of_half_an_ohm_in_a_branch(ohms: tuple[float, float], shown: float) -> None:
    """2 V, 3 Ω beside 1.5 Ω: 0.57143 A and 1 A (Kuphaldt, vol. I, "ammeter impact")."""
    net = network(source(2.0), resistor("R1", "1", "2", ohms[0]), resistor("R2", "1", "0", ohms[1]))
    meter = SeriesAmmeter(shunt_ohm=0.5 - 0.007 - 1e-4)  # less its fuse and clip
    assert read(net, meter, "2").raw == pytest.approx(shown, abs=5e-6)


def test_ammeter_in_place_of_the_fuse_and_clamp_around_a_wire_agree() -> None:
    """21 W at a little under 13.5 V: a bit less than 1.56 A."""
    series = take(one_lamp(), "ammeter", "F1.1", "F1.2", removed=("F1",))
    clamp = take(one_lamp(), "clamp-ammeter", "W4", "")
    assert series.raw == pytest.approx(clamp.raw, abs=0.01)
    assert 1.4 < (series.raw or 0.0) < 21 / 13.5
    assert clamp.shown == "1.5 A"


def test_a_short_blows_the_ammeters_own_fuse() -> None:
    """Then it shows nothing."""
    shown = take(one_lamp(), "ammeter", "F1.1", "F1.2", "W3:short-to-ground", removed=("F1",))
    assert shown.shown == "0.00 A, meter fuse blown"


def test_a_jumper_goes_round_the_bad_part() -> None:
    """The lamp lights with the jumper across the dead switch and stays dark elsewhere."""
    fault = "S1:open:1-2"
    levels = {}
    for leads in [("S1.1", "S1.2"), ("F1.1", "F1.2"), ("X1.1a", "X1.1b")]:
        shown = take(one_lamp(), "fused-jumper", *leads, fault)
        assert shown.shown == "jumper fuse holds"
        assert shown.point is not None
        levels[leads] = observe(shown.point)[0].level
    assert levels == {
        ("S1.1", "S1.2"): "bright", ("F1.1", "F1.2"): "dark", ("X1.1a", "X1.1b"): "dark",
    }  # fmt: skip


def test_a_jumper_onto_a_hidden_short_blows_its_fuse() -> None:
    """Nobody could know: not refused, and the fuse saves the harness."""
    shown = take(one_lamp(), "fused-jumper", "GB1.+", "E1.1", "W4:short-to-ground", positions=())
    assert not shown.refused
    assert shown.shown == "jumper fuse blown"


# --- changing readings ----------------------------------------------------------------


def test_a_cycling_breaker_makes_the_reading_come_and_go() -> None:
    """Both readings are shown, in turn, and bound the figure.

    By hand: heater 12²/200 = 0.72 Ω, breaker and battery 0.016 Ω: 12.6 × 0.72 / 0.736 = 12.33 V.
    """
    breaker = c.Breaker(id="F1", nodes=("F1.1", "F1.2"), amps=5.0, reset="automatic")
    heater = c.Heater(id="E1", nodes=("F1.2", CHASSIS), watts=200.0, volts=12.0)
    battery = c.Battery(id="GB1", nodes=("F1.1", CHASSIS), emf_volts=12.6)
    shown = take(circuit("c", battery, breaker, heater), "voltmeter", "F1.2", positions=())
    assert shown.point is not None
    assert shown.point.behaviour == "cycling"
    assert shown.shown == "12.3 V, then 0.0 V"
    assert shown.low == pytest.approx(0.0, abs=0.01)
    assert shown.high == pytest.approx(12.33, abs=0.01)
