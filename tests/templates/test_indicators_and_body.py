"""Indicators, central locking, power seat and heated window: what works where, sound and broken.

What a load must do is worked out here by hand from the positions, as a technician reads it off
the diagram. Trade facts are common practice without a source unless a test names one.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from quizgen.circuit.components import Flasher, Lamp, Motor, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.observation import observe

FAMILIES = ("central-locking", "heated-window", "indicators-hazard", "power-seat")
FEW = 6  # random settings of each family; other tests share them
Moves = Mapping[str, str]


def after(circuit: Circuit, fault: str, moves: Moves) -> OperatingPoint:
    """The circuit with a fault ("" for none), its controls moved one after the other."""
    broken = inject(circuit, parse_fault(fault)) if fault else circuit
    return solve(broken, [{control: position} for control, position in moves.items()])


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def opened(point: OperatingPoint) -> set[str]:
    """Fuses, links and breakers that opened."""
    return {e.part for e in point.events if e.part.startswith("F") and e.change == "opens"}


# --- what each load must do -----------------------------------------------------------

TURN = {("fed", "grounded"): "turns", ("grounded", "fed"): "turns backwards"}


def motor(first: bool, second: bool) -> str:
    """A motor between two leads, each fed (True) or grounded through a rest contact."""
    words = tuple("fed" if lead else "grounded" for lead in (first, second))
    return TURN.get(words, "stopped")


PRESSED = {  # position of the switch block: motor and the way it turns
    "forward": ("M1", "turns"), "back": ("M1", "turns backwards"),
    "front up": ("M2", "turns"), "front down": ("M2", "turns backwards"),
    "rear up": ("M3", "turns"), "rear down": ("M3", "turns backwards"),
}  # fmt: skip


def expected_seat(circuit: Circuit, at: Moves) -> dict[str, str]:
    """The switch block turns one motor one way, if there is a feed; the others stand still."""
    live = at.get("S1", "on") == "on"
    out = dict.fromkeys(("M1", "M2", "M3"), "stopped")
    if live and at["S2"] != "rest":
        load, turns = PRESSED[at["S2"]]
        out[load] = turns
    return out | {"E1": "bright" if live else "dark"}


def expected_locks(circuit: Circuit, at: Moves) -> dict[str, str]:
    """K1 lifts the lock lead, K2 the unlock lead; any switch may pull either of them in."""
    pressed = {at["S2"], at.get("S3", "rest")}
    out = dict.fromkeys(("M1", "M2", "M3", "M4"), motor("lock" in pressed, "unlock" in pressed))
    return out | {"P9": "bright" if "lock" in pressed else "dark"}


def expected_window(circuit: Circuit, at: Moves) -> dict[str, str]:
    """The window heats while ignition, switch and time allow; the second circuit is on its own."""
    heats = at["S1"] == "on" and at["S2"] == "on" and at["timer"] == "running"
    other = at["S3"] in ("on", "pressed")
    hot, lit = {True: "hot", False: "cold"}, {True: "bright", False: "dark"}
    return {
        "E1": hot[heats], "E2": hot[heats], "P9": lit[heats],
        "E3": hot[other], "E4": hot[other], "E5": lit[other],
        "P1": "sounds" if other else "silent",
    }  # fmt: skip


def expected_indicators(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Hazard flashing takes both sides and needs no ignition; the indicator switch takes one."""
    hazard = at["S2"] == "on"
    left = hazard or (at["S1"] == "on" and at["S3"] == "left")
    right = hazard or (at["S1"] == "on" and at["S3"] == "right")
    word = {True: "flashes", False: "dark"}
    out = dict.fromkeys(("E1", "E2", "E3"), word[left])
    out |= dict.fromkeys(("E4", "E5", "E6"), word[right])
    single = "P2" not in circuit.by_id  # between the sides: lit by a difference only
    return out | {"P1": word[left != right if single else left], "P2": word[right]}


EXPECTED = {
    "central-locking": expected_locks,
    "heated-window": expected_window,
    "indicators-hazard": expected_indicators,
    "power-seat": expected_seat,
}


@pytest.mark.parametrize("family", FAMILIES)
def test_loads_do_what_the_positions_say(family, draws):
    """In any position of its controls each load works, or rests, as read off the diagram."""
    for drawn in draws(family, number=FEW):
        for at, point in drawn.operated:
            expected = EXPECTED[family](drawn.circuit, at)
            seen = levels(point)
            assert seen == {load: expected[load] for load in seen}, f"{drawn} at {at}"
            assert not [o.load for o in observe(point) if o.doubtful], f"{drawn} at {at}"
            assert not opened(point), f"{drawn} at {at}"
            assert not point.ambiguous, f"{drawn} at {at}"


# --- power seat -----------------------------------------------------------------------


def with_feed(circuit: Circuit, **moves: str) -> Moves:
    """The moves, after the ignition where the seat needs it."""
    return {"S1": "on", **moves} if "S1" in circuit.by_id else moves


def test_open_shared_ground_stops_every_seat_motor_with_supply_on_both_leads(draws):
    """One open ground costs all motors, and a meter finds supply on both sides of the one asked.

    The motor drops nothing when no current flows; both its leads then stand at supply.
    """
    for drawn in draws("power-seat", number=FEW):
        for position, load in (("forward", "M1"), ("front down", "M2")):
            point = after(drawn.circuit, "G2:open", with_feed(drawn.circuit, S2=position))
            assert levels(point)[load] == "stopped", str(drawn)
            for node in drawn.circuit.part(load).nodes:
                emf = drawn.circuit.part("GB1").emf_volts
                assert point.volts(node) == pytest.approx(emf, abs=0.15), str(drawn)


def test_one_dead_contact_costs_one_direction_of_one_motor(draws):
    """A contact that no longer feeds costs one direction of one motor, nothing else."""
    for drawn in draws("power-seat", number=FEW):
        does = {"forward": "stopped", "back": "turns backwards", "front up": "turns"}
        for position, level in does.items():
            moves = with_feed(drawn.circuit, S2=position)
            seen = levels(after(drawn.circuit, "S2:open:30-1", moves))
            assert seen[PRESSED[position][0]] == level, f"{position} {drawn}"


def test_burnt_rest_contact_stops_the_other_direction(draws):
    """The rest contact of one lead carries the return of the other direction."""
    for drawn in draws("power-seat", number=FEW):
        does = {"forward": "turns", "back": "stopped", "front up": "turns"}
        for position, level in does.items():
            moves = with_feed(drawn.circuit, S2=position)
            seen = levels(after(drawn.circuit, "S2:open:1-31", moves))
            assert seen[PRESSED[position][0]] == level, f"{position} {drawn}"


def test_supply_on_a_resting_motor_lead_is_a_short_through_the_rest_contact(draws):
    """At rest both leads are grounded: supply on one of them meets ground in the block.

    Only the resistance of rest contact and wires is left, so far more flows than the motor
    ever takes. The breaker does not see it when the unwanted supply comes from before it.
    """
    for drawn in draws("power-seat", number=FEW, feed="battery"):
        lead = next(w.id for w in wires_at(drawn.circuit, "S2.1"))
        point = after(drawn.circuit, f"{lead}:short-to-supply", {})
        block = point.circuit.part("S2")
        amps = max(abs(flow.amps) for flow in point.flows(block))
        motor = drawn.circuit.part("M1")
        assert isinstance(motor, Motor)
        assert amps > 5 * motor.stall_amps, str(drawn)


def wires_at(circuit: Circuit, node: str) -> list[Wire]:
    return [p for p in circuit.parts if isinstance(p, Wire) and node in p.nodes]


# --- central locking ------------------------------------------------------------------


def test_welded_lock_relay_locks_at_rest_and_kills_unlocking(draws):
    """A changeover contact welded to its feed has lost the ground for the other direction."""
    for drawn in draws("central-locking", number=FEW):
        found = {
            pressed: levels(after(drawn.circuit, "K1:welded", {"S2": pressed}))["M1"]
            for pressed in ("rest", "lock", "unlock")
        }
        assert found == {"rest": "turns", "lock": "turns", "unlock": "stopped"}, str(drawn)


def test_open_coil_costs_one_direction_of_every_door(draws):
    """Relays are shared by all doors: a dead coil takes one direction away from all of them."""
    for drawn in draws("central-locking", number=FEW):
        motors = [p.id for p in drawn.circuit.parts if isinstance(p, Motor)]
        lock = levels(after(drawn.circuit, "K2:coil-open", {"S2": "lock"}))
        unlock = levels(after(drawn.circuit, "K2:coil-open", {"S2": "unlock"}))
        assert {lock[m] for m in motors} == {"turns"}, str(drawn)
        assert {unlock[m] for m in motors} == {"stopped"}, str(drawn)


def test_open_lead_of_one_door_stops_that_door_only(draws):
    """The doors are in parallel: beyond the lead splices a fault stays in its own door."""
    for drawn in draws("central-locking", number=FEW):
        motors = [p.id for p in drawn.circuit.parts if isinstance(p, Motor)]
        lead = wires_at(drawn.circuit, "M2.1")[0].id
        seen = levels(after(drawn.circuit, f"{lead}:open", {"S2": "unlock"}))
        does = {m: "stopped" if m == "M2" else "turns backwards" for m in motors}
        assert {m: seen[m] for m in motors} == does, str(drawn)


def test_blown_motor_fuse_leaves_the_relays_clicking_if_coils_have_their_own(draws):
    """Clicking relays clear the coil side; with one fuse for both nothing clicks."""
    for choice, state in (("own", "pulled"), ("shared", "rest")):
        for drawn in draws("central-locking", number=3, coil_fuse=choice):
            point = after(drawn.circuit, "F2:blown", {"S2": "lock"})
            assert levels(point)["M1"] == "stopped", str(drawn)
            assert point.state(drawn.circuit.part("K1")) == state, str(drawn)


# --- heated window --------------------------------------------------------------------


def test_open_breaker_takes_both_circuits(draws):
    """What fails together is fed together: window and second circuit share the breaker."""
    moves = {"S1": "on", "S2": "on"}
    for drawn in draws("heated-window", number=FEW):
        on = "pressed" if drawn.setting["other"] == "horn" else "on"
        seen = levels(after(drawn.circuit, "F2:stuck-open", {**moves, "S3": on}))
        assert set(seen.values()) <= {"cold", "dark", "silent"}, str(drawn)


def test_relay_fault_leaves_the_second_circuit(draws):
    """A contact that does not make costs the window; what works on the same breaker clears it."""
    moves = {"S1": "on", "S2": "on"}
    for drawn in draws("heated-window", number=FEW):
        on = "pressed" if drawn.setting["other"] == "horn" else "on"
        seen = levels(after(drawn.circuit, "K1:not-making", {**moves, "S3": on}))
        assert seen["E1"] == "cold", str(drawn)
        others = {load: level for load, level in seen.items() if load in ("E3", "E4", "E5", "P1")}
        assert set(others.values()) <= {"hot", "bright", "sounds"}, str(drawn)


def test_welded_contact_heats_after_the_time_and_without_ignition(draws):
    """The timer lets go of the coil, but a welded contact does not ask the coil."""
    for drawn in draws("heated-window", number=FEW):
        for moves in ({"S1": "on", "S2": "on", "timer": "elapsed"}, {}):
            assert levels(after(drawn.circuit, "K1:welded", moves))["E1"] == "hot", str(drawn)


def test_resistance_in_the_ground_of_the_window_cools_it(draws):
    """In series with an element of R ohm, R ohm more leaves it half the voltage: lukewarm.

    Ohm's law; a quarter of the power.
    """
    for drawn in draws("heated-window", number=FEW, halves=1):
        window = drawn.circuit.part("E1")
        ohm = window.volts**2 / window.watts
        point = after(drawn.circuit, f"G2:resistance:{ohm:.3f}", {"S1": "on", "S2": "on"})
        across = point.between(*window.nodes)
        assert across == pytest.approx(0.5 * drawn.circuit.part("GB1").emf_volts, rel=0.04)
        assert levels(point)["E1"] == "lukewarm", str(drawn)


# --- indicators -----------------------------------------------------------------------

LEFT = {"S1": "on", "S3": "left"}
RIGHT = {"S1": "on", "S3": "right"}


def flashes_a_minute(point: OperatingPoint) -> float:
    return 60.0 / sum(phase.seconds for phase in point.phases)


def test_flash_rate_is_that_of_the_regulation(draws):
    """90 flashes a minute, give or take 30: UN R48 par. 6.5.9 (R48 also lets a failed lamp
    change the rate)."""
    for drawn in draws("indicators-hazard", number=FEW):
        for moves in (LEFT, RIGHT, {"S2": "on"}):
            assert 60.0 <= flashes_a_minute(after(drawn.circuit, "", moves)) <= 120.0, str(drawn)


def test_burned_out_lamp_stops_a_thermal_flasher_and_hurries_an_electronic_one(draws):
    """Too little current leaves a thermal unit closed; an electronic one doubles its rate.

    The other side goes on as before, which is how the faulty side is found.
    """
    for style, does in (("thermal", "bright"), ("electronic", "flashes fast")):
        for drawn in draws("indicators-hazard", number=4, flasher=style):
            for lamp, rest in (("E1", "E2"), ("E2", "E1")):
                seen = levels(after(drawn.circuit, f"{lamp}:burned-out", LEFT))
                assert (seen[lamp], seen[rest]) == ("dark", does), str(drawn)
            assert levels(after(drawn.circuit, "E2:burned-out", RIGHT))["E5"] == "flashes"


def test_missing_repeater_is_not_noticed_by_the_flasher(draws):
    """Five watts among fifty do not change the rate; nor does one lamp of four on hazard."""
    for drawn in draws("indicators-hazard", number=4, repeaters=True):
        assert levels(after(drawn.circuit, "E3:burned-out", LEFT))["E1"] == "flashes", str(drawn)
        assert levels(after(drawn.circuit, "E1:burned-out", {"S2": "on"}))["E2"] == "flashes"


def test_single_telltale_lights_through_the_lamps_of_the_resting_side(draws):
    """Between the sides it has no ground of its own: with the right lamps gone it stays dark."""
    for drawn in draws("indicators-hazard", number=4, telltale="single"):
        assert levels(after(drawn.circuit, "", LEFT))["P1"] == "flashes", str(drawn)
        bare = drawn.circuit
        for lamp in [p for p in bare.parts if isinstance(p, Lamp) and p.id in ("E4", "E5", "E6")]:
            bare = inject(bare, parse_fault(f"{lamp.id}:burned-out"))
        seen = levels(after(bare, "", LEFT))
        assert (seen["P1"], seen["E1"]) == ("dark", "flashes"), str(drawn)


def test_hazard_switch_feeds_the_flasher_for_both_jobs(draws):
    """Without its off contact the hazard switch cuts the indicators; hazard flashing remains."""
    for drawn in draws("indicators-hazard", number=FEW):
        fault = "S2:open:15-49"
        assert levels(after(drawn.circuit, fault, LEFT))["E1"] == "dark", str(drawn)
        assert levels(after(drawn.circuit, fault, {"S2": "on"}))["E1"] == "flashes", str(drawn)


def test_open_shared_rear_ground_feeds_back_into_the_other_side(draws):
    """The rear left lamp finds ground through the rear right one: both glow in turn with it."""
    for drawn in draws("indicators-hazard", number=4, rear_ground="shared"):
        point = after(drawn.circuit, "G4:open", LEFT)
        lit = max((p.point for p in point.phases), key=lambda p: p.volts("E1.1") or 0.0)
        amps = [abs(lit.flows(drawn.circuit.part(lamp))[0].amps) for lamp in ("E2", "E5")]
        assert amps[0] == pytest.approx(amps[1], rel=1e-6), str(drawn)
        assert amps[0] > 0.3, str(drawn)


def test_threshold_of_the_flasher_lies_between_one_lamp_and_two(draws):
    """By rated watts: one main lamp with all small lamps draws less, two main lamps more."""
    for drawn in draws("indicators-hazard", number=FEW):
        unit = drawn.circuit.part("K1")
        assert isinstance(unit, Flasher)
        amps = {p.id: p.watts / p.volts for p in drawn.circuit.parts if isinstance(p, Lamp)}
        small = amps.get("E3", 0.0) + amps["P1"]
        assert amps["E1"] + small < unit.least_amps < 0.9 * (amps["E1"] + amps["E2"]), str(drawn)
