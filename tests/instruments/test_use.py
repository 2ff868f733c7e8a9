"""Preparation, unsafe and pointless use, and which readings can be told apart."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from quizgen.base.errors import InputError
from quizgen.faults import inject, parse_fault, universe
from quizgen.instruments import (
    INSTRUMENTS,
    Measurement,
    Shown,
    distinguishable,
    measure,
    measure_many,
)
from quizgen.instruments.ohmmeter import display_ohm
from quizgen.instruments.setup import loosen
from tests.faults.circuits import one_lamp, pump_relay, reversing_motor

ON = (("S1", "on"),)


def lamp(instrument: str, red: str, black: str = "chassis", **more: object) -> Shown:
    """A measurement on the sound one-lamp circuit."""
    return measure(one_lamp(), Measurement(instrument=instrument, red=red, black=black, **more))  # type: ignore[arg-type]


# --- preparation ----------------------------------------------------------------------


def test_a_part_off_its_wires_keeps_to_itself() -> None:
    """Its terminals are nodes of its own; the wires end where they did."""
    loose = loosen(one_lamp(), ["E1", "GB1"])
    assert loose.part("E1").nodes == ("E1/1", "E1/2")
    assert loose.part("W4").nodes == one_lamp().part("W4").nodes
    assert loose.part("W4") is not None
    assert loose.part("F1") == one_lamp().part("F1")


def test_wire_end_and_loose_terminal_are_two_points() -> None:
    """Lamp out: supply at the holder, nothing at the lamp in the hand."""
    out = {"positions": ON, "removed": ("E1",)}
    assert lamp("voltmeter", "E1.1", **out).shown == "12.6 V"
    assert lamp("voltmeter", "E1/1", "E1/2", **out).shown == "0.0 V"


def test_a_connector_apart_ends_the_feed() -> None:
    """Supply on the socket side, none on the plug side."""
    apart = {"positions": ON, "apart": ("X1",)}
    assert lamp("voltmeter", "X1.1a", **apart).shown == "12.6 V"
    assert lamp("voltmeter", "X1.1b", **apart).shown == "0.0 V"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"instrument": "voltmetre"}, "no instrument 'voltmetre'; did you mean voltmeter?"),
        ({"red": "E1.3"}, "E1 has no point 'E1.3'"),
        ({"red": "Z9"}, "no point 'Z9'"),
        ({"black": "E1.1"}, "both leads are on E1.1"),
        ({"positions": (("S9", "on"),)}, "no control 'S9'"),
        ({"positions": (("S1", "up"),)}, "S1 has no position 'up'"),
        ({"apart": ("E1",)}, "E1 is no connector"),
        ({"removed": ("G1",)}, "G1 is a ground and cannot be taken off"),
        ({"unplugged": ("M9",)}, "no part 'M9'"),
        ({"instrument": "clamp-ammeter"}, "a clamp goes around one wire"),
    ],
)
def test_a_measurement_that_cannot_be_taken(change: dict[str, object], words: str) -> None:
    """One line that says what is wrong."""
    measurement = replace(
        Measurement(instrument="voltmeter", red="E1.1", black="chassis"), **change
    )
    with pytest.raises(InputError) as error:
        measure(one_lamp(), measurement)
    assert words in str(error.value)
    assert "\n" not in str(error.value)


def test_a_measurement_leaves_the_circuit_alone_and_many_are_as_one() -> None:
    """Measuring all faults together shows what measuring each alone shows."""
    good = pump_relay()
    before = good.parts
    circuits = [inject(good, w.fault) for w in universe(good)[::6]]
    for name, red, black in [("test-lamp", "K1.87", "chassis"), ("fused-jumper", "F1.1", "F1.2")]:
        how = Measurement(instrument=name, red=red, black=black, positions=ON)
        together = measure_many(circuits, how)
        alone = tuple(measure(c, how) for c in circuits)
        assert [s.shown for s in together] == [s.shown for s in alone]
    assert good.parts is before


# --- unsafe and pointless use ---------------------------------------------------------


@pytest.mark.parametrize("instrument", ["ohmmeter", "self-powered-lamp"])
def test_instruments_with_cells_are_refused_on_a_live_circuit(instrument: str) -> None:
    """Live leads are refused; a battery still on is a warning; with the battery off it is right."""
    live = lamp(instrument, "E1.1", "E1.2", positions=ON)
    assert live.refused.startswith("the circuit is live")
    assert (live.shown, live.raw) == ("", None)
    assert lamp(instrument, "GB1.+", "E1.1").refused.startswith("the circuit is live")
    idle = lamp(instrument, "E1.1", "E1.2")
    assert not idle.refused
    assert idle.warnings == ("GB1 is still connected; isolate it before resistance checks",)
    right = lamp(instrument, "E1.1", "E1.2", positions=ON, unplugged=("GB1",))
    assert not right.refused
    assert not right.warnings


def test_an_ohmmeter_on_the_battery_itself_is_refused() -> None:
    """Also when it stands on the bench."""
    shown = lamp("ohmmeter", "GB1/+", "GB1/-", unplugged=("GB1",))
    assert shown.refused.startswith("the circuit is live")


def test_a_part_in_the_hand_may_be_measured_with_the_battery_on() -> None:
    """Nothing joins it to the machine."""
    shown = lamp("ohmmeter", "E1/1", "E1/2", removed=("E1",), positions=ON)
    assert shown.shown == "0.6 Ω"
    assert not shown.warnings


@pytest.mark.parametrize("instrument", ["fused-jumper", "ammeter"])
@pytest.mark.parametrize(
    ("red", "black", "positions"),
    [
        ("GB1.+", "chassis", ()),
        ("chassis", "F1.2", ()),
        ("E1.1", "E1.2", ON),
        ("E1.1", "chassis", ()),  # dead now, a short once S1 is closed
        ("X1.1a", "G1", ON),
    ],
)
def test_a_jumper_across_supply_and_ground_is_refused(
    instrument: str, red: str, black: str, positions: tuple[tuple[str, str], ...]
) -> None:
    """Whichever way round, and an ammeter is no better."""
    for leads in [(red, black), (black, red)]:
        assert "dead short" in lamp(instrument, *leads, positions=positions).refused


@pytest.mark.parametrize("fault", ["F1:blown", "W1:open", "S1:open:1-2"])
def test_a_fault_does_not_make_an_unsafe_jumper_safe(fault: str) -> None:
    """Whoever looks for the fault does not know it yet."""
    bad = inject(one_lamp(), parse_fault(fault))
    how = Measurement(instrument="fused-jumper", red="E1.1", black="E1.2", positions=ON)
    assert measure(bad, how).refused


def test_jumping_a_relays_contact_or_a_button_is_safe_and_a_coil_is_not() -> None:
    """Relay out, 30 to 87; the button's two terminals; but never 85 to 86."""

    def jump(red: str, black: str, *out: str) -> Shown:
        return measure(pump_relay(), Measurement(
            instrument="fused-jumper", red=red, black=black, removed=out))  # fmt: skip

    assert not jump("K1.30", "K1.87", "K1").refused
    assert not jump("S1.1", "S1.2").refused
    assert not jump("GB1.+", "M1.1").refused
    assert "K1" in jump("K1.86", "K1.85").refused
    assert "M1" in jump("M1.1", "M1.2").refused


def test_feeding_a_lead_that_a_resting_contact_grounds_is_refused() -> None:
    """Reversing motor: at rest terminal 1 is on ground through the station's rest contact."""
    rest = Measurement(instrument="fused-jumper", red="S1.30", black="S1.1")
    assert "dead short" in measure(reversing_motor(), rest).refused
    up = replace(rest, positions=(("S1", "up"),))
    assert not measure(reversing_motor(), up).refused
    ground = replace(rest, red="S1.31", black="G1")
    assert not measure(reversing_motor(), ground).refused


def test_pointless_use_is_named() -> None:
    """Voltage without a supply; an ammeter beside a closed path."""
    off = lamp("voltmeter", "E1.1", "E1.2", unplugged=("GB1",))
    assert off.warnings == ("no supply is connected here; this instrument needs a live circuit",)
    beside = lamp("ammeter", "F1.1", "F1.2", positions=ON)
    assert "only a share" in beside.warnings[0]
    assert not lamp("ammeter", "F1.1", "F1.2", positions=ON, removed=("F1",)).warnings


def test_every_instrument_shows_something() -> None:
    """Each in a place where it belongs, without refusal, warning or doubt."""
    places = {
        "voltmeter": ("E1.1", "chassis", {"positions": ON}),
        "voltmeter-2V": ("E1.2", "chassis", {"positions": ON}),
        "test-lamp": ("F1.2", "chassis", {}),
        "ohmmeter": ("E1/1", "E1/2", {"removed": ("E1",)}),
        "self-powered-lamp": ("E1/1", "E1/2", {"removed": ("E1",)}),
        "fused-jumper": ("S1.1", "S1.2", {}),
        "ammeter": ("F1.1", "F1.2", {"removed": ("F1",), "positions": ON}),
        "clamp-ammeter": ("W4", "", {"positions": ON}),
    }
    assert set(places) == set(INSTRUMENTS)
    for name, (red, black, more) in places.items():
        shown = lamp(name, red, black, **more)  # type: ignore[arg-type]
        assert shown.shown
        assert (shown.refused, shown.warnings, shown.doubts) == ("", (), ())


# --- telling readings apart -----------------------------------------------------------


def shown(raw: float, text: str, tolerance: float = 0.1, **more: object) -> Shown:
    """A voltmeter's reading made by hand."""
    return Shown(instrument="voltmeter", shown=text, raw=raw, low=raw, high=raw, unit="V",
                 tolerance=tolerance, resolution=0.1, **more)  # type: ignore[arg-type]  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        (shown(12.3, "12.3 V"), shown(12.3, "12.3 V"), False),
        (shown(12.30, "12.3 V"), shown(12.36, "12.4 V"), False),
        (shown(12.0, "12.0 V"), shown(12.29, "12.3 V"), False),  # tolerances and a digit: 0.3
        (shown(12.0, "12.0 V"), shown(12.31, "12.3 V"), True),
        (shown(12.3, "12.3 V"), shown(0.0, "0.0 V"), True),
        (shown(inf, "OL"), shown(inf, "OL"), False),
        (shown(inf, "OL"), shown(12.0, "12.0 V"), True),
        (shown(inf, "OL"), shown(12.0, "12.0 V", inf), False),
        (shown(12.3, "12.3 V"), shown(0.0, "0.0 V", doubts=("it may open",)), False),
        (shown(12.3, "12.3 V"), replace(shown(0.0, ""), refused="live"), False),
        (shown(0.0, "0.0 V"), replace(shown(12.0, "12.0 V, then 0.0 V"), low=0.0), False),
    ],
)
def test_two_readings_differ_only_if_nobody_could_mix_them_up(
    one: Shown, other: Shown, apart: bool
) -> None:
    """By more than both tolerances and a digit, and never where there is doubt."""
    assert distinguishable(one, other) is apart
    assert distinguishable(other, one) is apart


def test_readings_of_two_instruments_are_not_compared() -> None:
    """The caller mixed something up."""
    with pytest.raises(InputError, match="cannot be compared"):
        distinguishable(shown(1.0, "1.0 V"), replace(shown(1.0, "1.0 V"), instrument="ohmmeter"))


def test_near_the_end_of_the_range_a_figure_and_ol_are_one() -> None:
    """19.5 megohm on one meter is OL on the next."""
    assert display_ohm(19.5e6).tolerance == inf
    assert display_ohm(10e6).tolerance < inf
    assert display_ohm(20e6).shown == "OL"


def test_bright_dim_and_dark_are_told_apart() -> None:
    """The steps an eye can see, on solved circuits."""

    def tip(fault: str) -> Shown:
        bad = inject(one_lamp(), parse_fault(fault))
        how = Measurement(instrument="test-lamp", red="E1.1", black="chassis", positions=ON,
                          removed=("E1",))  # fmt: skip
        return measure(bad, how)

    bright, dim, dark = tip("F1:wrong-rating:20"), tip("W4:resistance:50"), tip("W4:open")
    assert [s.shown for s in (bright, dim, dark)] == ["lit bright", "glows dim", "dark"]
    assert distinguishable(bright, dim)
    assert distinguishable(dim, dark)
    assert not distinguishable(bright, tip("W4:resistance:0.05"))
