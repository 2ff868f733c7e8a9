"""There are words for whatever a load can be seen to do."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args, get_type_hints

import pytest

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.clicks import BUZZES, CLICKERS, CLICKS, NO_CLICK
from quizgen.items.sentences import load_words, predicate, wording
from quizgen.solver import solve
from quizgen.solver.observation import OBSERVERS, against, observe

LOADS = {
    c.Lamp: c.Lamp(id="E1", nodes=("x", "0"), watts=21, volts=12),
    c.LedLamp: c.LedLamp(id="E1", nodes=("x", "0"), watts=3, volts=12, forward_volts=6),
    c.Motor: c.Motor(id="M1", nodes=("x", "0"), volts=12, run_amps=5, stall_amps=25),
    c.TwoSpeedMotor: c.TwoSpeedMotor(
        id="M1", nodes=("x", "x", "0"), volts=12, low_amps=3, high_amps=5, stall_amps=25
    ),
    c.Heater: c.Heater(id="E1", nodes=("x", "0"), watts=120, volts=12),
    c.Solenoid: c.Solenoid(id="Y1", nodes=("x", "0"), ohm=10, pull_in_volts=7),
    c.Horn: c.Horn(id="P1", nodes=("x", "0"), amps=4, volts=12, least_volts=8),
    c.Gauge: c.Gauge(id="P1", nodes=("x", "0"), ohm=100, full_amps=0.12),
}
VOLTS = [v / 4 for v in range(-60, 81)]


def circuit(load: c.Part, volts: float, *more: c.Part) -> Circuit:
    """A source at x."""
    feed = "x" if not more else "s"
    source = c.Source(id="G1", nodes=(feed, "0"), volts=volts)
    parts = (source, *more, load)
    return Circuit(name="t", title="t", system_volts=12.0, reference="0", parts=parts)


def seen_levels(kind: type[c.Part]) -> set[str]:
    """Every level that occurs over a sweep of voltage, sound and failed, steady and flashing."""
    load = LOADS[kind]
    sound = observe(solve(circuit(load, 12.0)))[0]
    found = set()
    conditions = get_args(get_type_hints(kind)["condition"])
    for condition in conditions:
        for volts in VOLTS if condition == "good" else (12.0,):
            if condition == "shorted":
                continue  # an ideal source has nothing to say about a short
            bad = replace(load, condition=condition)  # type: ignore[call-arg]
            found.add(against(sound, observe(solve(circuit(bad, volts)))[0]).level)
    for seconds in (0.1, 0.35, 3.0):
        unit = c.Flasher(
            id="K1", nodes=("s", "x", "0"), on_seconds=seconds, off_seconds=seconds, least_amps=0.03
        )
        found.add(observe(solve(circuit(load, 12.0, unit)))[0].level)
    return found


def test_every_observed_kind_is_tried() -> None:
    """No observer without a load here, no load without an observer or words."""
    assert set(LOADS) == set(OBSERVERS) == set(c.LOADS)
    heard = {kind.kind for kind in CLICKERS}
    assert set(wording("loads")) == {kind.kind for kind in LOADS} | heard


@pytest.mark.parametrize("kind", LOADS, ids=lambda k: k.kind)
def test_every_level_has_words_for_one_and_for_several(kind: type[c.Part]) -> None:
    """All that a driver can report can be printed, and nothing in the file is never seen."""
    levels = seen_levels(kind)
    assert {"flashes", "flashes fast", "comes and goes"} <= levels
    assert len(levels) >= 5
    assert set(wording("loads")[kind.kind]) == levels
    for level in levels:
        one, several = (predicate([LOADS[kind]] * n, level) for n in (1, 2))
        assert one
        assert several
        assert load_words(LOADS[kind], level).endswith(one)


def test_one_does_and_several_do() -> None:
    """Verb and noun agree (written by hand)."""
    assert predicate([LOADS[c.Lamp]], "flashes fast") == "flashes too fast"
    assert predicate([LOADS[c.Lamp]] * 2, "flashes") == "flash"
    assert predicate([LOADS[c.Gauge]], "at the lower stop") == "stays at the lower stop"


@pytest.mark.parametrize("level", [CLICKS, NO_CLICK, BUZZES])
def test_what_is_heard_has_words(level: str) -> None:
    """A relay and a starter solenoid click, do not click, or buzz."""
    for kind in CLICKERS:
        assert len(wording("loads")[kind.kind][level]) == 2
