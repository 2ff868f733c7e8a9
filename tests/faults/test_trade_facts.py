"""What every technician knows a fault does, on solved circuits.

All facts here are common practice, no source, unless a check says otherwise.
"""

from __future__ import annotations

import pytest

from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault
from quizgen.solver.observation import observe
from quizgen.solver.operating_point import OperatingPoint, solve
from tests.faults.circuits import one_lamp, pump_relay, reversing_motor, shared_breaker


def run(circuit: Circuit, *faults: str, **positions: str) -> OperatingPoint:
    """The circuit with these faults, its controls set in order."""
    for text in faults:
        circuit = inject(circuit, parse_fault(text))
    return solve(circuit, [{name: position} for name, position in positions.items()])


def seen(point: OperatingPoint) -> dict[str, str]:
    """What each load does."""
    return {o.load: o.level for o in observe(point)}


def intact(point: OperatingPoint, part: str) -> bool:
    """Whether a protector is still closed."""
    return point.state(point.circuit.part(part)) == "intact"


@pytest.mark.parametrize("at", ["", ":0.3", ":0", ":1"])
def test_a_short_before_the_load_opens_the_fuse_and_after_it_does_not(at: str) -> None:
    """Before the lamp the current has no resistance to pass; after it the lamp just lights."""
    before = run(one_lamp(), f"W4:short-to-ground{at}", S1="on")
    after = run(one_lamp(), f"W5:short-to-ground{at}", S1="on")
    if at == ":0":
        assert after.circuit.parts[-1].nodes[0] == "E1.2"
    assert not intact(before, "F1")
    assert seen(before) == {"E1": "dark"}
    assert intact(after, "F1")
    assert seen(after) == {"E1": "bright"}


def test_a_short_behind_an_open_switch_waits_for_the_switch() -> None:
    """The fuse holds until the switch is closed."""
    assert intact(run(one_lamp(), "W3:short-to-ground"), "F1")
    assert not intact(run(one_lamp(), "W3:short-to-ground", S1="on"), "F1")


def test_a_fuse_of_far_too_high_a_rating_still_opens_on_a_dead_short() -> None:
    """Twice the rating, a dead short of a healthy battery: it opens, only later."""
    right = run(one_lamp(), "W4:short-to-ground", S1="on").events
    wrong = run(one_lamp(), "F1:wrong-rating:20", "W4:short-to-ground", S1="on").events
    assert right[-1].part == wrong[-1].part == "F1"
    assert wrong[-1].seconds > right[-1].seconds


def test_a_fuse_too_small_opens_under_the_ordinary_load() -> None:
    """A 5 A fuse does not carry the pump's 8 A."""
    point = run(pump_relay(), "F1:wrong-rating:5", S1="on")
    assert not intact(point, "F1")
    assert seen(point) == {"M1": "stopped"}
    assert seen(run(pump_relay(), S1="on")) == {"M1": "turns"}


def test_a_short_on_one_branch_of_a_shared_breaker_takes_the_other_load() -> None:
    """Lamp 1 lights alone; switching on the shorted branch of lamp 2 darkens both."""
    assert seen(run(shared_breaker(), "W6:short-to-ground", S1="on"))["E1"] == "bright"
    both = run(shared_breaker(), "W6:short-to-ground", S1="on", S2="on")
    assert seen(both) == {"E1": "dark", "E2": "dark"}


def test_an_open_wire_leaves_supply_up_to_the_break() -> None:
    """Feed broken: supply before, nothing behind. Ground broken: supply right through."""
    feed = run(one_lamp(), "W4:open", S1="on")
    assert feed.volts("X1.1b") == pytest.approx(12.6, abs=0.05)
    assert feed.volts("E1.1") == pytest.approx(0.0, abs=0.05)
    back = run(one_lamp(), "G1:open", S1="on")
    assert back.volts("E1.2") == pytest.approx(12.6, abs=0.05)
    assert seen(feed) == seen(back) == {"E1": "dark"}


def test_a_break_parts_two_faults_on_one_wire() -> None:
    """Short before the break blows the fuse, short behind it does nothing."""
    assert not intact(run(one_lamp(), "W3:open:0.6", "W3:short-to-ground:0.3", S1="on"), "F1")
    assert intact(run(one_lamp(), "W3:open:0.3", "W3:short-to-ground:0.6", S1="on"), "F1")


@pytest.mark.parametrize(
    ("fault", "button", "pump"),
    [
        ("K1:welded", "off", "turns"),
        ("S1:stuck:on", "off", "turns"),
        ("W8:short-to-ground", "off", "turns"),
        ("W5:short-to-supply", "off", "turns"),
        ("W4:short-to:W5", "off", "turns"),
        ("K1:not-making", "on", "stopped"),
        ("K1:coil-open", "on", "stopped"),
        ("F2:blown", "on", "stopped"),
        ("M1:seized", "on", "stopped"),
        ("M1:open", "on", "stopped"),
        ("S1:resistance:1-2=200", "on", "stopped"),
        ("W5:swapped:W6", "on", "turns backwards"),
    ],
)
def test_what_a_relay_driven_pump_does(fault: str, button: str, pump: str) -> None:
    """Runs on its own, or does not run when asked, or runs the wrong way."""
    assert seen(run(pump_relay(), fault, S1=button)) == {"M1": pump}


def test_swapped_coil_wires_of_a_relay_with_a_diode_open_its_fuse() -> None:
    """The suppression diode then lies forwards across the feed."""
    point = run(pump_relay(), "W7:swapped:W8", S1="on")
    assert not intact(point, "F2")
    assert seen(point) == {"M1": "stopped"}


def test_mild_added_resistance_is_noticed_and_three_times_the_load_stops_it() -> None:
    """The two steps of the universe at the lamp's feed: dim, then dark."""
    assert seen(run(one_lamp(), "W4:resistance:5", S1="on")) == {"E1": "dim"}
    assert seen(run(one_lamp(), "W4:resistance:20", S1="on")) == {"E1": "dark"}


def test_short_to_supply_on_a_lead_of_a_reversing_motor_is_a_dead_short_at_rest() -> None:
    """The resting contact grounds the lead, so nothing but the contact limits the current."""
    good = run(reversing_motor())
    bad = run(reversing_motor(), "W3:short-to-supply")

    def through_contact(point: OperatingPoint) -> float:
        flows = {f.name: f.amps for f in point.flows(point.circuit.part("S1"))}
        return abs(flows["1-31"])

    assert through_contact(good) == pytest.approx(0.0, abs=1e-9)
    assert through_contact(bad) > 100.0


def test_an_open_common_ground_leaves_both_motor_leads_at_supply() -> None:
    """The motor's lower lead cannot fall, so it does not turn."""
    point = run(reversing_motor(), "G1:open", S1="up")
    assert point.volts("M1.1") == pytest.approx(12.6, abs=0.05)
    assert point.volts("M1.2") == pytest.approx(12.6, abs=0.05)
    assert seen(point) == {"M1": "stopped"}


def test_swapped_leads_reverse_the_motor() -> None:
    """Up becomes down."""
    assert seen(run(reversing_motor(), S1="up")) == {"M1": "turns"}
    assert seen(run(reversing_motor(), "W3:swapped:W4", S1="up")) == {"M1": "turns backwards"}


def test_a_weak_battery_shows_at_rest_and_more_under_load() -> None:
    """Below 12.2 V at rest (a quarter charged, from memory of battery handbooks)."""
    rest = run(pump_relay(), "GB1:weak")
    load = run(pump_relay(), "GB1:weak", S1="on")
    assert (rest.volts("GB1.+") or 0.0) < 12.2
    assert (load.volts("GB1.+") or 0.0) < (rest.volts("GB1.+") or 0.0) - 0.1
