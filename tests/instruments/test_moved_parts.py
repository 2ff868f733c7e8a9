"""Instruments on starter solenoid, alternator, flasher, two-speed motor and gauge."""

from __future__ import annotations

import pytest

from quizgen.circuit.template import parse_template
from quizgen.faults import inject, parse_fault
from quizgen.instruments.measure import measure
from quizgen.instruments.measurement import Measurement
from tests.circuit.moved import MOVED

SOUND = parse_template(MOVED).build()


@pytest.mark.parametrize("name", ["voltmeter", "test-lamp", "ohmmeter"])
def test_an_instrument_answers_at_every_point(name: str) -> None:
    """With the ignition on, the lamps flashing: a reading, or a reason for none."""
    for red in SOUND.nodes[1:]:
        how = Measurement(instrument=name, red=red, black="chassis", positions=(("S1", "on"),))
        told = measure(SOUND, how)
        assert told.shown or told.refused


@pytest.mark.parametrize(
    ("part", "red", "black", "ohm"),
    [
        ("K1", "K1/50", "K1/31", 1.2),  # hold-in winding
        ("K1", "K1/50", "K1/45", 0.3),  # pull-in winding
        ("GA1", "GA1/D+", "GA1/31", 8.0),  # rotor through brushes and regulator
        ("P2", "P2/1", "P2/2", 60.0),
    ],
)
def test_windings_off_their_wires_measure_what_they_are(
    part: str, red: str, black: str, ohm: float
) -> None:
    """Each resistance is the one the template gives; an open one reads as open."""
    off = Measurement(instrument="ohmmeter", red=red, black=black, removed=(part, "GB1"))
    assert measure(SOUND, off).raw == pytest.approx(ohm, rel=0.05, abs=0.11)
    mode = {"GA1": "rotor-open", "P2": "open"}.get(part)
    if mode:
        assert measure(inject(SOUND, parse_fault(f"{part}:{mode}")), off).shown == "OL"


def test_a_winding_on_its_wires_is_measured_with_what_lies_beside_it() -> None:
    """Hold-in winding 1.2 Ω beside pull-in 0.3 Ω and the starter's stalled 0.02 Ω: 0.25 Ω."""
    on = Measurement(instrument="ohmmeter", red="start", black="chassis", removed=("GB1",))
    beside = 1 / (1 / 1.2 + 1 / (0.3 + 12 / 600))
    assert measure(SOUND, on).raw == pytest.approx(beside, abs=0.11)


@pytest.mark.parametrize(
    ("red", "black"),
    [
        ("start", "chassis"),  # across the solenoid's windings
        ("low", "chassis"),
        ("high", "chassis"),  # the second brush counts too
        ("turn", "chassis"),
    ],
)
def test_a_jumper_across_feed_and_ground_of_a_load_is_refused(red: str, black: str) -> None:
    """It would be a dead short as soon as the load is fed."""
    still = (("after-run", "elapsed"),)  # the wiper's relay is at rest
    how = Measurement(instrument="fused-jumper", red=red, black=black, positions=still)
    told = measure(SOUND, how)
    assert "a dead short once it is fed" in told.refused


def test_a_jumper_may_bridge_a_flasher() -> None:
    """The usual test of a flasher: lamps light steadily with 49 and 49a joined."""
    told = measure(
        SOUND,
        Measurement(instrument="fused-jumper", red="on", black="turn", positions=(("S1", "on"),)),
    )
    assert not told.refused


def test_a_flasher_does_not_part_supply_from_ground() -> None:
    """Lamps out, its output to the frame: a dead short as soon as it closes."""
    how = Measurement(
        instrument="fused-jumper", red="turn", black="chassis", removed=("E1", "E2"),
        positions=(("S1", "on"),),
    )  # fmt: skip
    assert "straight across supply and ground of GB1" in measure(SOUND, how).refused
