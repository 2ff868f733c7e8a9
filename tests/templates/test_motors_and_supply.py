"""Horns, wiper, washer, starter, charging and power distribution: as wired, and with a fault.

What a load must do is worked out from the positions by hand. Facts of the trade are common
practice without a source, unless a test names one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

import networkx as nx
import pytest

from quizgen.circuit.components import (
    LOADS,
    Alternator,
    Battery,
    Breaker,
    Connector,
    Fuse,
    FusibleLink,
    Gauge,
    LedLamp,
    Relay,
    StarterSolenoid,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault, universe
from quizgen.solver import OperatingPoint, solve, solve_cases
from quizgen.solver.observation import against, observe

FAMILIES = ("horn-pair", "wiper", "washer-pump", "starter", "charging", "power-distribution")
FEW = 4
Moves = Mapping[str, str]

# largest fuse for a wire, A by mm2 (common practice, no source)
BEARS = {
    0.5: 5, 0.75: 7.5, 1.0: 10, 1.5: 15, 2.5: 30, 4.0: 40, 6.0: 50, 10.0: 70, 16.0: 100,
    25.0: 125, 35.0: 160, 50.0: 200,
}  # fmt: skip
# allowed drop, battery to load or load to battery: FAA AC 43.13-1B table 11-6, continuous
# (0.5 V at 14 V, 1 V at 28 V; from memory); the trade uses 0.5 V for starter cables too
ALLOWED_DROP = {12.0: 0.5, 24.0: 1.0}
# cables between the battery and the first protector of each family
BARE = {
    "horn-pair": {"W1"}, "wiper": {"W1"}, "washer-pump": {"W1"}, "power-distribution": {"W1"},
    "starter": {"W1", "W2"}, "charging": {"W1", "W2"},
}  # fmt: skip


def after(circuit: Circuit, fault: str, **moves: str) -> OperatingPoint:
    """The circuit with a fault ("" for none), its controls moved one after the other."""
    faulty = inject(circuit, parse_fault(fault)) if fault else circuit
    return solve(faulty, [{name: position} for name, position in moves.items()])


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def opened(point: OperatingPoint) -> set[str]:
    return {e.part for e in point.events if e.change == "opens"}


def volts(point: OperatingPoint, node: str) -> float:
    found = point.volts(node)
    assert found is not None, f"{node} floats"
    return found


def wire_into(circuit: Circuit, node: str) -> str:
    """The one wire that ends at `node`."""
    (wire,) = [p.id for p in circuit.parts if isinstance(p, Wire) and node in p.nodes]
    return wire


# --- what each load must do -----------------------------------------------------------


def expected_horns(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Either button sounds both horns while the horn fuse is live; the lamp has its switch."""
    live = at.get("S1", "on") == "on"
    horns = "sounds" if live and "pressed" in (at["S2"], at.get("S3")) else "silent"
    return {"P1": horns, "P2": horns, "E1": "bright" if live and at["S4"] == "on" else "dark"}


def expected_wiper(circuit: Circuit, at: Moves) -> dict[str, str]:
    """With the ignition on it wipes on either setting, and at off until the blades are down."""
    live = at["S1"] == "on"
    wipes = live and (at["S2"] != "off" or at["blades"] == "away")
    found = {"M1": "turns" if wipes else "stopped"}
    if "S3" in at:
        found["M2"] = "turns" if live and at["S3"] == "pressed" else "stopped"
    return found


def expected_washer(circuit: Circuit, at: Moves) -> dict[str, str]:
    """One pump turns this way for the front, that way for the rear; of two each has its screen."""
    live = at["S1"] == "on"
    screen = at["S2"] if live else "off"
    if "M2" in circuit.by_id:
        found = {"M1": screen == "front", "M2": screen == "rear"}
        levels = {pump: "turns" if works else "stopped" for pump, works in found.items()}
    else:
        levels = {"M1": {"front": "turns", "rear": "turns backwards"}.get(screen, "stopped")}
    if "tank" in at:
        levels["P1"] = "bright" if live and at["tank"] == "low" else "dark"
    return levels


def expected_starter(circuit: Circuit, at: Moves) -> dict[str, str]:
    """It cranks at start, in neutral and with the seat taken where there are such switches."""
    supply = at.get("S9", "on") == "on"
    allowed = at.get("lever", "neutral") == "neutral" and at.get("seat", "taken") == "taken"
    lamps = "bright" if supply and at["S1"] != "off" else "dark"
    cranks = supply and allowed and at["S1"] == "start"
    return {"M1": "turns" if cranks else "stopped", "P1": lamps, "E1": lamps}


def expected_charging(circuit: Circuit, at: Moves) -> dict[str, str]:
    """The charge lamp burns with the ignition on until the engine runs; then the battery takes."""
    on, runs = at["S1"] == "on", at["engine"] == "running"
    found = dict.fromkeys(("P3", "E1", "E2"), "bright" if on else "dark")
    found["P1"] = "bright" if on and not runs else "dark"
    found["P2"] = "in the middle" if on and runs else "at the lower stop"
    return {load: level for load, level in found.items() if load in circuit.by_id}


def expected_power(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Cab lamp at all times, accessories at accessory and run, Y1 and P1 at run and start."""
    accessories = at["S1"] in ("accessory", "run")
    running = at["S1"] in ("run", "start")
    lamps = "bright" if accessories and at["S4"] == "on" else "dark"
    found = {
        "E1": "bright" if at["S2"] == "on" else "dark",
        "M1": "turns" if accessories and at["S3"] == "on" else "stopped",
        "E3": lamps,
        "E4": lamps,
        "P1": "bright" if running else "dark",
        "Y1": "pulled" if running else "released",
        "Y2": "pulled" if at["S1"] == "start" else "released",
    }
    return {load: level for load, level in found.items() if load in circuit.by_id}


EXPECTED: dict[str, Callable[[Circuit, Moves], dict[str, str]]] = {
    "horn-pair": expected_horns,
    "wiper": expected_wiper,
    "washer-pump": expected_washer,
    "starter": expected_starter,
    "charging": expected_charging,
    "power-distribution": expected_power,
}


@pytest.mark.parametrize("family", FAMILIES)
def test_loads_do_what_the_positions_say(family, draws):
    """In any position each load works or rests as read off the diagram, and nothing is in doubt."""
    for drawn in draws(family, FEW):
        for at, point in drawn.operated:
            seen = observe(point)
            assert {o.load: o.level for o in seen} == EXPECTED[family](drawn.circuit, at), (
                f"{drawn} at {at}"
            )
            assert not [o.load for o in seen if o.doubtful], f"{drawn} at {at}"
            assert not point.ambiguous
            assert point.behaviour == "steady"
            assert not opened(point)


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_enough_to_go_wrong(family, draws):
    """Every setting offers at least 25 faults in at least 15 places."""
    for drawn in draws(family, FEW):
        faults = [w.fault for w in universe(drawn.circuit)]
        assert len(faults) >= 25, str(drawn)
        assert len({f.part for f in faults}) >= 15, str(drawn)


# --- wiring ---------------------------------------------------------------------------


def working(point: OperatingPoint) -> Iterator[tuple[str, float, float]]:
    """Loads at work: id, and the potentials of the ends that the current passes."""
    for seen in observe(point):
        part = point.circuit.part(seen.load)
        if isinstance(part, Gauge | LedLamp) or seen.level not in (
            "bright", "turns", "turns backwards", "sounds", "pulled",
        ):  # fmt: skip
            continue
        ends = [v for n in part.nodes if (v := point.volts(n)) is not None]
        yield part.id, max(ends), min(ends)


@pytest.mark.parametrize("family", FAMILIES)
def test_feed_and_ground_drops_are_small(family, longest):
    """Battery post to load and load to battery post drop no more than allowed, engine stopped.

    The charge lamp is left out: it lies in series with the rotor by design.
    """
    for drawn in longest(family)[:FEW]:
        allowed = ALLOWED_DROP[drawn.circuit.system_volts]
        battery = drawn.circuit.part("GB1")
        for at, point in drawn.operated:
            if at.get("engine") == "running":
                continue
            plus, minus = (volts(point, node) for node in battery.nodes)
            for load, high, low in working(point):
                if (family, load) == ("charging", "P1"):
                    continue
                assert plus - high < allowed, f"feed of {load}: {drawn} at {at}"
                assert low - minus < allowed, f"ground of {load}: {drawn} at {at}"


@pytest.mark.parametrize("family", FAMILIES)
def test_protectors_stand_a_quarter_above_the_running_current(family, draws):
    """At charging voltage no protector carries more than 1/1.25 of its rating.

    13.5 V and 28 V are the test voltages of UN R37.
    """
    for drawn in draws(family, FEW):
        circuit, battery = drawn.circuit, drawn.circuit.part("GB1")
        assert isinstance(battery, Battery)
        if not any(isinstance(p, Alternator) for p in circuit.parts):
            emf = 13.5 if circuit.system_volts == 12 else 28.0
            circuit = circuit.with_parts(changed=[replace(battery, emf_volts=emf)])
        solved = solve_cases([circuit], [(0, tuple(at.items())) for at in drawn.positions])
        for i, at in enumerate(drawn.positions):
            point = solved.point(i)
            for part in circuit.parts:
                if isinstance(part, Fuse | FusibleLink | Breaker):
                    amps = abs(point.flows(part)[0].amps)
                    assert amps * 1.25 <= part.amps, f"{part.id}: {drawn} at {at}"


def metal(circuit: Circuit, relays: str) -> nx.MultiGraph:
    """What a short would find: every path but through loads, coils, the frame and the battery."""
    graph = nx.MultiGraph()
    for part in circuit.parts:
        if isinstance(part, Wire | Fuse | FusibleLink | Breaker | Gauge):
            graph.add_edge(*part.nodes, key=part.id)
        elif isinstance(part, Connector):
            for cavity in part.cavities:
                graph.add_edge(part.node(f"{cavity}a"), part.node(f"{cavity}b"))
        elif isinstance(part, Switch):
            graph.add_edges_from((part.node(k.a), part.node(k.b)) for k in part.contacts)
        elif isinstance(part, Relay):
            throw = "87" if relays == "pulled" else "87a"
            if throw in part.terminals:
                graph.add_edge(part.node("30"), part.node(throw))
        elif isinstance(part, StarterSolenoid):
            graph.add_edge(part.node("30"), part.node("45"))
    return graph


@pytest.mark.parametrize("family", FAMILIES)
def test_every_wire_bears_what_its_protector_lets_through(family, draws):
    """A live wire is thick enough for the smallest protector before it; main cables have none."""
    for drawn, relays in ((d, r) for d in draws(family, FEW) for r in ("rest", "pulled")):
        circuit = drawn.circuit
        graph = metal(circuit, relays)
        if "parking contact" in {p.name for p in circuit.parts}:
            graph.remove_edge("B1.53e", "B1.31")  # the frame side of the parking contact
        reach = nx.node_connected_component(graph, circuit.supply)
        limit: dict[str, float] = {}
        for part in circuit.parts:
            if isinstance(part, Fuse | FusibleLink | Breaker):
                cut = graph.copy()
                cut.remove_edge(*part.nodes, key=part.id)
                for node in reach - nx.node_connected_component(cut, circuit.supply):
                    limit[node] = min(part.amps, limit.get(node, part.amps))
        live = [w for w in circuit.parts if isinstance(w, Wire) and set(w.nodes) <= reach]
        bare = {w.id for w in live if not set(w.nodes) & set(limit)}
        assert bare <= BARE[family], str(drawn)
        for wire in live:
            amps = max((limit[n] for n in wire.nodes if n in limit), default=0.0)
            assert amps <= BEARS[wire.mm2], f"{wire.id} {wire.mm2} mm2: {drawn}"


# --- horns ----------------------------------------------------------------------------


def test_one_dead_horn_leaves_the_other_sounding(draws):
    """Horns hang in parallel: an open one is silent alone."""
    for drawn in draws("horn-pair", 3, supply="battery"):
        seen = levels(after(drawn.circuit, "P1:open", S2="pressed"))
        assert (seen["P1"], seen["P2"]) == ("silent", "sounds"), str(drawn)


def test_the_same_chafed_wire_sounds_the_horn_or_blows_its_fuse(draws):
    """Touching the frame, a ground-side button line sounds the horns; a feed-side one shorts."""
    for drawn in draws("horn-pair", 3, supply="battery", button="ground", control="relay"):
        line = wire_into(drawn.circuit, "S2.1")
        point = after(drawn.circuit, f"{line}:short-to-ground")
        assert levels(point)["P1"] == "sounds", str(drawn)
        assert not opened(point)
    for drawn in draws("horn-pair", 3, supply="battery", button="feed", control="relay"):
        line = wire_into(drawn.circuit, "S2.2")
        assert levels(after(drawn.circuit, f"{line}:short-to-ground"))["P1"] == "silent"
        assert opened(after(drawn.circuit, f"{line}:short-to-ground", S2="pressed")) == {"F2"}


def test_what_shares_the_horn_fuse_goes_out_with_it(draws):
    """The cab lamp tells a blown horn fuse from a relay that does not pull."""
    for drawn in draws("horn-pair", 3, supply="battery", control="relay"):
        moves = {"S2": "pressed", "S4": "on"}
        assert set(levels(after(drawn.circuit, "F2:blown", **moves)).values()) == {
            "silent", "dark",
        }  # fmt: skip
        coil = levels(after(drawn.circuit, "K1:coil-open", **moves))
        assert coil == {"P1": "silent", "P2": "silent", "E1": "bright"}, str(drawn)


def test_a_horn_with_its_own_ground_fails_alone(draws):
    """With own brackets one lost ground takes one horn, with a common stud both."""
    for drawn in draws("horn-pair", 2, supply="battery", grounds="own"):
        seen = levels(after(drawn.circuit, "G3:open", S2="pressed"))
        assert (seen["P1"], seen["P2"]) == ("sounds", "silent"), str(drawn)
    for drawn in draws("horn-pair", 2, supply="battery", grounds="common", control="relay"):
        seen = levels(after(drawn.circuit, "G2:open", S2="pressed"))
        assert (seen["P1"], seen["P2"]) == ("silent", "silent"), str(drawn)


# --- wiper ----------------------------------------------------------------------------


def test_fast_is_faster_than_slow(draws):
    """The brush 53i drives the motor faster than the brush 53 (terminals of DIN 72552)."""
    for drawn in draws("wiper", 3):
        share = {
            speed: next(o.share for o in observe(after(drawn.circuit, "", S1="on", S2=speed)))
            for speed in ("slow", "fast")
        }
        assert share["fast"] > 1.3 * share["slow"], str(drawn)


def test_a_parking_contact_that_sticks_stops_anywhere_or_never(draws):
    """Stuck as if parked, the blades stay where they are; stuck as if away, they never rest."""
    for drawn in draws("wiper", 3):
        parked = after(drawn.circuit, "B1:stuck:parked", S1="on", blades="away")
        assert levels(parked)["M1"] == "stopped", str(drawn)
        away = after(drawn.circuit, "B1:stuck:away", S1="on")
        assert levels(away)["M1"] == "turns", str(drawn)


def test_each_brush_has_its_own_share(draws):
    """A worn slow brush costs slow and parking, a worn fast brush only fast."""
    states = ({"S2": "slow"}, {"S2": "fast"}, {"blades": "away"})
    for drawn in draws("wiper", 2):
        for fault, expected in (
            ("M1:low-brush-open", ["stopped", "turns", "stopped"]),
            ("M1:high-brush-open", ["turns", "stopped", "turns"]),
        ):
            seen = [levels(after(drawn.circuit, fault, S1="on", **s))["M1"] for s in states]
            assert seen == expected, f"{fault} {drawn}"


def test_wiper_relays_fail_each_in_its_own_way(draws):
    """Without K1 it only parks; without K2 fast is as slow as slow."""
    for drawn in draws("wiper", 2, control="relays"):
        for speed in ("slow", "fast"):
            point = after(drawn.circuit, "K1:coil-open", S1="on", S2=speed)
            assert levels(point)["M1"] == "stopped", str(drawn)
        parking = after(drawn.circuit, "K1:coil-open", S1="on", blades="away")
        assert levels(parking)["M1"] == "turns"
        fast, sound = (
            observe(after(drawn.circuit, fault, S1="on", S2="fast"))[0]
            for fault in ("K2:coil-open", "")
        )
        assert against(sound, fast).level == "turns slowly", str(drawn)


def test_open_return_of_the_wiper_stands_at_supply(draws):
    """No current, no drop: terminal 31 of a motor without ground has the full voltage."""
    for drawn in draws("wiper", 2, ground="stud"):
        point = after(drawn.circuit, "G2:open", S1="on", S2="slow")
        assert levels(point)["M1"] == "stopped"
        assert volts(point, "M1.31") > 0.98 * volts(point, "GB1.+"), str(drawn)


# --- starter --------------------------------------------------------------------------


def test_cranking_voltage(draws):
    """While cranking the posts of a good 12 V battery stay above 9.6 V, and fall by over 0.5 V."""
    for drawn in draws("starter", FEW):
        rest, cranks = (after(drawn.circuit, "", S1=key) for key in ("on", "start"))
        share = drawn.circuit.system_volts / 12
        minus = drawn.circuit.part("GB1").node("-")
        post = volts(cranks, "GB1.+") - volts(cranks, minus)
        before = volts(rest, "GB1.+") - volts(rest, minus)
        assert 9.6 * share < post < before - 0.5 * share, str(drawn)


def test_the_starter_lets_go_of_the_engine(draws):
    """Key back to on: fed from 45 the windings oppose each other, and the plunger returns."""
    for drawn in draws("starter", FEW):
        point = solve(drawn.circuit, [{"S1": "start"}, {"S1": "on"}])
        assert levels(point)["M1"] == "stopped", str(drawn)
        assert point.behaviour == "steady"


def test_each_winding_of_the_solenoid_has_its_own_complaint(draws):
    """Hold-in open: it rattles in and out. Pull-in open: it does not move at all."""
    for drawn in draws("starter", 3):
        rattles = after(drawn.circuit, "K1:hold-open", S1="start")
        assert rattles.behaviour == "chatter", str(drawn)
        still = after(drawn.circuit, "K1:pull-open", S1="start")
        assert levels(still)["M1"] == "stopped"
        assert still.state(still.circuit.part("K1")) == "rest", str(drawn)


def test_a_poor_main_ground_shows_only_while_cranking(draws):
    """20 milliohm in the negative cable lose volts at 150 A and nothing anyone sees at rest."""
    for drawn in draws("starter", 3, battery_ground="frame", system=12):
        rest, cranks = (after(drawn.circuit, "W3:resistance:0.02", S1=k) for k in ("on", "start"))
        assert abs(volts(rest, "GB1.-")) < 0.2, str(drawn)
        assert abs(volts(cranks, "GB1.-")) > 1.5, str(drawn)
        sound = observe(after(drawn.circuit, "", S1="start"))[0]
        assert observe(cranks)[0].share < 0.85 * sound.share, str(drawn)


def test_an_interlock_that_does_not_close_keeps_the_relay_at_rest(draws):
    """Neutral switch open: no click of the start relay, whatever side of the coil it is on."""
    for side in ("feed", "ground"):
        for drawn in draws("starter", 2, control="relay", interlock="gear", side=side):
            point = after(drawn.circuit, "B1:open:1-2", S1="start")
            assert point.state(point.circuit.part("K2")) == "rest"
            assert levels(point) == {"M1": "stopped", "P1": "bright", "E1": "bright"}


def test_a_lost_engine_strap_stops_the_starter_and_nothing_else(draws):
    """With the negative cable on the frame, only the engine hangs on the strap."""
    for drawn in draws("starter", 2, battery_ground="frame"):
        seen = levels(after(drawn.circuit, "W4:open", S1="start"))
        assert seen == {"M1": "stopped", "P1": "bright", "E1": "bright"}, str(drawn)


# --- charging -------------------------------------------------------------------------


def running(circuit: Circuit, fault: str = "") -> OperatingPoint:
    return after(circuit, fault, S1="on", engine="running")


def test_charging_voltage(draws):
    """A charging 12 V system holds 13.5 to 14.5 V at the battery, a 24 V system twice that."""
    for drawn in draws("charging", FEW, sensed=True):
        point = running(drawn.circuit)
        minus = drawn.circuit.part("GB1").node("-")
        post = volts(point, "GB1.+") - volts(point, minus)
        share = drawn.circuit.system_volts / 12
        assert 13.5 * share <= post <= 14.5 * share, str(drawn)


def test_without_excitation_no_charge(draws):
    """A burned-out charge lamp stops the charging, unless a resistor lies beside it."""
    for exciter, charges in ((False, False), (True, True)):
        for drawn in draws("charging", 2, lamp="filament", exciter=exciter):
            point = running(drawn.circuit, "P1:burned-out")
            rest = drawn.circuit.part("GB1")
            assert isinstance(rest, Battery)
            assert (volts(point, "GB1.+") > 1.02 * rest.emf_volts) == charges, str(drawn)


def test_a_broken_sense_wire_overcharges(draws):
    """Without its sense wire the regulator raises the voltage, and the ammeter shows it."""
    for drawn in draws("charging", 2, sensed=True, ammeter=True):
        sound, broken = running(drawn.circuit), running(drawn.circuit, "W42:open")
        assert volts(broken, "GB1.+") > 1.04 * volts(sound, "GB1.+"), str(drawn)
        assert levels(broken)["P2"] == "high"


def test_a_blown_charging_link_leaves_the_lamp_dark(draws):
    """The alternator charges nobody: its own terminal is high, the battery is not, no lamp."""
    for drawn in draws("charging", 2, ammeter=True, lamp="filament", sensed=True):
        point = running(drawn.circuit, "F1:blown")
        seen = levels(point)
        assert (seen["P1"], seen["P2"]) == ("dark", "at the lower stop"), str(drawn)
        assert volts(point, "GA1.B+") > volts(point, "GB1.+") + 1


def test_a_grounded_charge_lamp_wire_keeps_the_lamp_lit(draws):
    """Shorted to the frame behind the lamp: it burns whatever the engine does, and no charge."""
    for drawn in draws("charging", 2, lamp="filament"):
        wire = wire_into(drawn.circuit, "GA1.D+")
        point = running(drawn.circuit, f"{wire}:short-to-ground")
        assert levels(point)["P1"] == "bright", str(drawn)
        assert point.state(point.circuit.part("GA1")) == "still"


# --- power distribution ---------------------------------------------------------------

ALL_ON = {"S1": "run", "S2": "on", "S3": "on", "S4": "on"}


def dead(point: OperatingPoint) -> set[str]:
    return {load for load, level in levels(point).items() if level in ("dark", "stopped")}


def test_what_hangs_on_the_ignition_link(draws):
    """With links apart a blown ignition link leaves the cab lamp, and nothing else."""
    for drawn in draws("power-distribution", 2, links="two"):
        point = after(drawn.circuit, "F2:blown", **ALL_ON)
        loads = {p.id for p in drawn.circuit.parts if isinstance(p, LOADS)} - {"Y1", "Y2"}
        assert dead(point) == loads - {"E1"}, str(drawn)
        assert levels(point)["Y1"] == "released"


def test_one_main_link_takes_everything(draws):
    """With one link there is no load left when it is blown."""
    for drawn in draws("power-distribution", 2, links="one"):
        seen = levels(after(drawn.circuit, "F1:blown", **ALL_ON))
        assert set(seen.values()) == {"dark", "stopped", "released"}, str(drawn)


def test_one_contact_of_the_ignition_switch(draws):
    """Contact 30-75 open: fan and work lamps are dead, panel lamp and fuel solenoid are not."""
    for drawn in draws("power-distribution", 2):
        point = after(drawn.circuit, "S1:open:30-75", **ALL_ON)
        accessories = {"M1", "E3", "E4"} & set(drawn.circuit.by_id)
        assert dead(point) == accessories, str(drawn)
        assert levels(point)["Y1"] == "pulled"


def test_a_short_opens_the_nearest_fuse_and_only_when_fed(draws):
    """Start wire on the frame: nothing at run, at start its fuse opens and no other."""
    for drawn in draws("power-distribution", 2):
        assert not opened(after(drawn.circuit, "W71:short-to-ground", S1="run"))
        assert opened(after(drawn.circuit, "W71:short-to-ground", S1="start")) == {"F7"}
