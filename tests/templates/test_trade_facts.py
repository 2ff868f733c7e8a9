"""What every technician knows about these circuits, put to the families one fault at a time.

Common practice, no source, unless a test names one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from quizgen.circuit.components import LOADS, Connector, Lamp, Resistor, ResistorPack, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.observation import observe

Moves = Mapping[str, str]


def after(circuit: Circuit, fault: str, moves: Moves) -> OperatingPoint:
    """The circuit with a fault, its controls moved one after the other."""
    return solve(inject(circuit, parse_fault(fault)), [dict([m]) for m in moves.items()])


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def opened(point: OperatingPoint) -> set[str]:
    """Protectors that opened, for good or to close again."""
    return {e.part for e in point.events if e.part.startswith("F") and e.change == "opens"}


def meter(circuit: Circuit, red: str, black: str, moves: Moves) -> float:
    """What a voltmeter shows: its 10 Mohm are part of the circuit (OpenStax University
    Physics 2, sec. 10.4)."""
    probe = Resistor(id="R99", nodes=(red, black), ohm=10e6)
    point = solve(circuit.with_parts(added=[probe]), [dict([m]) for m in moves.items()])
    return point.flows(probe)[0].volts or 0.0


def wires_ending(circuit: Circuit, *, at: str, end: int) -> list[str]:
    """Wires whose end 0 (from) or 1 (to) is a terminal of part `at`, or its node."""
    wires = [w for w in circuit.parts if isinstance(w, Wire)]
    return [w.id for w in wires if w.nodes[end].partition(".")[0] == at]


# --- blower ---------------------------------------------------------------------------


def sections(circuit: Circuit) -> tuple[ResistorPack, range]:
    pack = circuit.part("R1")
    assert isinstance(pack, ResistorPack)
    return pack, range(1, len(pack.ohms) + 1)


def test_lowest_speed_passes_every_resistor(draws):
    """On the lowest speed one current passes all resistors of the pack, and it is the motor's."""
    for drawn in draws("blower-pack"):
        point = solve(drawn.circuit, [{"S1": "on"}, {"S2": "1"}])
        pack, _ = sections(drawn.circuit)
        amps = [abs(f.amps) for f in point.flows(pack)]
        motor = abs(point.flows(drawn.circuit.part("M1"))[0].amps)
        assert motor > 1
        assert amps == pytest.approx([motor] * len(amps), rel=1e-9), str(drawn)


def test_supply_at_the_outlet_on_lowest_speed_proves_every_resistor(draws):
    """Motor unplugged, lowest speed: supply behind the pack if every section is whole."""
    for drawn in draws("blower-pack", side="feed", plug=True, number=10):
        plug = drawn.circuit.part("X1")
        assert isinstance(plug, Connector)
        unplugged = drawn.circuit.with_parts(changed=[replace(plug, apart=True)])
        pack, each = sections(unplugged)
        moves = {"S1": "on", "S2": "1"}
        supply = drawn.circuit.system_volts
        assert meter(unplugged, pack.nodes[-1], "chassis", moves) > supply, str(drawn)
        for section in each:
            broken = inject(unplugged, parse_fault(f"R1:open:{section}"))
            assert meter(broken, pack.nodes[-1], "chassis", moves) < 0.1, f"{section} {drawn}"


def test_ground_switched_pack_proves_itself_with_the_switch_off(draws):
    """Switch on the ground side and off: supply at tap 1 has come through motor and resistors."""
    for drawn in draws("blower-pack", side="ground", number=10):
        pack, each = sections(drawn.circuit)
        moves = {"S1": "on"}
        assert meter(drawn.circuit, pack.nodes[0], "chassis", moves) > drawn.circuit.system_volts
        for section in each:
            broken = inject(drawn.circuit, parse_fault(f"R1:open:{section}"))
            assert meter(broken, pack.nodes[0], "chassis", moves) < 0.1, f"{section} {drawn}"


def test_open_section_spares_the_speeds_that_do_not_use_it(draws):
    """With section n open, speeds up to n are lost, the others and the top speed remain."""
    for drawn in draws("blower-pack", number=5):
        _, each = sections(drawn.circuit)
        for section in each:
            for speed in range(1, len(each) + 2):
                point = after(drawn.circuit, f"R1:open:{section}", {"S1": "on", "S2": f"{speed}"})
                lost = speed <= section
                assert levels(point)["M1"] == ("stopped" if lost else "turns"), str(drawn)


def test_relay_with_an_open_coil_costs_only_the_top_speed(draws):
    """Pack and resting contact do not need the coil: low speeds stay, the top speed is a stop."""
    for drawn in draws("blower-pack", number=8):
        speeds = drawn.circuit.by_control["S2"].positions[1:]
        found = []
        for speed in speeds:
            point = after(drawn.circuit, "K1:coil-open", {"S1": "on", "S2": speed})
            found.append(levels(point)["M1"])
        assert found == ["turns"] * (len(speeds) - 1) + ["stopped"], str(drawn)


def test_welded_relay_runs_the_blower_in_every_position(draws):
    """Fed past the ignition switch, a motor whose relay has welded never stops."""
    for drawn in draws("blower-pack", number=8, side="feed"):
        for position in drawn.circuit.by_control["S2"].positions:
            point = after(drawn.circuit, "K1:welded", {"S2": position})
            assert levels(point)["M1"] == "turns", f"{position} {drawn}"


def test_seized_blower_opens_the_fuse_on_top_speed_only(draws):
    """The resistors limit a seized motor's current on the lowest speed; on top nothing does."""
    for drawn in draws("blower-pack", number=8):
        slow = after(drawn.circuit, "M1:seized", {"S1": "on", "S2": "1"})
        top = drawn.circuit.by_control["S2"].positions[-1]
        fast = after(drawn.circuit, "M1:seized", {"S1": "on", "S2": top})
        assert opened(slow) == set(), str(drawn)
        assert opened(fast) == ({"F2"} if "F2" in drawn.circuit.by_id else {"F3"}), str(drawn)


# --- lamps switched on the ground side ------------------------------------------------


def test_unwanted_ground_on_the_door_line_lights_every_lamp(draws):
    """Doors shut: a ground anywhere between the joined lamps and their switches lights them all."""
    for drawn in draws("ground-switched-lamps", switching="joined", number=10):
        circuit = drawn.circuit
        lamps = [p.id for p in circuit.parts if isinstance(p, Lamp) and p.id != "E9"]
        between = wires_ending(circuit, at="XS2", end=1) + wires_ending(circuit, at="XS2", end=0)
        assert len(between) >= len(lamps) + 3
        for wire in between:
            point = after(circuit, f"{wire}:short-to-ground", {})
            seen = levels(point)
            assert {seen[lamp] for lamp in lamps} == {"bright"}, f"{wire} {drawn}"
            assert opened(point) == set()


def test_stuck_door_switch_lights_every_lamp_with_the_doors_shut(draws):
    """A door switch that never opens does what an unwanted ground does."""
    for drawn in draws("ground-switched-lamps", number=8, switching="joined", locker=False):
        assert set(levels(after(drawn.circuit, "B2:stuck:open", {})).values()) == {"bright"}


def test_one_bad_door_switch_leaves_the_others_working(draws):
    """An open door switch darkens its own door only: the lamps still light from another."""
    for drawn in draws("ground-switched-lamps", number=8, locker=False):
        fault = "B1:open:1-2"
        assert set(levels(after(drawn.circuit, fault, {"left-door": "open"})).values()) == {"dark"}
        assert set(levels(after(drawn.circuit, fault, {"right-door": "open"})).values()) == {
            "bright"
        }


@pytest.mark.parametrize("protector", ["fuse", "breaker"])
def test_short_on_one_branch_takes_the_loads_that_share_its_protector(protector, draws):
    """A short before lamp E1 opens the common protector, and the locker lamp goes out with it."""
    for drawn in draws("ground-switched-lamps", number=4, protector=protector, locker=True):
        point = after(drawn.circuit, "W11:short-to-ground", {"S9": "on", "left-door": "open"})
        assert opened(point) == {"F2"}, str(drawn)
        still = {"comes and goes", "dark"} if protector == "breaker" else {"dark"}
        assert set(levels(point).values()) <= still, str(drawn)


def test_ground_after_the_lamp_opens_nothing(draws):
    """The same wire-to-frame contact before a lamp opens the protector, after it only lights it."""
    for drawn in draws("ground-switched-lamps", number=8):
        before = after(drawn.circuit, "W11:short-to-ground", {})
        behind = after(
            drawn.circuit,
            "W21:short-to-ground" if "W21" in drawn.circuit.by_id else "W31:short-to-ground",
            {},
        )
        assert opened(before) == {"F2"}, str(drawn)
        assert opened(behind) == set()
        assert levels(behind)["E1"] == "bright"


def test_a_lamp_with_its_own_switch_on_needs_no_door(draws):
    """With an open door line a lamp still lights from its own switch."""
    for drawn in draws("ground-switched-lamps", number=8, switching="own"):
        seen = levels(after(drawn.circuit, "W41:open", {"S1": "on"}))
        assert seen["E1"] == "bright"
        assert levels(after(drawn.circuit, "W41:open", {"left-door": "open"}))["E1"] == "dark"


# --- relay with a push button ---------------------------------------------------------


def pressed(circuit: Circuit) -> dict[str, str]:
    moves = {"S1": "on"} if "S1" in circuit.by_id else {}
    return {**moves, "S2": circuit.by_control["S2"].positions[1]}


def at_rest(circuit: Circuit) -> dict[str, str]:
    return {"S1": "on"} if "S1" in circuit.by_id else {}


def first_load(circuit: Circuit) -> str:
    return next(p.id for p in circuit.parts if isinstance(p, LOADS) and p.id != "P9")


def test_grounded_button_wire_works_the_load_without_the_button(draws):
    """An unwanted ground between coil and button does what the button does, and opens nothing."""
    for drawn in draws("push-button-relay", number=10):
        point = after(drawn.circuit, "W21:short-to-ground", at_rest(drawn.circuit))
        assert levels(point) == levels(solve(drawn.circuit, [pressed(drawn.circuit)]))
        assert opened(point) == set()


def test_short_before_the_load_opens_the_load_fuse_and_after_it_nothing(draws):
    """Past the load there is nothing to bypass: it works on as if the wire were whole."""
    for drawn in draws("push-button-relay", number=10):
        circuit, moves = drawn.circuit, pressed(drawn.circuit)
        load = first_load(circuit)
        before = wires_ending(circuit, at=load, end=1)[0]
        behind = wires_ending(circuit, at=load, end=0)[0]
        point = after(circuit, f"{before}:short-to-ground", moves)
        assert opened(point) == {"F2"}, str(drawn)
        assert opened(after(circuit, f"{before}:short-to-ground", at_rest(circuit))) == set()
        point = after(circuit, f"{behind}:short-to-ground", moves)
        assert opened(point) == set()
        assert levels(point) == levels(solve(circuit, [moves]))


def test_coil_and_load_on_one_fuse_fail_together(draws):
    """A short of the coil's wire stops the load by their common fuse; F3 of its own spares F2."""
    for drawn in draws("push-button-relay", number=8, coil_feed="shared"):
        point = after(drawn.circuit, "W18:short-to-ground", pressed(drawn.circuit))
        assert opened(point) == {"F2"}, str(drawn)
        assert levels(point)["P9"] == "dark"
    for drawn in draws("push-button-relay", number=8, coil_feed="battery"):
        point = after(drawn.circuit, "W15:short-to-ground", pressed(drawn.circuit))
        assert opened(point) == {"F3"}, str(drawn)


def test_meter_across_an_open_in_a_live_path_shows_supply(draws):
    """The one open in a series path takes all the voltage, wherever in the path it is."""
    for drawn in draws("push-button-relay", number=10, count=1):
        circuit, moves = drawn.circuit, pressed(drawn.circuit)
        load = first_load(circuit)
        path = wires_ending(circuit, at=load, end=1) + wires_ending(circuit, at=load, end=0)
        for wire_id in path:
            wire = circuit.part(wire_id)
            broken = inject(circuit, parse_fault(f"{wire_id}:open"))
            shown = meter(broken, wire.nodes[0], wire.nodes[1], moves)
            assert shown > 0.98 * (12.65 * circuit.system_volts / 12), f"{wire_id} {drawn}"
            assert meter(circuit, wire.nodes[0], wire.nodes[1], moves) < 0.5


def test_open_load_ground_leaves_the_pilot_lamp_burning(draws):
    """The pilot lamp has a ground of its own: it tells the relay's side from the load's side."""
    for drawn in draws("push-button-relay", number=8):
        seen = levels(after(drawn.circuit, "G2:open", pressed(drawn.circuit)))
        assert seen.pop("P9") == "bright"
        assert set(seen.values()) <= {"stopped", "silent", "dark"}, str(drawn)


def test_suppression_diode_blocks_while_the_coil_is_fed(draws):
    """Cathode at the coil's supply: the diode carries nothing while the relay is pulled in."""
    for drawn in draws("push-button-relay", number=8, suppression="diode"):
        relay = drawn.circuit.part("K1")
        point = solve(drawn.circuit, [pressed(drawn.circuit)])
        flows = {f.name: f.amps for f in point.flows(relay)}
        assert flows["coil"] > 0.05
        assert flows["suppression"] == pytest.approx(0.0, abs=1e-9)


# --- reversing motor ------------------------------------------------------------------


def test_opposed_stations_stop_the_motor_with_both_leads_at_supply(draws):
    """One station raises, the other lowers: no voltage across the motor, supply on both leads."""
    for stations in ("motor-at-1", "motor-at-2"):
        for drawn in draws("two-station-motor", number=8, stations=stations, lockout=False):
            point = solve(drawn.circuit, [{"S1": "on"}, {"S2": "raise"}, {"S3": "lower"}])
            assert levels(point)["M1"] == "stopped"
            leads = [point.volts(n) for n in drawn.circuit.part("M1").nodes]
            assert min(leads) > 0.98 * drawn.circuit.system_volts, str(drawn)


def test_open_common_ground_puts_supply_on_both_motor_terminals(draws):
    """One station, its ground open: the motor stands still with supply on both terminals."""
    for drawn in draws("two-station-motor", number=8, stations="one"):
        point = after(drawn.circuit, "G2:open", {"S1": "on", "S2": "raise"})
        seen = levels(point)
        assert seen["M1"] == "stopped"
        assert seen["E1"] == "dark"
        leads = [point.volts(n) for n in drawn.circuit.part("M1").nodes]
        assert min(leads) > 0.98 * drawn.circuit.system_volts, str(drawn)


def test_open_rest_contact_of_one_station_stops_the_other(draws):
    """The current of one station passes the rest contact of the other: one direction fails."""
    for drawn in draws("two-station-motor", number=8, stations="motor-at-2"):
        fault = "S3:open:1-3"
        raised = levels(after(drawn.circuit, fault, {"S1": "on", "S2": "raise"}))["M1"]
        assert raised == "stopped", str(drawn)
        own = levels(after(drawn.circuit, fault, {"S1": "on", "S3": "raise"}))["M1"]
        assert own == "turns", str(drawn)


def test_lockout_stops_the_second_station_only(draws):
    """Locked: station S3 does nothing, station S2 works as before."""
    for stations in ("motor-at-1", "motor-at-2"):
        for drawn in draws("two-station-motor", number=8, stations=stations, lockout=True):
            base = [{"S1": "on"}, {"S4": "locked"}]
            assert levels(solve(drawn.circuit, [*base, {"S3": "raise"}]))["M1"] == "stopped"
            assert levels(solve(drawn.circuit, [*base, {"S2": "raise"}]))["M1"] == "turns"


def test_seized_motor_opens_the_breaker_while_a_button_is_pressed(draws):
    """A seized motor draws its stall current until the breaker opens; released, nothing flows."""
    for drawn in draws("two-station-motor", number=8, stall=6):
        assert opened(after(drawn.circuit, "M1:seized", {"S1": "on", "S2": "raise"})) == {"F2"}
        assert opened(after(drawn.circuit, "M1:seized", {"S1": "on"})) == set()


@pytest.mark.parametrize(
    ("reset", "behaviour"),
    [("automatic", "cycling"), ("held", "protector-open"), ("manual", "protector-open")],
)
def test_breaker_resets_as_its_type_says(reset, behaviour, draws):
    """A lasting short: SAE J553 type 1 cycles, types 2 and 3 stay open while power is applied."""
    for drawn in draws("two-station-motor", number=8, reset=reset):
        point = after(drawn.circuit, "W5:short-to-ground", {"S1": "on"})
        assert point.behaviour == behaviour, str(drawn)
        assert opened(point) == {"F2"}


def test_short_to_supply_on_a_motor_lead_is_a_short_through_the_rest_contact(draws):
    """At rest the lead is grounded: supply on it flows straight to ground, past the motor."""
    for drawn in draws("two-station-motor", number=8):
        lead = wires_ending(drawn.circuit, at="M1", end=1)[0]
        point = after(drawn.circuit, f"{lead}:short-to-supply", {})
        battery = point.flows(drawn.circuit.part("GB1"))[0].amps
        assert abs(battery) > 50, str(drawn)
