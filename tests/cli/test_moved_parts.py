"""The command line on alternator, flasher and their like."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.circuit.moved import MOVED

Run = Callable[..., Any]


@pytest.fixture
def moved(tmp_path: Path) -> str:
    """The template as a file."""
    path = tmp_path / "moved.yaml"
    path.write_text(MOVED, encoding="utf-8")
    return str(path)


def test_an_alternator_delivers(quizgen: Run, moved: str) -> None:
    """Tellegen: what battery and alternator deliver is what all the others take up."""
    found = quizgen(
        "circuit", "solve", moved, "--position", "S1=on", "--position", "engine=running", "--json"
    ).data
    for phase in found["phases"]:
        watts = {part: record["watts"] for part, record in phase["parts"].items()}
        assert watts["GA1"] > 0.0 > watts["GB1"]  # the battery is being charged
        delivered = watts.pop("GA1") + watts.pop("GB1")
        assert sum(watts.values()) == pytest.approx(delivered, rel=1e-6)
        assert phase["parts"]["GA1"]["branches"]["output"]["amps"] > 10.0


def test_show_tells_no_defects(quizgen: Run, moved: str) -> None:
    """A circuit that is shown is sound: no word of windings that are good."""
    text = quizgen("circuit", "show", moved).out
    assert "sensed" in text
    for word in ("True", "good", "plunger", "brush"):
        assert word not in text


FLASHING = """\
format: 1
name: flashing
title: One flashing lamp
system: 12
parts:
  GB1: {kind: battery, emf_volts: 12.6, at: [live, chassis]}
  S1: {kind: switch, pins: ["1", "2"], positions: {off: [], on: [1-2]}, at: [live, on]}
  K1: {kind: flasher, least_amps: 1, at: [on, turn, chassis]}
  E1: {kind: lamp, watts: 21, volts: 13.5, at: [turn, chassis]}
"""


def test_a_flasher_that_flashes_is_no_finding(quizgen: Run, circuit_file: Run) -> None:
    """It opens and closes without a fault, as it should; its lamp counts as working."""
    text = quizgen("circuit", "check", circuit_file(FLASHING)).out
    assert "without a fault" not in text
    assert "rest" not in text
    assert "works in no position" not in text
