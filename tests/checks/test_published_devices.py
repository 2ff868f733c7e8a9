"""Flashers, terminals, letters, batteries, relays and meters against published figures.

Sources stand in `values.csv` beside each figure; how a figure is known stands there too.
"""

from __future__ import annotations

import re
from typing import get_args, get_type_hints

import pytest

from quizgen.circuit.components import (
    KINDS,
    Alternator,
    Battery,
    Contact,
    Flasher,
    Lamp,
    Part,
    Relay,
    Resistor,
    Source,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)
from quizgen.circuit.netlist import Circuit, Control
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.metering import METER_OHM
from quizgen.solver.movers import ABSENT_AMPS
from tests.checks.published import Row, take, take_one


def circuit(*parts: Part, controls: tuple[Control, ...] = ()) -> Circuit:
    """Parts with reference node 0."""
    return Circuit(
        name="t", title="t", system_volts=12.0, parts=parts, controls=controls, reference="0"
    )


def resistor(name: str, a: str, b: str, ohm: float) -> Resistor:
    """Between two nodes."""
    return Resistor(id=name, nodes=(a, b), ohm=ohm)


def source(volts: float) -> Source:
    """An ideal source from node 0 to node a."""
    return Source(id="G1", nodes=("a", "0"), volts=volts)


def amps(point: OperatingPoint, part: str) -> float:
    """Size of the current through a part of one branch."""
    return abs(point.flows(point.circuit.part(part))[0].amps)


def ids(row: Row) -> str:
    """Name of a test case."""
    return row.id


# --- flashers -------------------------------------------------------------------------


def flashing(style: str) -> OperatingPoint:
    """A flasher with two lamps of 21 W."""
    nodes = ("a", "out", "0") if style == "electronic" else ("a", "out")
    unit = Flasher(id="K1", nodes=nodes, style=style)  # type: ignore[arg-type]
    lamps = [Lamp(id=f"E{n}", nodes=("out", "0"), watts=21, volts=13.5) for n in (1, 2)]
    return solve(circuit(source(12.8), unit, *lamps))


@pytest.mark.parametrize("row", take("FLASH-"), ids=ids)
@pytest.mark.parametrize("style", ["thermal", "electronic"])
def test_flash_rates_lie_within_the_published_bounds(row: Row, style: str) -> None:
    """The bounds are written in three ways; all mean 60 to 120 a minute."""
    numbers = [float(word) for word in re.findall(r"\d+", row.value)]
    low, high = numbers
    if "+/-" in row.value:
        low, high = numbers[0] - numbers[1], numbers[0] + numbers[1]
    assert low <= 60.0 / sum(phase.seconds for phase in flashing(style).phases) <= high


@pytest.mark.parametrize("style", ["thermal", "electronic"])
def test_the_first_flash_comes_soon(style: str) -> None:
    """Light within 1 s of switching on, dark for the first time within 1.5 s."""
    words = take_one("R48-6.5.9").value
    assert "light on within 1 s" in words
    assert "first extinction within 1.5 s" in words
    nodes = ("b", "out", "0") if style == "electronic" else ("b", "out")
    unit = Flasher(id="K1", nodes=nodes, style=style)  # type: ignore[arg-type]
    lamps = [Lamp(id=f"E{n}", nodes=("out", "0"), watts=21, volts=13.5) for n in (1, 2)]
    switch = Switch(
        id="S1", nodes=("a", "b"), pins=("1", "2"), positions=("off", "on"),
        closes=((), (Contact(a="1", b="2"),)), control="S1",
    )  # fmt: skip
    hand = Control(name="S1", positions=("off", "on"), rest="off")
    point = solve(circuit(source(12.8), switch, unit, *lamps, controls=(hand,)), [{"S1": "on"}])
    times = {e.change: e.seconds for e in reversed(point.events) if e.after == "S1=on"}
    assert times.get("closes again", 0.0) <= 1.0
    assert times["opens"] <= 1.5


def test_a_lamp_that_is_not_there_draws_next_to_nothing() -> None:
    """LED substitutes: no flashing below 10 mA, failure detected from 30 mA."""
    words = take_one("W5W-LED-sub").value
    low, none = re.search(r"window (\d+)-\d+ mA; below (\d+) mA no flash", words).groups()  # type: ignore[union-attr]
    assert float(none) / 1000.0 < ABSENT_AMPS < float(low) / 1000.0


# --- terminals and letters ------------------------------------------------------------


def test_terminals_are_those_of_the_standard() -> None:
    """Each numbered terminal of relay, starter, flasher, wiper and alternator is listed there."""
    listed: set[str] = set()
    for row in take("DIN72552-"):
        listed |= set(re.findall(r"[\w+]+", row.quantity))
    kinds: dict[type[Part], dict[str, object]] = {
        Relay: {"contact": "changeover"},
        StarterSolenoid: {},
        Flasher: {},
        TwoSpeedMotor: {"volts": 12, "low_amps": 3, "high_amps": 5, "stall_amps": 25},
        Alternator: {"control": "engine", "sensed": False},
    }
    for kind, values in kinds.items():
        part = kind(id="K1", nodes=(), **values)  # type: ignore[arg-type]
        assert set(part.terminals) <= listed, kind.kind


MEANING = {  # kind → a word of its class in the standard
    "battery": "supply", "alternator": "generator", "fuse": "fuse", "breaker": "breaker",
    "switch": "switch", "relay": "relay", "resistor": "restricting", "diode": "diode",
    "lamp": "lamp", "heater": "heater", "motor": "motor", "horn": "horn", "gauge": "meter",
    "sender": "sensors", "wire": "wire", "connector": "connector", "flasher": "relay",
    "two_speed_motor": "motor", "starter_solenoid": "relay", "fusible_link": "fuse",
    "led_lamp": "lamp", "resistor_pack": "restricting", "solenoid": "actuator",
}  # fmt: skip


def test_reference_letters_are_those_of_the_standard() -> None:
    """The first letter that a kind may have is that of its class; Y from vehicle practice."""
    classes = {row.key: row.value for row in take("IEC81346-")}
    vehicle = dict(re.findall(r"([A-Z]) ([a-z /]+)", take_one("VEH-letters").value))
    for kind, word in MEANING.items():
        letter = KINDS[kind].letters[0][0]
        assert word in classes.get(letter, vehicle.get(letter, "")), kind
    assert set(MEANING) == set(KINDS) - {"source", "splice", "ground", "bridge"}
    used = {letter[0] for kind in KINDS.values() for letter in kind.letters} - {"~", "V"}
    assert used == {*classes, "Y"}


# --- batteries ------------------------------------------------------------------------


@pytest.mark.parametrize("row", take("BCI-"), ids=ids)
def test_rested_voltage_falls_with_the_charge(row: Row) -> None:
    """Within 0.04 V of the table at every quarter; the fault keeps the law a straight line."""
    charge = int(row.key)
    good = circuit(Battery(id="GB1", nodes=("a", "0"), emf_volts=12.65))
    bad = inject(good, parse_fault(f"GB1:weak:{charge}")) if charge < 100 else good
    assert solve(bad).volts("a") == pytest.approx(row.number, abs=0.04)


def test_internal_resistance_from_charging() -> None:
    """15.0 V drive 8.00 A into 12.0 V of emf."""
    row = take_one("CP-charge")
    battery = Battery(id="GB1", nodes=("a", "0"), emf_volts=12.0, internal_ohm=row.number)
    assert amps(solve(circuit(source(15.0), battery)), "GB1") == pytest.approx(8.0)


def test_internal_resistance_from_a_step_of_load() -> None:
    """5.00 A more, 2.00 V less."""
    row = take_one("CP-r")
    battery = Battery(id="GB1", nodes=("a", "0"), emf_volts=12.0, internal_ohm=row.number)
    found = []
    for ohm in (10.0, 1.0):
        point = solve(circuit(battery, resistor("R1", "a", "0", ohm)))
        found.append((point.volts("a") or 0.0, amps(point, "R1")))
    (v1, i1), (v2, i2) = found
    assert (v1 - v2) / (i2 - i1) == pytest.approx(2.0 / 5.0)


# --- relays ---------------------------------------------------------------------------

SHEETS = take("RELAY-TE", "RELAY-OEN", "RELAY-PAN")


def sheet(name: str) -> dict[str, float]:
    """coil, pull-in and drop-out of one data sheet."""
    return {r.id.removeprefix(f"{name}-"): r.number for r in SHEETS if r.id.startswith(f"{name}-")}


def names() -> list[str]:
    """The data sheets."""
    return sorted({r.id.rpartition("-coil")[0] for r in SHEETS if r.id.endswith("-coil")})


@pytest.mark.parametrize("name", names())
def test_a_relay_pulls_in_and_drops_out_where_its_sheet_says(name: str) -> None:
    """It pulls in at the printed voltage and not 0.1 V below; it holds to 0.1 V above drop-out."""
    data = sheet(name)
    volts = {"low": data["pull-in"] - 0.1, "high": data["pull-in"],
             "held": data["drop-out"] + 0.1, "gone": data["drop-out"]}  # fmt: skip
    feeds = [Source(id=f"G{n}", nodes=(n, "0"), volts=v) for n, v in volts.items()]
    pins = ("c", *volts)
    selector = Switch(
        id="S1", nodes=("coil", *volts), pins=pins, positions=("off", *volts),
        closes=((), *((Contact(a="c", b=n),) for n in volts)), control="S1", contact_ohm=0.0,
    )  # fmt: skip
    relay = Relay(
        id="K1", nodes=("coil", "0", "x", "y"), coil_ohm=data["coil"],
        pull_in_volts=data["pull-in"], drop_out_volts=data["drop-out"],
    )  # fmt: skip
    hand = Control(name="S1", positions=selector.positions, rest="off")
    bench = circuit(*feeds, selector, relay, controls=(hand,))
    states = []
    moves: list[dict[str, str]] = []
    for position in volts:
        moves.append({"S1": position})
        states.append(solve(bench, moves).state(relay))
    assert states == ["rest", "pulled", "pulled", "rest"]


def test_the_usual_relay_is_one_of_the_sheets() -> None:
    """Coil, pull-in and drop-out of the defaults."""
    usual = Relay(id="K1", nodes=())
    have = [usual.coil_ohm, usual.pull_in_volts, usual.drop_out_volts]
    assert have in [[d["coil"], d["pull-in"], d["drop-out"]] for d in map(sheet, names())]


def test_a_relay_contact_drops_what_sheets_allow() -> None:
    """15 mV typically, 50 mV for the best guaranteed one, at 10 A."""
    words = take_one("RELAY-contact").value
    assert "15 typ" in words
    assert "50 (OEN 79)" in words
    assert 15.0 <= Relay(id="K1", nodes=()).contact_ohm * 10.0 * 1000.0 <= 50.0


def test_a_pull_in_voltage_is_within_what_a_weak_battery_gives() -> None:
    """Every sheet: 0.5 to 0.7 of nominal; the conditions a template may choose are all kinds."""
    for name in names():
        nominal = 24.0 if sheet(name)["pull-in"] > 12.0 else 12.0
        assert 0.5 <= sheet(name)["pull-in"] / nominal <= 0.7
    assert set(get_args(get_type_hints(Relay)["contact"])) == {"make", "break", "changeover"}


# --- meters ---------------------------------------------------------------------------


def test_a_voltmeter_has_ten_megohm() -> None:
    """Input resistance of an inexpensive digital meter."""
    assert take_one("DMM-R").number == METER_OHM


def test_a_meter_of_ten_times_the_resistance_reads_a_tenth_low_at_most() -> None:
    """Across one of two equal resistors: their Thevenin resistance is half of one."""
    factor = float(re.search(r"(\d+) x", take_one("METER-10x").value)[1])  # type: ignore[index]
    pair = (resistor("R1", "a", "m", 1000.0), resistor("R2", "m", "0", 1000.0))
    plain = solve(circuit(source(12.0), *pair)).volts("m") or 0.0
    meter = resistor("R3", "m", "0", factor * 1000.0)
    loaded = solve(circuit(source(12.0), *pair, meter)).volts("m") or 0.0
    assert 0.9 * plain < loaded < plain


def test_multipliers_of_a_moving_coil_voltmeter() -> None:
    """1 mA at full scale whatever the range: 1000 ohm per volt."""
    row = take_one("METER-ohmV")
    assert row.number == 1000.0
    for volts, multiplier in ((1, 500.0), (10, 9.5e3), (100, 99.5e3), (1000, 999.5e3)):
        point = solve(circuit(source(volts), resistor("R1", "a", "m", multiplier),
                              resistor("R2", "m", "0", 500.0)))  # fmt: skip
        assert amps(point, "R2") == pytest.approx(1e-3)
        assert (multiplier + 500.0) / volts == row.number


@pytest.mark.parametrize("row", take("OHMMETER-"), ids=ids)
def test_scale_of_a_series_ohmmeter(row: Row) -> None:
    """9 V, 8.5 kohm and a movement of 500 ohm and 1 mA, in series with what is measured."""
    point = solve(
        circuit(
            source(9.0),
            resistor("R1", "a", "b", 8500.0),
            resistor("R2", "b", "c", 500.0),
            resistor("R3", "c", "0", row.number),
        )
    )
    place = {"full": 1.0, "3/4": 0.75, "1/2": 0.5, "1/4": 0.25}
    share = place[re.search(r"at (\S+) scale", row.quantity)[1]]  # type: ignore[index]
    assert amps(point, "R2") / 1e-3 == pytest.approx(share)


def test_current_of_a_voltmeter() -> None:
    """A meter of 100 kohm across 10 ohm takes 0.1 mA at 10 V and 1 mA at 100 V."""
    words = take_one("NEETS-1-27").value
    for milliamps, volts in re.findall(r"([\d.]+) mA at (\d+) V", words):
        meter, load = resistor("R1", "a", "0", 100e3), resistor("R2", "a", "0", 10.0)
        point = solve(circuit(source(float(volts)), meter, load))
        assert amps(point, "R1") * 1000.0 == pytest.approx(float(milliamps))
