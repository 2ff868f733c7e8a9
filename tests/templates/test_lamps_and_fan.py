"""Warning lamps, radiator fans, headlamps, and tail, stop and plate lamps.

What each load must do is written down by hand from the positions; the rest is what every
technician knows about these circuits. Common practice, no source, unless a test names one.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from quizgen.circuit.components import LOADS, Lamp, Motor, Resistor
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault, universe
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.observation import observe

Moves = Mapping[str, str]
FAMILIES = ("warning-lamp", "radiator-fan", "headlamps", "tail-stop-plate")
FEW = 6


def after(circuit: Circuit, fault: str, moves: Moves) -> OperatingPoint:
    """The circuit with a fault, if one is given, its controls moved one after the other."""
    broken = inject(circuit, parse_fault(fault)) if fault else circuit
    return solve(broken, [dict([m]) for m in moves.items() if m[0] in circuit.by_control])


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def shares(point: OperatingPoint) -> dict[str, float]:
    return {o.load: o.share for o in observe(point)}


def opened(point: OperatingPoint) -> set[str]:
    return {e.part for e in point.events if e.part.startswith("F") and e.change == "opens"}


def amps(point: OperatingPoint, part: str) -> float:
    return abs(point.flows(point.circuit.part(part))[0].amps)


def meter(circuit: Circuit, red: str, moves: Moves) -> float:
    """What a voltmeter of 10 Mohm shows between `red` and the frame."""
    probe = Resistor(id="R99", nodes=(red, circuit.reference), ohm=10e6)
    return after(circuit.with_parts(added=[probe]), "", moves).flows(probe)[0].volts or 0.0


def wire_into(circuit: Circuit, node: str) -> str:
    """The one wire that ends at `node`."""
    (wire,) = [p.id for p in circuit.parts if p.kind == "wire" and p.nodes[1] == node]
    return wire


# --- what each load must do -----------------------------------------------------------


def expected_warning(at: Moves) -> dict[str, str]:
    """A lamp needs the ignition and one way to ground: its own switch or the lamp check."""
    live = at["S1"] != "off"
    check = at["S1"] == "check" or at.get("S2") == "pressed"
    oil = live and (check or at["oil-pressure"] == "low")
    hot = live and (check or at.get("coolant") == "hot")
    low = live and (check or at.get("coolant-level") == "low")
    lamps = {"P1": oil, "P2": hot, "P3": low}
    return {
        **{p: "bright" if lit else "dark" for p, lit in lamps.items()},
        "P9": "sounds" if oil else "silent",
    }


def expected_fan(at: Moves) -> dict[str, str]:
    """Every fan turns from warm on while the coils have supply."""
    turns = at.get("S1", "on") == "on" and at["coolant"] != "cold"
    return dict.fromkeys(("M1", "M2"), "turns" if turns else "stopped")


def expected_headlamps(at: Moves) -> dict[str, str]:
    """One beam or the other; the telltale goes with the high one."""
    low = at["S1"] == "on" and at["S2"] == "low"
    high = at["S1"] == "on" and at["S2"] == "high"
    lit = {"E1": low, "E2": high, "E3": low, "E4": high, "P1": high}
    return {e: "bright" if on else "dark" for e, on in lit.items()}


def expected_rear(at: Moves) -> dict[str, str]:
    """Tail and plate lamps go with the light switch, stop lamps with the pedal."""
    tail = "bright" if at["S1"] == "on" else "dark"
    stop = "bright" if at["S2"] == "pressed" and at.get("S3", "on") == "on" else "dark"
    return {
        **dict.fromkeys(("E1", "E3", "E5", "E6", "P1"), tail),
        **dict.fromkeys(("E2", "E4", "E7"), stop),
    }


EXPECTED = {
    "warning-lamp": expected_warning,
    "radiator-fan": expected_fan,
    "headlamps": expected_headlamps,
    "tail-stop-plate": expected_rear,
}


@pytest.mark.parametrize("family", FAMILIES)
def test_loads_do_what_the_positions_say(family, draws):
    """In any position each load works or rests as read off the diagram, without a doubt."""
    for drawn in draws(family, number=2 * FEW):
        loads = {p.id for p in drawn.circuit.parts if isinstance(p, LOADS)}
        for at, point in drawn.operated:
            wanted = {k: v for k, v in EXPECTED[family](at).items() if k in loads}
            assert levels(point) == wanted, f"{drawn} at {at}"
            assert not any(o.doubtful for o in observe(point)), f"{drawn} at {at}"
            assert (point.behaviour, point.ambiguous) == ("steady", ()), f"{drawn} at {at}"


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_enough_to_go_wrong(family, draws):
    """Every setting offers at least 25 faults in at least 15 places."""
    for drawn in draws(family, number=FEW):
        faults = [w.fault for w in universe(drawn.circuit)]
        assert len(faults) >= 25, str(drawn)
        assert len({f.part for f in faults}) >= 15, str(drawn)


# most watts at 12 V and at 24 V by the type's rated watts: UN R37 data sheets of T4W, R5W and
# C5W, R10W, P21W, and of H4's two filaments (55/60 W at 12 V, 70/75 W at 24 V); from memory
R37_MOST = (
    (4.4, 5.5), (5.5, 7.7), (11.0, 14.0), (26.5, 29.7), (68.0, 80.0), (75.0, 85.0),
)  # fmt: skip


@pytest.mark.parametrize("family", ["warning-lamp", "headlamps", "tail-stop-plate"])
def test_lamps_are_those_of_the_regulation(family, draws):
    """Each lamp's watts lie within an eighth below the most that UN R37 allows one of its types."""
    for drawn in draws(family, number=2 * FEW):
        column = 0 if drawn.circuit.system_volts == 12 else 1
        for lamp in drawn.circuit.parts:
            if isinstance(lamp, Lamp):
                near = [m for m in R37_MOST if 0.875 * m[column] <= lamp.watts <= m[column]]
                assert near, f"{lamp.id} {lamp.watts} W: {drawn}"


# --- warning lamps --------------------------------------------------------------------

RUNNING = {"S1": "on", "oil-pressure": "normal"}


def check(circuit: Circuit, *, pressure: str) -> Moves:
    """The lamp check at work, with the oil pressure given."""
    by_key = "check" in circuit.by_control["S1"].positions
    moves = {"S1": "check"} if by_key else {"S1": "on", "S2": "pressed"}
    return {"oil-pressure": pressure, **moves}


def test_grounding_the_wire_of_a_pressure_switch_lights_its_lamp(draws):
    """The wire on the frame does what the closed switch does, and overloads nothing."""
    for drawn in draws("warning-lamp", number=FEW):
        wire = wire_into(drawn.circuit, "B1.1")
        point = after(drawn.circuit, f"{wire}:short-to-ground", RUNNING)
        assert levels(point)["P1"] == "bright", str(drawn)
        assert opened(point) == set()
        others = {v for k, v in levels(point).items() if k in ("P2", "P3")}
        assert others <= {"dark"}, str(drawn)


def test_lost_engine_strap_shows_in_service_and_not_in_the_lamp_check(draws):
    """Switches screwed into an ungrounded block light nothing; the check has its own ground."""
    for drawn in draws("warning-lamp", number=FEW):
        service = {"S1": "on", "coolant": "hot"}
        seen = levels(after(drawn.circuit, "G2:open", service))
        assert {seen[p] for p in ("P1", "P2") if p in seen} == {"dark"}, str(drawn)
        seen = levels(after(drawn.circuit, "G2:open", check(drawn.circuit, pressure="normal")))
        assert {v for k, v in seen.items() if k != "P9"} == {"bright"}, str(drawn)


def test_low_oil_pressure_hides_a_lost_check_ground_unless_diodes_stand_between(draws):
    """With joined contacts the check finds ground through the oil pressure switch."""
    for isolation, hidden in (("contacts", True), ("diodes", False)):
        for drawn in draws("warning-lamp", number=3, lamps=3, isolation=isolation):
            seen = levels(after(drawn.circuit, "G3:open", check(drawn.circuit, pressure="normal")))
            assert [seen[p] for p in ("P1", "P2", "P3")] == ["dark"] * 3, str(drawn)
            seen = levels(after(drawn.circuit, "G3:open", check(drawn.circuit, pressure="low")))
            others = "bright" if hidden else "dark"
            assert [seen[p] for p in ("P1", "P2", "P3")] == ["bright", others, others], str(drawn)


def test_shorted_check_diode_lets_one_switch_light_every_lamp(draws):
    """Through V1 the other returns find the ground of the oil pressure switch."""
    for drawn in draws("warning-lamp", number=FEW, lamps=3, isolation="diodes"):
        seen = levels(after(drawn.circuit, "V1:shorted", {"S1": "on"}))
        assert [seen[p] for p in ("P1", "P2", "P3")] == ["bright"] * 3, str(drawn)
        seen = levels(after(drawn.circuit, "V1:shorted", RUNNING))
        assert [seen[p] for p in ("P1", "P2", "P3")] == ["dark"] * 3, str(drawn)


def test_meter_behind_a_dark_warning_lamp_tells_filament_from_return(draws):
    """0 V behind a burned-out filament, supply behind a whole one whose return is broken."""
    for drawn in draws("warning-lamp", number=FEW, buzzer=False):
        circuit, node = drawn.circuit, "P1.2"
        burned = inject(circuit, parse_fault("P1:burned-out"))
        broken = inject(circuit, parse_fault(f"{wire_into(circuit, 'B1.1')}:open"))
        assert meter(burned, node, {"S1": "on"}) == pytest.approx(0.0, abs=0.01), str(drawn)
        assert meter(broken, node, {"S1": "on"}) > circuit.system_volts, str(drawn)


def test_buzzer_sounds_beside_a_burned_out_lamp(draws):
    """The buzzer is in parallel with the oil pressure lamp."""
    for drawn in draws("warning-lamp", number=3, buzzer=True):
        seen = levels(after(drawn.circuit, "P1:burned-out", {"S1": "on"}))
        assert (seen["P1"], seen["P9"]) == ("dark", "sounds"), str(drawn)


# --- radiator fan ---------------------------------------------------------------------


def test_hot_coolant_gives_more_speed_than_warm(draws):
    """The second temperature switch brings the higher speed, and clearly so."""
    for drawn in draws("radiator-fan", number=FEW):
        warm, hot = (
            shares(after(drawn.circuit, "", {"S1": "on", "coolant": at})) for at in ("warm", "hot")
        )
        assert all(hot[fan] - warm[fan] > 0.1 for fan in warm), str(drawn)


def test_open_resistor_costs_the_low_speed_only(draws):
    """The high speed relay goes round the resistor."""
    for drawn in draws("radiator-fan", number=FEW, fans="one"):
        found = [
            levels(after(drawn.circuit, "R1:open", {"S1": "on", "coolant": at}))["M1"]
            for at in ("cold", "warm", "hot")
        ]
        assert found == ["stopped", "stopped", "turns"], str(drawn)


def test_series_fans_share_the_supply_and_stop_together(draws):
    """Like fans in series carry one current and drop half each (OpenStax University Physics 2,
    sec. 10.2); a break in one stops both. At high speed they are in parallel: one goes on."""
    for drawn in draws("radiator-fan", number=FEW, fans="two"):
        warm, hot = {"S1": "on", "coolant": "warm"}, {"S1": "on", "coolant": "hot"}
        point = after(drawn.circuit, "", warm)
        assert amps(point, "M1") == pytest.approx(amps(point, "M2"), rel=1e-9)
        left, right = (point.flows(drawn.circuit.part(m))[0].volts for m in ("M1", "M2"))
        assert left == pytest.approx(right, rel=1e-6), str(drawn)
        assert 0.94 < 2 * left / point.volts(drawn.circuit.supply) < 1.0
        seen = levels(after(drawn.circuit, "M2:open", warm))
        assert seen == {"M1": "stopped", "M2": "stopped"}, str(drawn)
        seen = levels(after(drawn.circuit, "M2:open", hot))
        assert seen == {"M1": "turns", "M2": "stopped"}, str(drawn)


def test_grounded_switch_wire_runs_the_fan_cold_and_with_a_battery_feed_all_night(draws):
    """A wire on the frame is a closed temperature switch; the ignition only stops its own feed."""
    for feed, parked in (("ignition", "stopped"), ("battery", "turns")):
        for drawn in draws("radiator-fan", number=3, coil_feed=feed):
            fault = f"{wire_into(drawn.circuit, 'B1.1')}:short-to-ground"
            assert levels(after(drawn.circuit, fault, {"S1": "on"}))["M1"] == "turns", str(drawn)
            point = after(drawn.circuit, fault, {})
            assert levels(point)["M1"] == parked, str(drawn)
            assert opened(point) == set()


def test_welded_high_speed_relay_feeds_its_fan_whatever_the_coolant(draws):
    """The contact hangs on the battery: with two fans the one behind it runs alone."""
    for drawn in draws("radiator-fan", number=FEW):
        seen = levels(after(drawn.circuit, "K2:welded", {}))
        two = "M2" in seen
        assert seen == ({"M1": "stopped", "M2": "turns"} if two else {"M1": "turns"}), str(drawn)


def test_lost_switch_ground_costs_both_speeds(draws):
    """Both temperature switches stand on one ground."""
    for drawn in draws("radiator-fan", number=FEW):
        seen = levels(after(drawn.circuit, "G3:open", {"S1": "on", "coolant": "hot"}))
        assert set(seen.values()) == {"stopped"}, str(drawn)
        fans = [p for p in drawn.circuit.parts if isinstance(p, Motor)]
        assert len(fans) == len(seen)


# --- headlamps ------------------------------------------------------------------------

LOW, HIGH = {"S1": "on"}, {"S1": "on", "S2": "high"}


def test_lost_ground_of_one_headlamp_sends_its_current_through_the_other_filament(draws):
    """On low beam the high filament and the telltale glow; one current passes both filaments."""
    for drawn in draws("headlamps", number=FEW):
        point = after(drawn.circuit, "X2:open:3", LOW)
        seen = levels(point)
        assert (seen["E1"], seen["E2"], seen["E3"]) == ("dim", "dim", "bright"), str(drawn)
        assert seen["P1"] == "dim", str(drawn)
        assert amps(point, "E1") == pytest.approx(amps(point, "E2"), rel=1e-9)


def test_lost_common_ground_leaves_low_beam_dark_and_the_high_beam_telltale_bright(draws):
    """Four headlamp filaments are hardly a resistance before the telltale's."""
    for drawn in draws("headlamps", number=FEW, grounds="shared"):
        seen = levels(after(drawn.circuit, "G2:open", LOW))
        assert {seen[e] for e in ("E1", "E2", "E3", "E4")} == {"dark"}, str(drawn)
        assert seen["P1"] == "bright", str(drawn)


def test_dimmer_relay_that_does_not_move_leaves_one_beam(draws):
    """A dead coil leaves the resting contact, low beam; a welded contact leaves high beam."""
    for drawn in draws("headlamps", number=FEW):
        for fault, moves, same_as in (("K1:coil-open", HIGH, LOW), ("K1:welded", LOW, HIGH)):
            seen = levels(after(drawn.circuit, fault, moves))
            assert seen == levels(after(drawn.circuit, "", same_as)), f"{fault} {drawn}"


def test_dimmer_relay_buzzes_when_its_ground_goes_through_the_lamps_it_feeds(draws):
    """Console ground lost: the coil grounds through telltale and cold high filaments, pulls in,
    puts supply on them and lets itself go. Without the telltale there is no such path."""
    for drawn in draws("headlamps", number=FEW, dimmer="supply", feed="switch"):
        point = after(drawn.circuit, "G4:open", HIGH)
        assert point.behaviour == "chatter", str(drawn)
        both = inject(drawn.circuit, parse_fault("P1:burned-out"))
        point = after(both, "G4:open", HIGH)
        assert point.behaviour == "steady", str(drawn)
        assert levels(point)["E1"] == "bright", str(drawn)


def test_a_low_beam_fuse_feeds_what_its_name_says(draws):
    """A fuse for the beam takes both lamps with it, a fuse for the side one."""
    for fusing, right in (("beam", "dark"), ("side", "bright")):
        for drawn in draws("headlamps", number=3, fusing=fusing):
            seen = levels(after(drawn.circuit, "F4:blown", LOW))
            assert (seen["E1"], seen["E3"]) == ("dark", right), str(drawn)
            assert levels(after(drawn.circuit, "F4:blown", HIGH))["E2"] == "bright"


# --- tail, stop and plate lamps -------------------------------------------------------

LIGHTS, BRAKE = {"S1": "on"}, {"S3": "on", "S2": "pressed"}
LEFT = ("E1", "E2", "E5")  # lamps on the left cluster's ground


def test_lost_left_ground_makes_the_brake_light_the_tail_lamps(draws):
    """Braking in daylight: the stop lamp stays dark, the current it passes lights the left tail
    and plate lamp dimly on its way into the tail line; the right stop lamp is bright."""
    for drawn in draws("tail-stop-plate", number=FEW, grounds="own", fusing="one"):
        point = after(drawn.circuit, "G2:open", BRAKE)
        seen = levels(point)
        assert (seen["E2"], seen["E4"]) == ("dark", "bright"), str(drawn)
        assert (seen["E1"], seen["E5"]) == ("dim", "dim"), str(drawn)
        assert shares(point)["E3"] > 0.1, str(drawn)
        through = amps(point, "E1") + amps(point, "E5")
        assert amps(point, "E2") == pytest.approx(through, rel=1e-9), str(drawn)


def test_lost_left_ground_with_lights_and_brake_darkens_the_left_side(draws):
    """Supply at both ends of every left lamp: nothing flows, and the stud stands at supply."""
    for drawn in draws("tail-stop-plate", number=FEW, grounds="own"):
        moves = {**LIGHTS, **BRAKE}
        seen = levels(after(drawn.circuit, "G2:open", moves))
        assert {seen[e] for e in LEFT} == {"dark"}, str(drawn)
        assert {v for k, v in seen.items() if k not in LEFT} == {"bright"}, str(drawn)
        broken = inject(drawn.circuit, parse_fault("G2:open"))
        assert meter(broken, "G2", moves) > 0.97 * drawn.circuit.system_volts, str(drawn)


def test_lost_common_ground_shows_in_the_telltale(draws):
    """Every rear lamp is dark, yet the brake alone lights the tail telltale in the cab."""
    for drawn in draws("tail-stop-plate", number=FEW, grounds="common", pilot=True, third=False):
        seen = levels(after(drawn.circuit, "G2:open", BRAKE))
        assert seen.pop("P1") == "bright", str(drawn)
        assert set(seen.values()) == {"dark"}, str(drawn)
        seen = levels(after(drawn.circuit, "G2:open", LIGHTS))
        assert seen.pop("P1") == "bright", str(drawn)
        assert set(seen.values()) == {"dark"}, str(drawn)


def test_lost_left_ground_dims_the_tail_lamp_but_not_the_right_one(draws):
    """Lights alone: left lamps find ground through cold stop lamp filaments, which take a share."""
    for drawn in draws("tail-stop-plate", number=FEW, grounds="own"):
        found = shares(after(drawn.circuit, "G2:open", LIGHTS))
        assert found["E1"] == pytest.approx(found["E5"], rel=0.03), str(drawn)
        assert 0.3 < found["E1"] < 0.85 * found["E3"], str(drawn)


def test_short_in_the_tail_line_spares_the_stop_lamps(draws):
    """Two circuits, two fuses: the tail fuse opens and braking still shows."""
    for drawn in draws("tail-stop-plate", number=FEW, fusing="one"):
        point = after(drawn.circuit, "W31:short-to-ground", {**LIGHTS, **BRAKE})
        assert opened(point) == {"F2"}, str(drawn)
        seen = levels(point)
        assert (seen["E1"], seen["E3"], seen["E2"], seen["E4"]) == (
            "dark", "dark", "bright", "bright",
        ), str(drawn)  # fmt: skip
