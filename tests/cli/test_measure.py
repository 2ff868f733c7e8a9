"""`quizgen circuit measure`. Readings worked out by hand on a divider of 100 Ω and 200 Ω."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]
BLOWER = ("circuit", "measure", "blower-pack", "--position", "S1=on", "--position", "S2=2")


def test_a_voltmeter_reads_the_middle_of_a_divider(quizgen: Run, circuit_file: Run) -> None:
    """8.0 V, lowered by ten megohm beside 200 Ω by less than a hundred microvolts."""
    found = quizgen(
        "circuit", "measure", circuit_file(), "--instrument", "voltmeter", "--red", "mid", "--json"
    ).data
    assert found["shown"] == "8.0 V"
    assert found["raw_volts"] == pytest.approx(8.0, abs=1e-4)
    assert found["black"] == "0"
    assert found["refused"] == ""


def test_an_ohmmeter_reads_one_resistor_with_the_source_off(
    quizgen: Run, circuit_file: Run
) -> None:
    """With the source off its wires only the lower resistor joins middle and reference: 200 Ω."""
    found = quizgen(
        "circuit", "measure", circuit_file(), "--instrument", "ohmmeter", "--red", "mid",
        "--unplugged", "V1", "--json",
    ).data  # fmt: skip
    assert found["raw_ohm"] == pytest.approx(200.0, rel=1e-3)


def test_nothing_between_the_leads_is_an_overload(quizgen: Run, circuit_file: Run) -> None:
    """OL on the ohmmeter is null in JSON with "overload" beside it, never Infinity."""
    done = quizgen(
        "circuit", "measure", circuit_file(), "--instrument", "ohmmeter", "--red", "R3.2",
        "--unplugged", "V1", "--json",
    )  # fmt: skip
    assert done.data["shown"] == "OL"
    assert done.data["raw_ohm"] is None
    assert done.data["overload"] is True
    assert "Infinity" not in done.out


def test_a_live_circuit_refuses_the_ohmmeter(quizgen: Run) -> None:
    """Common practice, no source: no ohmmeter on a live circuit. The reason is given."""
    done = quizgen(*BLOWER, "--instrument", "ohmmeter", "--red", "M1.1")
    assert done.code == 0
    assert "refused" in done.out
    assert "live" in done.out
    assert "shows" not in done.out
    found = quizgen(*BLOWER, "--instrument", "ohmmeter", "--red", "M1.1", "--json").data
    assert found["raw_ohm"] is None
    assert "isolate" in found["refused"]


def test_a_fault_and_a_connector_apart_change_what_is_read(quizgen: Run) -> None:
    """With the ground open the motor's ground side rises to supply, its plug apart to nothing."""
    lead = ("--instrument", "voltmeter", "--red", "X1.2a")
    assert quizgen(*BLOWER, *lead, "--json").data["raw_volts"] < 0.2
    opened = quizgen(*BLOWER, *lead, "--fault", "G2:open", "--json").data
    assert opened["raw_volts"] > 12.0
    apart = quizgen(*BLOWER, *lead, "--fault", "G2:open", "--apart", "X1", "--json").data
    assert apart["raw_volts"] == pytest.approx(0.0, abs=1e-6)


def test_a_clamp_reads_the_current_of_a_wire(quizgen: Run) -> None:
    """The clamp needs no black lead, and shows what `circuit solve` computes."""
    found = quizgen(*BLOWER, "--instrument", "clamp-ammeter", "--red", "W31", "--json").data
    solved = quizgen(
        "circuit", "solve", "blower-pack", "--position", "S1=on", "--position", "S2=2", "--json"
    ).data
    assert found["raw_amps"] == pytest.approx(abs(solved["parts"]["W31"]["amps"]))


def test_a_lamp_tells_by_its_light(quizgen: Run) -> None:
    """The figure behind a test lamp is its share of rated voltage."""
    found = quizgen(*BLOWER, "--instrument", "test-lamp", "--red", "E1.1", "--json").data
    assert found["shown"] == "lit bright"
    assert 0.8 < found["raw_share_of_rated_volts"] < 1.1


def test_help_names_every_instrument(quizgen: Run) -> None:
    """The help text lists exactly the instruments there are."""
    from quizgen.instruments import INSTRUMENTS

    out = " ".join(quizgen("circuit", "measure", "--help").out.split())
    listed = out.partition("Instruments: ")[2].partition(" (around")[0]
    assert set(listed.split(", ")) == set(INSTRUMENTS)
