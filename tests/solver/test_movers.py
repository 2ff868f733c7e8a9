"""Parts that move by themselves do what a technician knows of them.

Common practice, no source, unless a test names one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from quizgen.circuit.components import (
    Battery,
    Flasher,
    Fuse,
    Lamp,
    Part,
    Relay,
    StarterSolenoid,
    Switch,
)
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.circuit.template import parse_template
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.observation import observe
from tests.circuit.moved import MOVED

SOUND = parse_template(MOVED).build()
TESTED_AT = (11.0, 12.0, 12.8, 14.0, 15.0)  # volts of the flasher tests of SAE J590, as quoted


def after(fault: str, *moves: tuple[str, str], circuit: Circuit = SOUND) -> OperatingPoint:
    """The circuit with a fault ("" for none), its controls moved one after the other."""
    bad = inject(circuit, parse_fault(fault)) if fault else circuit
    return solve(bad, [dict([move]) for move in moves])


def levels(point: OperatingPoint) -> dict[str, str]:
    """Load → what a driver sees of it."""
    return {o.load: o.level for o in observe(point)}


def changed(**parts: Mapping[str, object]) -> Circuit:
    """The circuit with fields of parts changed."""
    return SOUND.with_parts(changed=[replace(SOUND.part(p), **v) for p, v in parts.items()])  # type: ignore[arg-type]


# --- flashers -------------------------------------------------------------------------


def flashing(style: str, lamps: int = 2, volts: float = 12.8, **more: object) -> OperatingPoint:
    """A flasher straight on a battery with lamps of 21 W at 13.5 V."""
    battery = Battery(id="GB1", nodes=("live", CHASSIS), emf_volts=volts)
    fuse = Fuse(id="F1", nodes=("live", "in"), amps=10)
    nodes = ("in", "out", CHASSIS) if style == "electronic" else ("in", "out")
    unit = Flasher(id="K1", nodes=nodes, style=style, **more)  # type: ignore[arg-type]
    fitted = [
        Lamp(id=f"E{n}", nodes=("out", CHASSIS), watts=21, volts=13.5) for n in range(1, lamps + 1)
    ]
    parts: tuple[Part, ...] = (battery, fuse, unit, *fitted)
    return solve(Circuit(name="t", title="t", system_volts=12.0, parts=parts))


def rate(point: OperatingPoint) -> float:
    """Flashes a minute."""
    assert point.behaviour == "cycling"
    return 60.0 / sum(phase.seconds for phase in point.phases)


@pytest.mark.parametrize("volts", TESTED_AT)
@pytest.mark.parametrize("style", ["thermal", "electronic"])
def test_direction_indicators_flash_60_to_120_times_a_minute(style: str, volts: float) -> None:
    """UN R48 par. 6.5.9 and R53 par. 6.3.8: 90 ± 30 a minute, at every test voltage.

    Lit for 30 to 75 % of the time (SAE J590 figure 1, from memory).
    """
    point = flashing(style, volts=volts)
    assert 60.0 <= rate(point) <= 120.0
    assert levels(point) == {"E1": "flashes", "E2": "flashes"}
    lit = [f.seconds for f in point.phases if (f.point.volts("out") or 0.0) > 9.0]
    assert 0.30 <= sum(lit) * rate(point) / 60.0 <= 0.75


def test_a_thermal_flasher_stays_lit_when_a_lamp_is_out() -> None:
    """Too little current to heat it. UN R48 par. 6.5.8, from memory: alight without flashing."""
    point = flashing("thermal", lamps=1)
    assert point.behaviour == "steady"
    assert levels(point) == {"E1": "bright"}


def test_an_electronic_flasher_hurries_when_a_lamp_is_out() -> None:
    """Twice the rate; the others keep flashing (UN R48 par. 6.5.8 and 6.5.9.4, from memory)."""
    point = flashing("electronic", lamps=1)
    assert rate(point) > 1.7 * rate(flashing("electronic"))
    assert levels(point) == {"E1": "flashes fast"}


@pytest.mark.parametrize("style", ["thermal", "electronic"])
def test_without_lamps_nothing_happens(style: str) -> None:
    """Both lamps out: no current, nothing to see, and 49a stands at supply."""
    point = flashing(style, lamps=0)
    assert point.behaviour == "steady"
    fault = after("S1:stuck:off", ("S1", "on"))
    assert levels(fault)["E1"] == "dark"


def test_a_failed_flasher_leaves_lamps_dark_or_lit() -> None:
    """Open inside: dark. Welded: lit without flashing."""
    assert levels(after("K2:open", ("S1", "on")))["E1"] == "dark"
    point = after("K2:welded", ("S1", "on"))
    assert levels(point)["E1"] == "bright"
    assert not point.phases


def test_an_electronic_flasher_needs_its_ground() -> None:
    """With terminal 31 open it does not switch at all."""
    nodes = ("on", "turn", "nowhere")
    assert levels(after("", ("S1", "on"), circuit=changed(K2={"nodes": nodes})))["E1"] == "dark"


def test_a_short_behind_the_flasher_opens_the_fuse() -> None:
    """It is not the flasher that protects the wire."""
    battery = Battery(id="GB1", nodes=("live", CHASSIS), emf_volts=12.6)
    fuse = Fuse(id="F1", nodes=("live", "in"), amps=10)
    unit = Flasher(id="K1", nodes=("in", "out", CHASSIS))
    bare = Circuit(name="t", title="t", system_volts=12.0, parts=(battery, fuse, unit))
    lamp = Lamp(id="E1", nodes=("out", CHASSIS), watts=21, volts=13.5, condition="shorted")
    point = solve(bare.with_parts(added=[lamp]))
    assert point.state(fuse) == "open"
    assert point.volts("in") is None or abs(point.volts("in") or 0.0) < 0.1


# --- starting -------------------------------------------------------------------------

CRANK = ("S2", "on")


def test_a_sound_starter_engages_cranks_and_lets_go() -> None:
    """The pull-in winding is bridged by the contact it closes; the key let go, both release.

    At least 9.6 V stay on a 12 V system while a sound battery cranks.
    """
    point = after("", CRANK)
    assert levels(point)["M1"] == "turns"
    flows = {f.name: f for f in point.flows(SOUND.part("K1"))}
    assert abs(flows["pull-in"].volts or 0.0) < 0.2
    assert (flows["hold-in"].volts or 0.0) > 9.6
    assert 9.6 < (point.volts("live") or 0.0) < 12.0
    let_go = after("", CRANK, ("S2", "off"))
    assert levels(let_go)["M1"] == "stopped"
    assert let_go.state(SOUND.part("K1")) == "rest"


def test_an_open_hold_in_winding_makes_the_solenoid_chatter() -> None:
    """It pulls in, bridges its own pull-in winding and falls off again, and so on."""
    point = after("K1:hold-open", CRANK)
    assert point.behaviour == "chatter"
    assert "K1" in {e.part for e in point.events if e.change == "chatters"}


def test_an_open_pull_in_winding_does_not_engage() -> None:
    """The hold-in winding alone is too weak; full voltage stands at terminal 50."""
    point = after("K1:pull-open", CRANK)
    assert levels(point)["M1"] == "stopped"
    assert point.state(SOUND.part("K1")) == "rest"
    assert (point.volts("start") or 0.0) > 12.0


def test_a_solenoid_that_clicks_and_does_not_crank() -> None:
    """Contact burnt away: it pulls, the motor gets nothing but the pull-in winding's current."""
    point = after("K1:not-making", CRANK)
    assert point.state(SOUND.part("K1")) == "pulled"
    assert levels(point)["M1"] == "stopped"
    assert abs(point.flows(SOUND.part("M1"))[0].amps) < 50.0


def test_a_burnt_solenoid_contact_loses_the_voltage() -> None:
    """Under 0.3 V across a sound contact while cranking; volts across a burnt one."""
    for fault, low, high in (("", 0.0, 0.3), ("K1:resistance:0.02", 1.5, 6.0)):
        point = after(fault, CRANK)
        assert low <= (point.volts("live") or 0.0) - (point.volts("motor") or 0.0) <= high


def test_a_welded_solenoid_cranks_without_the_key() -> None:
    """Switch off, and the starter goes on turning."""
    assert levels(after("K1:welded"))["M1"] == "turns"
    assert levels(after("K1:welded", CRANK, ("S2", "off")))["M1"] == "turns"


def test_a_solenoid_clatters_on_a_battery_that_gives_way() -> None:
    """The motor drags the voltage under what holds the plunger, it falls off, and again."""
    point = after("", CRANK, circuit=changed(GB1={"internal_ohm": 0.12}))
    assert point.behaviour == "chatter"


# --- charging -------------------------------------------------------------------------

IGNITION, RUNNING = ("S1", "on"), ("engine", "running")


def test_the_charge_lamp_is_lit_until_the_alternator_charges() -> None:
    """Ignition on, engine still: lit. Engine running: out, the battery's voltage up, current in."""
    still, running = after("", IGNITION), after("", IGNITION, RUNNING)
    assert levels(still)["P1"] != "dark"
    assert levels(running)["P1"] == "dark"
    assert (running.volts("live") or 0.0) > (still.volts("live") or 0.0) + 0.4
    assert running.flows(SOUND.part("GB1"))[0].amps > 0.0  # into plus: it is being charged
    stopped = after("", IGNITION, RUNNING, ("engine", "stopped"))
    assert levels(stopped) == levels(still)


@pytest.mark.parametrize("fault", ["GA1:rotor-open", "P1:burned-out"])
def test_without_excitation_the_lamp_is_dark_and_nothing_charges(fault: str) -> None:
    """An open rotor, or an open charge lamp: dark at standstill already, no charge running."""
    still, running = after(fault, IGNITION), after(fault, IGNITION, RUNNING)
    assert levels(still)["P1"] == levels(running)["P1"] == "dark"
    assert (running.volts("live") or 0.0) < 12.7
    assert running.state(SOUND.part("GA1")) == "still"


def test_an_alternator_keeps_charging_once_it_has_begun() -> None:
    """Excited by itself, it does not need the lamp any more; the other order never starts it."""
    assert after("", IGNITION, RUNNING, ("S1", "off")).state(SOUND.part("GA1")) == "charging"
    assert after("", RUNNING).state(SOUND.part("GA1")) == "still"
    kept = ("GB1", "S1", "P1", "GA1")  # nothing but the lamp on the switch: D+ carries nothing
    alone = replace(SOUND, parts=tuple(p for p in SOUND.parts if p.id in kept))
    point = after("", IGNITION, RUNNING, ("S1", "off"), circuit=alone)
    assert {f.name: f.amps for f in point.flows(SOUND.part("GA1"))}["exciter"] == 0.0
    assert point.state(SOUND.part("GA1")) == "charging"


def test_an_open_sense_wire_overcharges() -> None:
    """The regulator sees too little and drives the voltage up."""
    loose = changed(GA1={"nodes": ("live", "lamp", CHASSIS, "loose")})
    good, bad = after("", IGNITION, RUNNING), after("", IGNITION, RUNNING, circuit=loose)
    assert bad.state(SOUND.part("GA1")) == "overcharging"
    assert (bad.volts("live") or 0.0) > (good.volts("live") or 0.0) + 0.2


def test_no_output_leaves_the_battery_alone() -> None:
    """The rotor is excited, yet nothing comes from B+."""
    point = after("GA1:no-output", IGNITION, RUNNING)
    assert (point.volts("live") or 0.0) < 12.7
    assert point.flows(SOUND.part("GB1"))[0].amps < 0.0


# --- timer relay, wiper, gauge --------------------------------------------------------


def test_a_timer_relay_lets_go_when_its_time_has_elapsed() -> None:
    """Fed all the time, it pulls only while its time runs; without voltage it never does."""
    relay = SOUND.part("K3")
    assert after("").state(relay) == "pulled"
    assert after("", ("after-run", "elapsed")).state(relay) == "rest"
    again = after("", ("after-run", "elapsed"), ("after-run", "running"))
    assert again.state(relay) == "pulled"
    assert after("K3:coil-open").state(relay) == "rest"
    assert levels(after("K3:welded", ("after-run", "elapsed")))["M2"] == "turns"


def speed(point: OperatingPoint) -> float:
    """Of the wiper motor, its high speed at rated voltage counting as 1."""
    return next(o.share for o in observe(point) if o.load == "M2")


def test_the_high_brush_drives_faster() -> None:
    """Low speed some two thirds of high speed (about 45 and 65 strokes a minute, from memory)."""
    slow, fast = after(""), after("", ("S3", "fast"))
    assert 0.5 < speed(slow) / speed(fast) < 0.8


@pytest.mark.parametrize(
    ("fault", "slow", "fast"),
    [
        ("M2:low-brush-open", "stopped", "turns"),
        ("M2:high-brush-open", "turns", "stopped"),
        ("M2:seized", "stopped", "stopped"),
    ],
)
def test_a_lost_brush_costs_its_own_speed(fault: str, slow: str, fast: str) -> None:
    """The other speed works as before; a seized motor has none."""
    assert levels(after(fault))["M2"] == slow
    assert levels(after(fault, ("S3", "fast")))["M2"] == fast


def test_a_seized_wiper_draws_its_stall_current() -> None:
    """Ohm's law: 25 A at 13 V is 0.52 Ω, at the battery's 12.6 V some 24 A."""
    assert after("M2:seized").flows(SOUND.part("M2"))[0].amps == pytest.approx(23.7, abs=0.5)


def test_a_gauge_follows_its_sender() -> None:
    """12.6 V over 60 + 180 Ω is 53 mA of 150: in the middle; over 60 + 20 Ω beyond the end.

    A grounded sender wire drives it to the end of the scale, an open one to the lower stop.
    """
    assert levels(after("", IGNITION, ("tank", "empty")))["P2"] == "in the middle"
    assert levels(after("", IGNITION, ("tank", "full")))["P2"] == "high"
    assert levels(after("B1:open", IGNITION))["P2"] == "at the lower stop"
    assert levels(after("P2:open", IGNITION))["P2"] == "at the lower stop"
    grounded = changed(B1={"ohms": (0.0, 0.0)})
    assert levels(after("", IGNITION, ("tank", "empty"), circuit=grounded))["P2"] == "high"


def test_kinds_have_the_terminals_of_din_72552() -> None:
    """49 and 49a flasher, 50 and 45 starter, 53 and 53i wiper, B+ and D+ alternator."""
    terminals = {kind: SOUND.part(kind).terminals for kind in ("K1", "K2", "M2", "GA1")}
    assert set(terminals["K1"]) == {"30", "31", "45", "50"}
    assert set(terminals["K2"]) == {"49", "49a", "31"}
    assert set(terminals["M2"]) == {"53", "53i", "31"}
    assert {"B+", "D+", "31"} < set(terminals["GA1"])
    assert isinstance(SOUND.part("K1"), StarterSolenoid)
    assert isinstance(SOUND.part("K3"), Relay)
    assert isinstance(SOUND.part("S3"), Switch)
