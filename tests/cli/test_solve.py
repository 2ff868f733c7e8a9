"""`quizgen circuit solve`: figures that a person can work out with Ohm's law."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

Run = Callable[..., Any]


def numbers(value: object) -> Iterator[float]:
    """Every number anywhere in a JSON value."""
    if isinstance(value, dict):
        for item in value.values():
            yield from numbers(item)
    elif isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float):
        yield value


def test_a_divider_gives_the_figures_of_ohms_law(quizgen: Run, circuit_file: Run) -> None:
    """12 V over 100 Ω and 200 Ω: 40 mA, 8 V in the middle, 0.48 W delivered by the source."""
    found = quizgen("circuit", "solve", circuit_file(), "--json").data
    assert found["nodes"]["top"] == {"volts": pytest.approx(12.0)}
    assert found["nodes"]["mid"] == {"volts": pytest.approx(8.0)}
    lower = found["parts"]["R2"]
    assert (lower["volts"], lower["amps"], lower["watts"]) == pytest.approx((8.0, 0.04, 0.32))
    source = found["parts"]["V1"]
    assert (source["volts"], source["amps"], source["watts"]) == pytest.approx((12.0, 0.04, 0.48))
    assert found["system_volts"] == 12.0
    assert found["behaviour"] == "steady"
    assert found["kirchhoff_residual"] < 1e-9


def test_power_taken_up_is_power_delivered(quizgen: Run) -> None:
    """Tellegen: the watts of all parts sum to those the battery delivers, signs as promised."""
    found = quizgen(
        "circuit", "solve", "blower-pack", "--position", "S1=on", "--position", "S2=3", "--json"
    ).data
    parts = dict(found["parts"])
    delivered = parts.pop("GB1")["watts"]
    taken = sum(p["watts"] for p in parts.values() if p["watts"] is not None)
    assert delivered > 100.0
    assert taken == pytest.approx(delivered, rel=1e-9)


def test_a_floating_node_has_no_volts(quizgen: Run, circuit_file: Run) -> None:
    """With the switch off nothing joins R3 to the rest: floating, and no current."""
    found = quizgen("circuit", "solve", circuit_file(), "--json").data
    assert found["nodes"]["end"] == {"floating": True}
    assert found["nodes"]["R3.2"] == {"floating": True}
    assert found["parts"]["S1"]["volts"] is None
    assert found["parts"]["S1"]["amps"] == 0.0


def test_a_dead_end_carries_the_voltage_it_hangs_on(quizgen: Run, circuit_file: Run) -> None:
    """Switch on, R3 leads nowhere: no current, no drop, the tail sits at 8 V."""
    found = quizgen("circuit", "solve", circuit_file(), "--position", "S1=on", "--json").data
    assert found["nodes"]["R3.2"]["volts"] == pytest.approx(8.0)


def test_a_setting_is_used(quizgen: Run, circuit_file: Run) -> None:
    """300 Ω above 200 Ω leaves 4.8 V."""
    found = quizgen("circuit", "solve", circuit_file(), "--set", "upper=300", "--json").data
    assert found["nodes"]["mid"]["volts"] == pytest.approx(4.8)
    assert found["settings"] == {"upper": 300}


def test_json_has_no_number_that_json_lacks(quizgen: Run) -> None:
    """Never -0.0, NaN or Infinity, also with everything dead or burning."""
    for extra in ((), ("--fault", "W31:short-to-ground"), ("--fault", "F1:blown")):
        moves = ("--position", "S1=on", "--position", "S2=3")
        done = quizgen("circuit", "solve", "blower-pack", *moves, *extra, "--json")
        assert not re.search(r"NaN|Infinity|-0\.0\b[^0-9]", done.out)
        for number in numbers(done.data):
            assert math.isfinite(number)
            assert math.copysign(1.0, number) == 1.0 or number < 0.0


def test_a_short_opens_the_fuse_and_says_when(quizgen: Run) -> None:
    """Common practice, no source: a short ahead of the load opens the fuse that feeds it."""
    found = quizgen(
        "circuit", "solve", "blower-pack", "--position", "S1=on", "--position", "S2=3",
        "--fault", "W31:short-to-ground", "--json",
    ).data  # fmt: skip
    assert found["behaviour"] == "protector-open"
    assert [(e["after"], e["part"], e["change"]) for e in found["events"]] == [
        ("S2=3", "K1", "pulls in"),
        ("S2=3", "F2", "opens"),
    ]
    assert found["loads"]["M1"]["level"] == "stopped"
    assert found["loads"]["E1"]["level"] == "bright"
    assert found["parts"]["K1"]["branches"]["30-87"]["amps"] == pytest.approx(0.0, abs=1e-9)


def test_moves_are_made_in_the_order_given(quizgen: Run) -> None:
    """Pressed and let go again the pump is at rest; the events tell of both."""
    press = ("--position", "S1=on", "--position", "S2=pressed")
    pressed = quizgen("circuit", "solve", "push-button-relay", *press, "--json").data
    assert pressed["loads"]["M1"]["level"] == "turns"
    released = quizgen(
        "circuit", "solve", "push-button-relay", *press, "--position", "S2=released", "--json"
    ).data
    assert released["loads"]["M1"]["level"] == "stopped"
    assert [e["change"] for e in released["events"]] == ["pulls in", "drops out"]
    assert released["positions"]["S2"] == "released"


def test_a_cycle_has_phases(quizgen: Run) -> None:
    """A self-resetting breaker on a short opens and closes for ever, with two phases."""
    found = quizgen(
        "circuit", "solve", "two-station-motor", "--position", "S1=on",
        "--fault", "W5:short-to-ground", "--json",
    ).data  # fmt: skip
    assert found["behaviour"] == "cycling"
    assert len(found["phases"]) == 2
    closed, opened = (abs(p["parts"]["F2"]["amps"]) for p in found["phases"])
    assert closed > 100.0
    assert opened == 0.0
    assert all(p["seconds"] > 0.0 for p in found["phases"])


def test_the_table_says_the_same_as_the_data(quizgen: Run, circuit_file: Run) -> None:
    """The text has 8.000 V in the middle and 0.480 W from the source."""
    out = quizgen("circuit", "solve", circuit_file()).out
    assert re.search(r"\bmid +8\.000", out)
    assert re.search(r"V1 +12\.000 +0\.040 +0\.48", out)
    assert re.search(r"\bR3\.2 +floats", out)
    assert "-0.000" not in out


@pytest.mark.parametrize(
    "extra", [(), ("--fault", "W5:short-to-ground"), ("--fault", "X2:resistance:1=2")]
)
def test_the_table_fits_80_columns(quizgen: Run, extra: tuple[str, ...]) -> None:
    """No line is wider than 80 columns, also while cycling."""
    out = quizgen("circuit", "solve", "two-station-motor", "--position", "S1=on", *extra).out
    assert max(len(line) for line in out.splitlines()) <= 80
