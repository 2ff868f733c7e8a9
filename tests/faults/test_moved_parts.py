"""Faults of the parts that move by themselves, on one circuit that has all of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.template import parse_template
from quizgen.faults import describe, inject, parse_fault, universe
from quizgen.faults.modes import MODES
from quizgen.faults.survey import Survey
from tests.circuit.moved import MOVED
from tests.faults.circuits import battery, circuit, wire

SOUND = parse_template(MOVED).build()
NEW = (c.Alternator, c.StarterSolenoid, c.Flasher, c.TwoSpeedMotor, c.Gauge)

CHANGES: dict[str, dict[str, object]] = {
    "GA1:no-output": {"condition": "open"},
    "GA1:rotor-open": {"condition": "rotor-open"},
    "K1:pull-open": {"pull": "open"},
    "K1:hold-open": {"hold": "open"},
    "K1:welded": {"plunger": "welded"},
    "K1:not-making": {"plunger": "stuck"},
    "K1:resistance:0.2": {"extra_ohm": 0.2},
    "K2:open": {"condition": "open"},
    "K2:welded": {"condition": "welded"},
    "M2:low-brush-open": {"low_brush": "open"},
    "M2:high-brush-open": {"high_brush": "open"},
    "M2:seized": {"condition": "seized"},
    "P2:open": {"condition": "open"},
    "P2:shorted": {"condition": "shorted"},
    "K3:coil-open": {"coil": "open"},
    "K3:welded": {"armature": "welded"},
}


@pytest.mark.parametrize("text", CHANGES)
def test_a_mode_changes_its_part_only(text: str) -> None:
    """In the named field; every other part is the same object."""
    fault = parse_fault(text)
    bad = inject(SOUND, fault)
    assert bad.part(fault.part) == replace(SOUND.part(fault.part), **CHANGES[text])
    pairs = zip(SOUND.parts, bad.parts, strict=True)
    assert all(a is b for a, b in pairs if a.id != fault.part)


def test_every_mode_of_these_kinds_is_in_the_universe() -> None:
    """Each part has all its modes there, and each fault of it can be injected and said."""
    found = [item.fault for item in universe(SOUND)]
    for part in SOUND.parts:
        if isinstance(part, NEW):
            modes = {fault.mode for fault in found if fault.part == part.id}
            assert modes == {mode.name for mode in MODES[type(part)]}, part.id
            assert modes == {t.split(":")[1] for t in CHANGES if t.startswith(f"{part.id}:")}
    for fault in found:
        assert inject(SOUND, fault) != SOUND
        assert not describe(SOUND, fault).endswith(".")


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        ("K1:pull-open", "the pull-in winding of starter solenoid K1 is open"),
        ("K1:welded", "contact 30 to 45 of starter solenoid K1 is welded closed"),
        (
            "K1:resistance:0.2",
            "contact 30 to 45 of starter solenoid K1 has too much resistance (0.2 Ω added)",
        ),
        ("M2:low-brush-open", "the low-speed brush (53) of two-speed motor M2 makes no contact"),
        ("K2:welded", "flasher K2 is welded closed and no longer interrupts"),
        ("GA1:rotor-open", "the rotor winding of alternator GA1 is open"),
    ],
)
def test_the_clause_is_one_a_technician_would_use(text: str, clause: str) -> None:
    """Written by hand."""
    assert describe(SOUND, parse_fault(text)) == clause


@pytest.mark.parametrize(
    ("first", "second"),
    [("GA1:no-output", "GA1:rotor-open"), ("K1:welded", "K1:not-making"), ("P2:open", "P2:open")],
)
def test_a_part_fails_in_one_way_at_a_time(first: str, second: str) -> None:
    """The second of two that exclude each other is refused."""
    with pytest.raises(InputError, match="already"):
        inject(inject(SOUND, parse_fault(first)), parse_fault(second))


def test_both_windings_of_a_solenoid_can_be_open() -> None:
    """They are two things."""
    bad = inject(inject(SOUND, parse_fault("K1:pull-open")), parse_fault("K1:hold-open")).part("K1")
    assert isinstance(bad, c.StarterSolenoid)
    assert (bad.pull, bad.hold) == ("open", "open")


def test_a_wrong_mode_is_answered_with_the_modes_there_are() -> None:
    """One line for a slip."""
    with pytest.raises(InputError, match=r"two speed motor.*low-brush-open high-brush-open seized"):
        inject(SOUND, parse_fault("M2:open"))


def mixed_up(part: c.Part) -> set[frozenset[str]]:
    """The pairs of terminals at which the universe swaps two wires."""
    wires = {f"W{i}": t for i, t in enumerate(part.terminals)}
    nodes = tuple(f"{part.id}.{t}" for t in part.terminals)
    ends = [wire(w, "GB1.+", f"{part.id}.{t}") for w, t in wires.items()]
    bench = circuit("bench", battery(), replace(part, nodes=nodes), *ends)
    swaps = [item.fault for item in universe(bench) if item.fault.mode == "swapped"]
    return {frozenset((wires[f.part], wires[f.detail])) for f in swaps}


def test_only_wires_that_can_be_mixed_up_are_swapped() -> None:
    """Studs and blades of a starter solenoid differ in size (common practice, no source)."""
    assert mixed_up(c.StarterSolenoid(id="K1", nodes=())) == {frozenset({"30", "45"})}
    assert frozenset({"53", "53i"}) in mixed_up(
        c.TwoSpeedMotor(id="M1", nodes=(), volts=12, low_amps=3, high_amps=5, stall_amps=25)
    )
    assert all("B+" not in pair for pair in mixed_up(c.Alternator(id="GA1", nodes=(), control="e")))


def test_added_resistance_suits_starter_and_gauge() -> None:
    """A starter of 150 A at 12 V is 0.08 Ω: hundredths matter. The gauge takes 0.15 A: 80 Ω.

    At the start switch it is the pull-in winding of 0.3 Ω that must be starved.
    """
    survey = Survey(SOUND)
    solenoid, switch = SOUND.part("K1"), SOUND.part("S2")
    mild, severe = survey.telling_ohms(solenoid, [("live", "motor")])
    assert 0.02 <= mild <= 0.1 < severe <= 0.5
    mild, severe = survey.telling_ohms(switch, [("live", "start")])
    assert 0.2 <= mild <= 0.6 < severe
    mild, _ = survey.telling_ohms(SOUND.part("B1"), [("level", "chassis")])
    assert 20.0 <= mild <= 100.0


def test_loads_behind_flasher_and_timer_relay_are_found() -> None:
    """What stops when the flasher opens are both lamps, 2 times 21 W at 13.5 V."""
    survey = Survey(SOUND)
    stopped = survey.carried([("on", "turn")], SOUND.part("K2"))
    assert {load.nodes for load in stopped} == {("turn", "chassis")}
    assert sum(load.amps for load in stopped) == pytest.approx(2 * 21 / 13.5)
    stopped = survey.carried([("live", "wiper")], SOUND.part("K3"))
    assert {load.nodes for load in stopped} == {("low", "chassis"), ("high", "chassis")}


def test_the_charge_lamp_is_grounded_through_the_rotor() -> None:
    """The lamp counts as fed, though it hangs on the alternator's D+ and not on the frame."""
    lamp = next(load for load in Survey(SOUND).loads if load.nodes == ("on", "lamp"))
    assert lamp in Survey(SOUND).carried([("live", "on")], SOUND.part("S1"))


@pytest.mark.parametrize(
    ("watts", "wrong"),
    [
        (5.0, ["3", "10", "25"]),  # bayonet or wedge
        (25.0, ["5", "10"]),
        (21.0, ["5", "10"]),  # the same lamp, by its rated power
        (28.0, ["7", "12.5"]),  # 24 V
        (60.0, []),  # nothing else fits a headlamp
    ],
)
def test_a_wrong_lamp_is_one_that_fits_the_holder(watts: float, wrong: list[str]) -> None:
    """Objective watts of UN R37 (from memory): R5W, R10W, P21W; W3W, W5W."""
    lamp = replace(SOUND.part("E1"), watts=watts)  # type: ignore[call-arg]
    found = [i.fault for i in universe(SOUND.with_parts(changed=[lamp]))]
    assert [f.detail for f in found if f.part == "E1" and f.mode == "wrong-lamp"] == wrong
