"""Places where a solver of switched circuits goes wrong without anyone noticing.

Those that the shipped families show are tested there, see ELSEWHERE. Trade facts: common
practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from quizgen.circuit.components import (
    Battery,
    Breaker,
    Contact,
    Lamp,
    Motor,
    Part,
    Relay,
    Resistor,
    Switch,
)
from quizgen.circuit.netlist import CHASSIS, Circuit, Control
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.laws import motor_speed
from quizgen.solver.observation import observe

ELSEWHERE = {  # pitfall → its test among those of the families
    "short to supply on a reversing motor's lead": (
        "test_short_to_supply_on_a_motor_lead_is_a_short_through_the_rest_contact"
    ),
    "open common ground": "test_open_common_ground_puts_supply_on_both_motor_terminals",
    "opposed stations": "test_opposed_stations_stop_the_motor_with_both_leads_at_supply",
}
BATTERY = Battery(id="GB1", nodes=("live", CHASSIS), emf_volts=12.6)


def circuit(*parts: Part, controls: tuple[Control, ...] = ()) -> Circuit:
    """A battery, minus on the frame, and other parts; each hand switch is a control."""
    hands = tuple(
        Control(name=p.id, positions=p.positions, rest=p.positions[0])
        for p in parts
        if isinstance(p, Switch)
    )
    return Circuit(
        name="t", title="t", system_volts=12.0, parts=(BATTERY, *parts), controls=hands + controls
    )


def switch(name: str, a: str, b: str) -> Switch:
    """off, on."""
    return Switch(
        id=name, nodes=(a, b), pins=("1", "2"), positions=("off", "on"),
        closes=((), (Contact(a="1", b="2"),)), control=name,
    )  # fmt: skip


def seen(point: OperatingPoint) -> dict[str, str]:
    """Load → what a driver sees of it."""
    return {o.load: o.level for o in observe(point)}


def test_what_is_tested_elsewhere_is_there() -> None:
    """The names above have not gone stale."""
    file = Path(__file__).parents[1] / "templates" / "test_trade_facts.py"
    text = file.read_text(encoding="utf-8")
    for name in ELSEWHERE.values():
        assert f"def {name}(" in text


# --- a welded changeover contact ------------------------------------------------------


def changeover() -> Circuit:
    """Switch S1 moves K1 from lamp E2 (at 87a) to lamp E1 (at 87)."""
    return circuit(
        switch("S1", "live", "coil"),
        Relay(
            id="K1",
            nodes=("coil", CHASSIS, "live", "made", "broken"),
            contact="changeover",
        ),
        Lamp(id="E1", nodes=("made", CHASSIS), watts=21, volts=13.5),
        Lamp(id="E2", nodes=("broken", CHASSIS), watts=21, volts=13.5),
    )


def test_a_welded_changeover_contact_leaves_its_other_throw() -> None:
    """Held at 87, the armature cannot touch 87a: E1 is lit for good, E2 never again."""
    for moves in ([], [{"S1": "on"}]):
        welded = solve(inject(changeover(), parse_fault("K1:welded")), moves)
        assert seen(welded) == {"E1": "bright", "E2": "dark"}
        stuck = solve(inject(changeover(), parse_fault("K1:not-making")), moves)
        assert seen(stuck) == {"E1": "dark", "E2": "bright"}


def test_a_sound_changeover_contact_has_one_throw_at_a_time() -> None:
    """So the test above can fail."""
    assert seen(solve(changeover())) == {"E1": "dark", "E2": "bright"}
    assert seen(solve(changeover(), [{"S1": "on"}])) == {"E1": "bright", "E2": "dark"}


# --- slow, then stalled ---------------------------------------------------------------


def driven(ohm: float) -> OperatingPoint:
    """A gear motor behind a resistance."""
    motor = Motor(
        id="M1", nodes=("m", CHASSIS), volts=13.5, run_amps=6, stall_amps=30, friction=0.8
    )
    return solve(circuit(Resistor(id="R1", nodes=("live", "m"), ohm=ohm), motor))


def test_some_resistance_slows_a_motor_and_a_little_more_stalls_it() -> None:
    """The speed falls to nothing at a finite resistance; then the stalled motor is 0.45 Ω.

    By the motor's own equations: it turns while its current exceeds what friction takes,
    0.8 times 6 A. 12.6 V less 0.01 Ω of battery leave that at 12.6/4.8 − 0.45 − 0.01 = 2.17 Ω.
    """
    share = {o: observe(driven(o))[0].share for o in (0.1, 0.5, 1.0, 1.5, 2.0, 2.1, 2.25, 3.0)}
    values = list(share.values())
    assert values == sorted(values, reverse=True)
    assert 0.2 < share[1.5] < 0.7  # slow
    assert share[2.1] > 0.0 == share[2.25]
    stalled = driven(2.25)
    assert seen(stalled) == {"M1": "stopped"}
    flow = stalled.flows(stalled.circuit.part("M1"))[0]
    assert (flow.volts or 0.0) / flow.amps == pytest.approx(13.5 / 30)
    assert flow.amps > 4.0  # it stands still, and draws current all the same


# --- a breaker held open --------------------------------------------------------------


def held_breaker() -> tuple[Circuit, Breaker]:
    """A seized motor behind a breaker that stays open while its heater sees voltage."""
    breaker = Breaker(id="F1", nodes=("live", "m"), amps=10, reset="held", heater_ohm=150.0)
    motor = Motor(
        id="M1", nodes=("m", CHASSIS), volts=13.5, run_amps=6, stall_amps=60, friction=0.15,
        condition="seized",
    )  # fmt: skip
    return circuit(breaker, motor), breaker


def test_a_held_breaker_leaks_through_its_heater() -> None:
    """Open for good, and some 84 mA still pass: 12.6 V over 150 Ω (Ohm's law)."""
    bad, breaker = held_breaker()
    point = solve(bad)
    assert point.state(breaker) == "open"
    assert point.flows(breaker)[0].amps == pytest.approx(12.6 / 150.225, rel=0.01)
    assert point.behaviour == "protector-open"


def test_stopped_is_judged_by_torque_not_by_voltage() -> None:
    """A sound motor behind the same leak stands still, though it has voltage and current.

    Its friction takes 0.15 times 6 A, the leak gives a tenth of that.
    """
    motor = Motor(
        id="M1", nodes=("m", CHASSIS), volts=13.5, run_amps=6, stall_amps=30, friction=0.15
    )
    point = solve(circuit(Resistor(id="R1", nodes=("live", "m"), ohm=150.0), motor))
    flow = point.flows(motor)[0]
    assert flow.amps > 0.08
    assert (flow.volts or 0.0) > 0.0
    assert seen(point) == {"M1": "stopped"}
    law = point.law_numbers(motor)
    assert float(motor_speed(point.flows(motor)[0].volts, law[None, :])[0]) == 0.0


# --- relays that depend on each other -------------------------------------------------


def cross_coupled() -> Circuit:
    """Each relay's break contact feeds the other's coil, as in a flip-flop."""
    one = Relay(id="K1", nodes=("c1", CHASSIS, "on", "c2"), contact="break")
    two = Relay(id="K2", nodes=("c2", CHASSIS, "on", "c1"), contact="break")
    return circuit(switch("S1", "live", "on"), one, two)


def test_cross_coupled_relays_are_a_race() -> None:
    """Whichever is faster pulls in and keeps the other out: two outcomes, so no question.

    Moving both at once, a solver would see them pull in and drop out for ever; no real pair
    of relays does that.
    """
    point = solve(cross_coupled(), [{"S1": "on"}])
    assert point.behaviour == "race"
    assert point.ambiguous
    assert not any(e.change == "chatters" for e in point.events)


def test_each_outcome_of_the_race_is_stable() -> None:
    """With either relay unable to pull in, the other does and stays (reasoned by hand)."""
    for out, held in (("K1", "K2"), ("K2", "K1")):
        bad = inject(cross_coupled(), parse_fault(f"{out}:coil-open"))
        point = solve(bad, [{"S1": "on"}])
        assert point.behaviour == "steady"
        assert point.state(bad.part(held)) == "pulled"


def test_a_relay_that_cuts_its_own_coil_chatters() -> None:
    """That is no race: one armature, one buzzer."""
    buzzer = Relay(id="K1", nodes=("c1", CHASSIS, "on", "c1"), contact="break")
    for relay, behaviour in ((buzzer, "chatter"), (replace(buzzer, armature="stuck"), "steady")):
        point = solve(circuit(switch("S1", "live", "on"), relay), [{"S1": "on"}])
        assert point.behaviour == behaviour
