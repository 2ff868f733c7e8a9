"""Wires, fuses, lamps, batteries, relays and meters against published figures.

Sources stand in `values.csv` beside each figure; how a figure is known stands there too.
"""

from __future__ import annotations

import random
import re
from math import log, pi

import numpy as np
import pytest

from quizgen.circuit.components import Ground, Lamp, Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.circuit.wire_data import COLOURS, MILLIOHM_PER_METRE, colour_parts, wire_ohm
from quizgen.faults.usual import BLADE_AMPS
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.laws import FILAMENT_EXPONENT, FilamentLaw
from quizgen.solver.observation import LAMP_LEVELS
from quizgen.solver.protectors import opening_seconds
from tests.checks.published import Row, rows, take, take_one

METRES_PER_FOOT = 0.3048


def circuit(*parts: Part) -> Circuit:
    """Parts with reference node 0."""
    return Circuit(name="t", title="t", system_volts=12.0, parts=parts, reference="0")


def source(volts: float, plus: str = "a") -> Source:
    """An ideal source from node 0."""
    return Source(id=f"G{plus}", nodes=(plus, "0"), volts=volts)


def resistor(name: str, a: str, b: str, ohm: float) -> Resistor:
    """Between two nodes."""
    return Resistor(id=name, nodes=(a, b), ohm=ohm)


def amps(point: OperatingPoint, part: str) -> float:
    """Size of the current through a part of one branch."""
    return abs(point.flows(point.circuit.part(part))[0].amps)


def ids(row: Row) -> str:
    """Name of a test case."""
    return row.id


# --- wires ----------------------------------------------------------------------------


def our_ohm(mm2: float) -> float:
    """Ohm per metre of a cross-section between two of the table, on log scales."""
    table = MILLIOHM_PER_METRE
    x, y = np.log(list(table)), np.log(list(table.values()))
    return float(np.exp(np.interp(log(mm2), x, y))) / 1000.0


def awg_mm2(gauge: float) -> float:
    """Area by the rule of the American wire gauge."""
    rule = take_one("AWG-formula")
    inch, base, zero, step = map(
        float, re.search(r"= ([\d.]+) in \* (\d+)\^\(\((\d+)-n\)/(\d+)\)", rule.value).groups()
    )  # type: ignore[union-attr]
    diameter = 25.4 * inch * base ** ((zero - gauge) / step)
    return pi / 4 * diameter**2


def test_the_wire_table_is_the_published_one() -> None:
    """Every cross-section, and no other."""
    published = {float(row.key): row.number for row in take("ISO6722-")}
    assert published == MILLIOHM_PER_METRE


@pytest.mark.parametrize("row", take("IEC60228-"), ids=ids)
def test_a_wire_lies_between_solid_and_flexible_copper(row: Row) -> None:
    """Stranded: no better than classes 1 and 2 (but for 1 %), no worse than class 5."""
    milliohm = wire_ohm(float(row.key), 1.0) * 1000.0
    if "-C5-" in row.id:
        assert milliohm <= row.number
    else:
        assert milliohm >= 0.99 * row.number


@pytest.mark.parametrize("row", take("IACS-rho", "LIEC-rho-Copper", "OS-rho-Cu"), ids=ids)
def test_no_wire_is_better_than_pure_copper(row: Row) -> None:
    """And none is more than 18 % worse than its nominal cross-section of it would be."""
    ohm_mm2 = row.number * {"ohm*mm2/m": 1.0, "microohm-cm": 0.01, "ohm*m": 1e6}[row.unit]
    for mm2 in MILLIOHM_PER_METRE:
        assert 1.0 <= wire_ohm(mm2, 1.0) / (ohm_mm2 / mm2) <= 1.18


SOLID = take("AWG-1", "AWG-2", "AWG-4", "AWG-5", "AWG-6", "AWG-7", "AWG-8", "AWG-9")


@pytest.mark.parametrize("row", SOLID, ids=ids)
def test_a_wire_is_up_to_15_percent_worse_than_solid_wire_of_its_area(row: Row) -> None:
    """At the areas of the American gauges, between the sizes of our table."""
    per_metre = row.number / 1000.0 / METRES_PER_FOOT
    assert 0.98 <= our_ohm(awg_mm2(float(row.key))) / per_metre <= 1.15


@pytest.mark.parametrize("row", take("AC43-R-"), ids=ids)
def test_a_wire_is_near_aircraft_wire_of_its_area(row: Row) -> None:
    """Tinned and stranded otherwise: within 20 %."""
    per_metre = row.number / 1000.0 / METRES_PER_FOOT
    assert our_ohm(awg_mm2(float(row.key))) / per_metre == pytest.approx(1.0, abs=0.2)


def test_rules_of_thumb_hold_for_the_table() -> None:
    """AWG 15 about 10 mohm/m; three gauges double the resistance, ten make ten times.

    The rule is for solid wire; ours is up to 15 % worse.
    """
    assert take_one("AWG-rule").value.startswith("AWG 15 about 10 mohm/m; +3 gauges doubles R")
    assert our_ohm(awg_mm2(15)) == pytest.approx(0.010, rel=0.2)
    for gauge in range(4, 20):
        assert our_ohm(awg_mm2(gauge + 3)) / our_ohm(awg_mm2(gauge)) == pytest.approx(2, rel=0.15)
    for gauge in range(4, 14):
        assert our_ohm(awg_mm2(gauge + 10)) / our_ohm(awg_mm2(gauge)) == pytest.approx(10, rel=0.15)


@pytest.mark.parametrize("row", take("AC43-VD-"), ids=ids)
def test_worked_voltage_drops(row: Row) -> None:
    """A source drives the stated current through a wire of so many feet; printed digits."""
    per_foot, feet, load = map(
        float, re.match(r"([\d.]+) ohm/ft x ([\d.]+) ft x ([\d.]+) A", row.conditions).groups()
    )  # type: ignore[union-attr]
    ohm = per_foot * feet
    point = solve(
        circuit(
            source(load * (ohm + 1.0)),
            resistor("R1", "a", "b", ohm),
            resistor("R2", "b", "0", 1.0),
        )
    )
    assert amps(point, "R1") == pytest.approx(load)
    drop = (point.volts("a") or 0.0) - (point.volts("b") or 0.0)
    digits = len(row.value.partition(".")[2])
    assert drop == pytest.approx(row.number, abs=0.6 * 10.0**-digits)


def test_the_wire_size_of_the_worked_example() -> None:
    """28 V, 20 A, 50 ft, 1 V allowed: No. 8 does, the next thinner of the even sizes does not."""
    row = take_one("AC43-ex1")
    size = float(row.value.removeprefix("No. "))
    metres = 50 * METRES_PER_FOOT
    assert our_ohm(awg_mm2(size)) * metres * 20 <= 1.0
    assert our_ohm(awg_mm2(size + 2)) * metres * 20 > 1.0


def test_a_ground_stud_is_as_good_as_a_bond() -> None:
    """Bonding resistance of equipment to structure."""
    most = float(take_one("AC43-bond").value.removeprefix("< "))
    assert Ground(id="G1", nodes=("a", "0")).ohm * 1000.0 < most


def test_colour_codes_stand_in_the_standards_order() -> None:
    """Codes, names and order; two are joined in that order, green with yellow is reserved."""
    published = [(row.value, row.quantity.split()[-1]) for row in take("IEC60757-")
                 if row.id != "IEC60757-mix"]  # fmt: skip
    assert published == list(COLOURS.items())
    assert "RDBU" in rows()["IEC60757-mix"].value
    assert colour_parts("RDBU") == ("RD", "BU")
    for wrong in ("BURD", "GNYE", "YEGN"):
        with pytest.raises(ValueError, match=wrong):
            colour_parts(wrong)


# --- fuses ----------------------------------------------------------------------------


@pytest.mark.parametrize("row", take("ISO8820-"), ids=ids)
def test_opening_times_lie_between_shortest_and_longest(row: Row) -> None:
    """At the stated multiple of the rating."""
    words = re.search(r"(\d+) % of", row.quantity)
    assert words
    seconds = float(opening_seconds(np.array([float(words[1]) / 100.0]))[0])
    if "longest" in row.quantity:
        assert seconds <= row.number
    else:
        assert seconds >= row.number


def test_blade_fuses_come_in_these_ratings() -> None:
    """One colour for each, so the colour table has every rating."""
    published = [float(row.key) for row in take("FUSECOL-")]
    assert tuple(published) == BLADE_AMPS


# --- lamps ----------------------------------------------------------------------------

OBJECTIVE = take("P21/5W-", "R5W-12V", "R10W-12V", "T4W-12V")
MOST = take("R37-P", "R37-R", "R37-T4W", "R37-W5W", "R37-C5W", "R37-H", "PY21/5W-")
RATED = take("H1-rated", "H3-rated")


@pytest.mark.parametrize("row", OBJECTIVE, ids=ids)
def test_a_lamp_takes_its_objective_power_at_its_test_voltage(row: Row) -> None:
    """Fed by an ideal source of that voltage."""
    volts = float(re.search(r"([\d.]+) V", row.conditions)[1])  # type: ignore[index]
    lamp = Lamp(id="E1", nodes=("a", "0"), watts=row.number, volts=volts)
    assert amps(solve(circuit(source(volts), lamp)), "E1") * volts == pytest.approx(row.number)


def kinds_of_lamp(system: float) -> list[tuple[float, float]]:
    """(rated, highest) watts of every published kind for 12 or 24 V."""
    found = []
    for row in MOST:
        if f"{system:g} V " in row.quantity:
            filament = re.search(r"rated ([\d/]+) W", row.conditions)[1].split("/")  # type: ignore[index]
            minor = row.id.endswith("-5")
            found.append((float(filament[-1 if minor else 0]), row.number))
    return found


def test_published_kinds_of_lamps_are_consistent() -> None:
    """The rated powers of two sources agree; objective powers lie between rated and highest."""
    for row in RATED:
        assert (row.number, 68.0 if row.key == "12" else 84.0) in kinds_of_lamp(float(row.key))
    for row in OBJECTIVE:
        system = float(re.search(r" (\d+) V ", row.quantity)[1])  # type: ignore[index]
        if system > 6:
            assert any(low <= row.number <= high for low, high in kinds_of_lamp(system)), row.id


TEST_VOLTS = {12.0: {13.5, 13.2}, 24.0: {28.0}}


@pytest.mark.parametrize("name", shipped_templates())
def test_lamps_of_shipped_circuits_exist(name: str) -> None:
    """Test voltage and watts of each are those of a published kind, pilot lamps under 4 W aside.

    Brake and tail filament, headlamps and all: at random settings of both system voltages.
    """
    words = take_one("R37-testV").value
    assert all(f"{volts}" in words for found in TEST_VOLTS.values() for volts in found)
    template = find_template(name)
    rng = random.Random(1)
    for built in (template.build(template.draw(rng)) for _ in range(12)):
        for lamp in built.parts:
            if isinstance(lamp, Lamp):
                assert lamp.volts in TEST_VOLTS[built.system_volts], lamp
                known = kinds_of_lamp(built.system_volts)
                assert lamp.watts < 4 or any(a <= lamp.watts <= b for a, b in known), lamp


def test_current_and_power_follow_the_published_exponents() -> None:
    """From 0.8 to 1.2 of rated voltage; the two exponents are rounded to differ by 1."""
    current, power = take_one("LAMP-exp-current").number, take_one("LAMP-exp-electrical").number
    assert current == FILAMENT_EXPONENT
    lamp = Lamp(id="E1", nodes=("a", "0"), watts=21, volts=13.5)
    for share in (0.8, 0.9, 1.1, 1.2):
        volts = 13.5 * share
        taken = amps(solve(circuit(source(volts), lamp)), "E1")
        assert log(taken / (21 / 13.5)) / log(share) == pytest.approx(current, abs=1e-6)
        assert log(taken * volts / 21) / log(share) == pytest.approx(power, abs=0.06)


def test_levels_of_brightness_are_levels_of_light() -> None:
    """Light goes with the 3.4th power: dark is under 1 % of it, bright over a quarter."""
    exponent = float(take_one("LAMP-exp-luminous").value.split()[0])
    (dark, _), (dim, _), _ = LAMP_LEVELS
    assert dark**exponent < 0.01
    assert 0.25 < dim**exponent < 0.5


def test_a_headlamp_hot_and_cold() -> None:
    """30 W at 12 V: hot 4.80 ohm, cold 0.350 ohm, so 34.3 A and 411 W at the first moment."""
    hot, cold = take_one("LAMP-hot").number, take_one("LAMP-cold").number
    lamp = Lamp(id="E1", nodes=("a", "0"), watts=30, volts=12)
    assert lamp.cold_ratio == take_one("LAMP-ratio").number
    for volts, ohm in ((12.0, hot), (1e-3, cold)):
        found = volts / amps(solve(circuit(source(volts), lamp)), "E1")
        assert found == pytest.approx(ohm, rel=0.002)
    law = FilamentLaw(2.5, 12.0, lamp.cold_ratio * 2.5 / 12.0)
    inrush = 12.0 * law.cold_siemens
    assert inrush == pytest.approx(take_one("LAMP-inrush-A").number, rel=0.002)
    assert 12.0 * inrush == pytest.approx(take_one("LAMP-inrush-W").number, rel=0.002)
