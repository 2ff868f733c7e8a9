"""Shared grounds, trailer, fuel gauge, isolating diodes, heaters, parked machine: sound and broken.

What a load must do is worked out here by hand from the positions, as a technician reads it off
the diagram. Trade facts are common practice without a source unless a test names one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import networkx as nx
import pytest

from quizgen.circuit.components import (
    Battery,
    Connector,
    Diode,
    Flasher,
    Fuse,
    FusibleLink,
    Lamp,
    Part,
    Relay,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault, universe
from quizgen.solver import OperatingPoint, solve, solve_cases
from quizgen.solver.observation import observe

FAMILIES = (
    "fuel-gauge",
    "ground-cluster",
    "intake-heater",
    "parasitic-drain",
    "trailer-socket",
    "two-source-lamp",
)
FEW = 3  # random settings of each family; the tests share them
WORKING = ("bright", "hot", "turns", "sounds", "flashes")
# allowed drop, battery to load or load to battery, continuous: FAA AC 43.13-1B table 11-6
# (0.5 V at 14 V, 1 V at 28 V; from memory)
ALLOWED_DROP = {12.0: 0.5, 24.0: 1.0}
# largest fuse for a wire, A by mm2 (common practice, no source)
BEARS = {1.0: 10, 1.5: 15, 2.5: 30, 4.0: 40, 6.0: 50, 10.0: 70, 16.0: 100, 25.0: 125, 35.0: 150}
Moves = Mapping[str, str]


def after(circuit: Circuit, fault: str, moves: Moves) -> OperatingPoint:
    """The circuit with a fault ("" for none), its controls moved one after the other."""
    broken = inject(circuit, parse_fault(fault)) if fault else circuit
    return solve(broken, [{control: position} for control, position in moves.items()])


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def drain(point: OperatingPoint) -> float:
    """Ampere out of the battery."""
    return abs(point.flows(point.circuit.part("GB1"))[0].amps)


# --- what each load must do -----------------------------------------------------------


def lit(on: bool) -> str:
    return "bright" if on else "dark"


def expected_cluster(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Each load follows its own switch; only the marker lamp does without the ignition."""
    live = at["S1"] == "on"
    work, pump = live and at["S2"] == "on", live and at["S3"] == "pressed"
    return {
        "E1": lit(work), "P1": lit(work), "E2": lit(at["S4"] == "on"),
        "M1": "turns" if pump else "stopped", "P2": lit(pump),
        "P3": "sounds" if live and at.get("gear") == "reverse" else "silent",
    }  # fmt: skip


def expected_heater(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Commanded by the key, by a cold engine or for a time; the pilot lamp says so."""
    live = at["S1"] != "off"
    if "engine" in at:
        heats = live and at["engine"] == "cold"
    elif "preheat" in at:
        heats = live and at["preheat"] == "running"
    else:
        heats = at["S1"] == "heat"
    plugs = dict.fromkeys(("E1", "E2", "E3", "E4"), "hot" if heats else "cold")
    return plugs | {"P1": lit(heats), "E9": lit(live)}


def expected_parked(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Every branch has its own switch; the clock has none; the isolator takes them all."""
    live = at.get("S9", "on") == "on"
    ignition = live and at["S1"] == "on"
    return {
        "P1": lit(live), "E1": lit(live and at["lid"] == "open"),
        "E2": lit(live and at["door"] == "open"), "E3": lit(live and at.get("S3") == "on"),
        "E4": "hot" if ignition else "cold", "E5": lit(ignition),
    }  # fmt: skip


def expected_two_sources(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Its own switch or the button lights a lamp; buzzer and hatch lamp heed no button."""
    live, tested = at["S1"] == "on", at["S2"] == "pressed"
    hot, open_, clogged = (
        live and at.get(condition) == position
        for condition, position in (("oil", "hot"), ("hatch", "open"), ("filter", "clogged"))
    )
    tested = tested and live
    return {
        "P1": lit(hot or tested), "P2": lit(open_ or tested), "P3": lit(clogged or tested),
        "P9": "sounds" if hot else "silent", "E9": lit(open_),
    }  # fmt: skip


def expected_gauge(circuit: Circuit, at: Moves) -> dict[str, str]:
    """With the ignition on the pointer follows the fuel, and the lamp burns on an empty tank."""
    live = at["S1"] == "on"
    pointer = {"empty": "low", "half": "in the middle", "full": "high"}[at["fuel"]]
    return {
        "P1": pointer if live else "at the lower stop", "E1": lit(live),
        "P2": lit(live and at["fuel"] == "empty"),
        "M1": "turns" if live and at.get("S2", "on") == "on" else "stopped",
    }  # fmt: skip


def expected_trailer(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Light switch, brake pedal and indicator switch each light their own lamps."""
    tails = dict.fromkeys(("E3", "E4", "E8", "E11", "E12"), lit(at["S2"] != "off"))
    stops = dict.fromkeys(("E5", "E6"), lit(at["brake"] == "pressed"))
    return tails | stops | {
        "E7": lit(at["S2"] == "fog"),
        "E1": "flashes" if at["S4"] == "left" else "dark",
        "E2": "flashes" if at["S4"] == "right" else "dark",
    }  # fmt: skip


EXPECTED = {
    "fuel-gauge": expected_gauge,
    "ground-cluster": expected_cluster,
    "intake-heater": expected_heater,
    "parasitic-drain": expected_parked,
    "trailer-socket": expected_trailer,
    "two-source-lamp": expected_two_sources,
}


@pytest.mark.parametrize("family", FAMILIES)
def test_loads_do_what_the_positions_say(family, draws):
    """In any position each load works, or rests, as read off the diagram; nobody hesitates."""
    for drawn in draws(family, FEW):
        for at, point in drawn.operated:
            seen = observe(point)
            wanted = EXPECTED[family](drawn.circuit, at)
            found = {o.load: o.level for o in seen}
            assert found == {p: wanted[p] for p in found}, f"{drawn} at {at}"
            assert not [o.load for o in seen if o.doubtful], f"{drawn} at {at}"
            assert point.behaviour == "steady" or "flashes" in found.values()
            assert not point.ambiguous


# --- wiring ---------------------------------------------------------------------------


def at_work(point: OperatingPoint) -> Iterator[tuple[Part, float, float]]:
    """Loads at work: the part, and the potentials of its two ends, higher first."""
    for shown in [phase.point for phase in point.phases] or [point]:
        for seen in observe(shown):
            if seen.level in WORKING:
                part = shown.circuit.part(seen.load)
                ends = [v for n in part.nodes if (v := shown.volts(n)) is not None]
                yield part, max(ends), min(ends)


@pytest.mark.parametrize("family", FAMILIES)
def test_feed_and_ground_drops_are_small(family, longest):
    """Battery post to load and load to frame drop no more than FAA AC 43.13-1B table 11-6 allows.

    Lamps behind an isolating diode are fed, or grounded, 1 V worse: the diode's own voltage.
    """
    for drawn in longest(family)[:FEW]:
        allowed = ALLOWED_DROP[drawn.circuit.system_volts]
        for at, point in drawn.operated:
            post = point.volts(drawn.circuit.supply)
            for part, high, low in at_work(point):
                diode = 1.0 if family == "two-source-lamp" and part.id in ("P1", "P2", "P3") else 0
                assert post - high < allowed + diode, f"feed of {part.id}: {drawn} at {at}"
                assert low < allowed + diode, f"ground of {part.id}: {drawn} at {at}"


@pytest.mark.parametrize("family", FAMILIES)
def test_protectors_stand_a_quarter_above_the_running_current(family, draws):
    """At 13.5 V and 28 V no protector carries more than 1/1.25 of its rating.

    Common practice, no source; 13.5 V and 28 V are the test voltages of UN R37.
    """
    for drawn in draws(family, FEW):
        battery = drawn.circuit.part("GB1")
        assert isinstance(battery, Battery)
        assert battery.emf_volts == pytest.approx(12.65 * drawn.circuit.system_volts / 12)  # BCI
        charged = replace(battery, emf_volts=13.5 if drawn.circuit.system_volts == 12 else 28.0)
        circuit = drawn.circuit.with_parts(changed=[charged])
        solved = solve_cases([circuit], [(0, tuple(at.items())) for at in drawn.positions])
        for i, at in enumerate(drawn.positions):
            for point in [f.point for f in solved.point(i).phases] or [solved.point(i)]:
                for part in point.circuit.parts:
                    if isinstance(part, Fuse | FusibleLink):
                        amps = abs(point.flows(part)[0].amps)
                        assert amps * 1.25 <= part.amps, f"{part.id}: {drawn} at {at}"


def metal(circuit: Circuit) -> nx.MultiGraph:
    """What a short would find with every contact closed: no loads, coils, frame or battery."""
    graph = nx.MultiGraph()
    for part in circuit.parts:
        if isinstance(part, Wire | Fuse | FusibleLink | Diode):
            graph.add_edge(*part.nodes, key=part.id)
        elif isinstance(part, Connector):
            nodes = iter(part.nodes)
            graph.add_edges_from(zip(nodes, nodes, strict=True))
        elif isinstance(part, Switch):
            graph.add_edges_from((part.node(k.a), part.node(k.b)) for k in part.contacts)
        elif isinstance(part, Relay):
            graph.add_edge(part.node("30"), part.node("87"))
        elif isinstance(part, Flasher):
            graph.add_edge(part.node("49"), part.node("49a"))
    return graph


@pytest.mark.parametrize("family", FAMILIES)
def test_every_wire_bears_what_its_protector_lets_through(family, draws):
    """A live wire is thick enough for the smallest protector before it; only the wires from the
    battery to the first protector have none."""
    for drawn in draws(family, FEW):
        circuit, graph = drawn.circuit, metal(drawn.circuit)
        reach = nx.node_connected_component(graph, circuit.supply)
        limit: dict[str, float] = {}
        for part in circuit.parts:
            if isinstance(part, Fuse | FusibleLink):
                cut = graph.copy()
                cut.remove_edge(*part.nodes, key=part.id)
                for node in reach - nx.node_connected_component(cut, circuit.supply):
                    limit[node] = min(part.amps, limit.get(node, part.amps))
        live = [w for w in circuit.parts if isinstance(w, Wire) and set(w.nodes) <= reach]
        bare = {w.id for w in live if not set(w.nodes) & set(limit)}
        assert bare == ({"W1", "W2"} if family == "intake-heater" else {"W1"}), str(drawn)
        for wire in [w for w in live if w.id not in bare]:
            amps = max(limit[n] for n in wire.nodes if n in limit)
            assert amps <= BEARS[wire.mm2], f"{wire.id} {wire.mm2} mm2: {drawn}"


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_enough_to_go_wrong(family, draws):
    """Every setting offers at least 25 faults in 15 places, each part with a name and a place."""
    for drawn in draws(family, FEW):
        faults = [w.fault for w in universe(drawn.circuit)]
        assert len(faults) >= 25, str(drawn)
        assert len({f.part for f in faults}) >= 15, str(drawn)
        parts = [p for p in drawn.circuit.parts if not isinstance(p, Wire)]
        assert all(p.name and p.place for p in parts), str(drawn)
    assert len({d.circuit.parts for d in draws(family, FEW)}) == FEW


@pytest.mark.parametrize("family", ["intake-heater", "parasitic-drain"])
def test_relay_coils_are_those_of_data_sheets(family, draws):
    """Coil ohm, pull-in and drop-out volts as printed: TE Power Relay B (001, 004), OEN type 78."""
    sheets = {
        12.0: {(85, 8.0, 1.5), (100, 7.2, 1.2)},
        24.0: {(255, 16.0, 3.0), (320, 14.8, 2.4)},
    }
    for drawn in draws(family, FEW):
        relay = drawn.circuit.part("K1")
        assert isinstance(relay, Relay)
        coil = (relay.coil_ohm, relay.pull_in_volts, relay.drop_out_volts)
        assert coil in sheets[drawn.circuit.system_volts]


# largest watts at 13.5 V and at 28.0 V by rated watts: UN R37 data sheets of T4W, R5W, R10W,
# P21W, and of H3 (at 13.2 V and 28.0 V); from memory
R37_MOST = {4: (4.4, 5.5), 5: (5.5, 7.7), 10: (11.0, 14.0), 21: (26.5, 29.7), 55: (68.0, 84.0)}


@pytest.mark.parametrize("family", FAMILIES)
def test_lamps_are_those_of_the_regulation(family, draws):
    """Each filament lamp's watts lie within 12 % below the most UN R37 allows one of its types."""
    for drawn in draws(family, FEW):
        column = 0 if drawn.circuit.system_volts == 12 else 1
        for lamp in [p for p in drawn.circuit.parts if isinstance(p, Lamp)]:
            assert lamp.volts == (13.5, 28.0)[column]
            most = [row[column] for row in R37_MOST.values()]
            assert any(0.88 * m <= lamp.watts <= m for m in most), f"{lamp.id}: {drawn}"


# --- one ground for all ---------------------------------------------------------------


@pytest.mark.parametrize("joint", ["stud", "splice", "chain", "plug"])
def test_lost_common_ground_lights_the_pilot_of_a_load_that_is_off(joint, build):
    """With G2 open the work lamp's current goes on through the pump to the pump's pilot lamp."""
    circuit = build("ground-cluster", joint=joint)
    seen = levels(after(circuit, "G2:open", {"S1": "on", "S2": "on"}))
    assert (seen["E1"], seen["M1"]) == ("dark", "stopped")
    assert (seen["P1"], seen["P2"]) == ("bright", "bright")


def test_lost_common_ground_without_a_way_back_stops_everything(build):
    """No pilots, no way back: all loads dead, and the ground terminal stands at supply."""
    circuit = build("ground-cluster", pilots=False)
    point = after(circuit, "G2:open", {"S1": "on", "S2": "on", "S3": "pressed"})
    assert set(levels(point).values()) <= {"dark", "stopped", "silent"}
    assert point.volts("G2") == pytest.approx(12.65, abs=0.05)


def test_a_broken_chain_takes_what_lies_beyond_the_break(build):
    """E2 and M1 are grounded through one another and P3; the work lamp stands nearest the stud."""
    circuit = build("ground-cluster", joint="chain", sounder=True, pilots=False)
    on = {"S1": "on", "S2": "on", "S3": "pressed", "S4": "on", "gear": "reverse"}
    assert levels(after(circuit, "W64:open", on)) == {
        "E1": "bright", "M1": "stopped", "E2": "dark", "P3": "silent",
    }  # fmt: skip
    assert levels(after(circuit, "W63:open", on))["M1"] == "turns"


def test_resistance_of_the_common_ground_shows_more_with_more_switched_on(build):
    """The drop of a worn stud grows with every load: the marker lamp dims when others join it."""
    circuit = build("ground-cluster", pilots=False)
    fault = "G2:resistance:1"
    alone = after(circuit, fault, {"S4": "on"}).volts("G2")
    joined = after(circuit, fault, {"S4": "on", "S1": "on", "S2": "on"}).volts("G2")
    assert alone is not None
    assert joined is not None
    assert alone < 0.5
    assert joined > 2.5


# --- trailer --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("system", "contacts"),
    [(12, {"1": "E1", "2": "E7", "4": "E2", "5": "E4", "6": "E5 E6", "7": "E3"}),
     (24, {"2": "E3", "3": "E1", "4": "E5 E6", "5": "E2", "6": "E4", "7": "E7"})],
)  # fmt: skip
def test_contacts_of_the_socket_are_those_of_the_standard(system, contacts, build):
    """ISO 1724 at 12 V: 1/L 2/54G 3/31 4/R 5/58R 6/54 7/58L (as tabulated by a maker of such
    sockets); ISO 1185 at 24 V: 1/31 2/58L 3/L 4/54 5/R 6/58R 7/54G (from memory)."""
    circuit = build("trailer-socket", system=system, own_tails=False, plate=False)
    everything = {"S2": "fog", "brake": "pressed"}
    for turn in ("left", "right"):
        sound = levels(solve(circuit, [everything, {"S4": turn}]))
        for contact, lamps in contacts.items():
            lost = levels(after(circuit, f"X1:open:{contact}", everything | {"S4": turn}))
            out = {lamp for lamp in sound if sound[lamp] != "dark" == lost[lamp]}
            assert out == set(lamps.split()) & {k for k, v in sound.items() if v != "dark"}


def test_trailer_without_ground_lights_its_tail_lamps_with_the_brakes(build):
    """Stop current goes backwards through the tail lamps to the machine's own: all glow dimly.

    With the tail lamps switched on as well, both ends of each trailer lamp stand at supply.
    """
    circuit = build("trailer-socket")
    seen = levels(after(circuit, "G2:open", {"brake": "pressed"}))
    assert {seen[e] for e in ("E3", "E4", "E11", "E12")} == {"dim"}
    assert (seen["E5"], seen["E6"]) == ("dark", "dark")
    seen = levels(after(circuit, "G2:open", {"brake": "pressed", "S2": "tail"}))
    assert {seen[e] for e in ("E3", "E4", "E5", "E6")} == {"dark"}
    assert (seen["E11"], seen["E12"]) == ("bright", "bright")


def test_trailer_without_ground_and_without_a_way_back_is_dark(build):
    """The machine has no lamp of its own on these lines: no lamp of the trailer lights at all."""
    circuit = build("trailer-socket", own_tails=False)
    seen = levels(after(circuit, "G2:open", {"S2": "fog", "brake": "pressed"}))
    assert set(seen.values()) == {"dark"}


def test_worn_trailer_ground_lets_the_tail_lamps_join_the_indicator(build):
    """One worn ground for all: with the indicator flashing the tail lamps flicker along."""
    circuit = build("trailer-socket")
    seen = levels(after(circuit, "G2:resistance:2", {"S2": "tail", "S4": "left"}))
    assert {seen[e] for e in ("E1", "E3", "E4")} == {"flashes"}
    assert (seen["E11"], seen["E12"]) == ("bright", "bright")


# --- gauge ----------------------------------------------------------------------------


def test_open_sender_line_shows_empty_and_a_grounded_one_shows_full(draws):
    """Unplug the sender: lower stop. Ground its wire: full or beyond, whatever is in the tank."""
    for drawn in draws("fuel-gauge", FEW):
        line = "W21" if "W21" in drawn.circuit.by_id else "W23"
        for fuel in ("empty", "half", "full"):
            at = {"S1": "on", "fuel": fuel}
            assert levels(after(drawn.circuit, f"{line}:open", at))["P1"] == "at the lower stop"
            point = after(drawn.circuit, f"{line}:short-to-ground", at)
            pointer = next(o for o in observe(point) if o.load == "P1")
            assert pointer.level == "high"
            assert pointer.share > 1.2
            assert not point.events


def test_low_fuel_lamp_burns_with_its_line_grounded(build):
    """A ground on the lamp's line lights it with a full tank and opens no fuse."""
    point = after(build("fuel-gauge"), "W24:short-to-ground", {"S1": "on", "fuel": "full"})
    assert levels(point)["P2"] == "bright"
    assert not point.events


def test_worn_shared_tank_ground_lowers_the_reading_while_the_pump_runs(build):
    """Pump current through the worn joint lifts the sender's ground; with the pump off all is
    well. With a ground of its own the pump does not disturb the gauge."""
    on = {"S1": "on", "fuel": "full"}
    shares = {}
    for ground in ("own", "shared"):
        circuit = build("fuel-gauge", tank_ground=ground, pump_switch=True)
        for pump in ("off", "on"):
            point = after(circuit, "G2:resistance:1", on | {"S2": pump})
            shares[ground, pump] = next(o.share for o in observe(point) if o.load == "P1")
    assert shares["shared", "on"] < 0.85 * shares["shared", "off"]
    assert shares["own", "on"] == pytest.approx(shares["own", "off"], rel=0.01)


# --- diodes ---------------------------------------------------------------------------


def test_shorted_diode_lets_one_switch_light_all_lamps(build):
    """R1 shorted: hot oil grounds the test line, and every lamp lights; an open hatch does not."""
    circuit = build("two-source-lamp", lamps=3)
    seen = levels(after(circuit, "R1:shorted", {"S1": "on", "oil": "hot"}))
    assert set(seen.values()) == {"bright"}
    seen = levels(after(circuit, "R1:shorted", {"S1": "on", "hatch": "open"}))
    assert (seen["P1"], seen["P2"], seen["P3"]) == ("dark", "bright", "dark")


def test_open_diode_costs_the_test_of_one_lamp_only(build):
    """R1 open: the button no longer lights P1, hot oil still does."""
    circuit = build("two-source-lamp", lamps=3)
    seen = levels(after(circuit, "R1:open", {"S1": "on", "S2": "pressed"}))
    assert (seen["P1"], seen["P2"], seen["P3"]) == ("dark", "bright", "bright")
    assert levels(after(circuit, "R1:open", {"S1": "on", "oil": "hot"}))["P1"] == "bright"


def test_shorted_diode_on_the_feed_side_lets_the_button_work_the_buzzer(build):
    """R1 shorted feeds the buzzer from the button; R11 shorted lets hot oil light both lamps."""
    circuit = build("two-source-lamp", side="feed")
    assert levels(after(circuit, "R1:shorted", {"S1": "on", "S2": "pressed"}))["P9"] == "sounds"
    seen = levels(after(circuit, "R11:shorted", {"S1": "on", "oil": "hot"}))
    assert (seen["P1"], seen["P2"]) == ("bright", "bright")


# --- heaters --------------------------------------------------------------------------


def test_broken_bar_takes_the_plugs_beyond_it_and_the_current_tells(build):
    """Plugs are alike and side by side: two of three lost leave about a third of the current."""
    circuit = build("intake-heater", count=3)
    sound, broken = (after(circuit, fault, {"S1": "heat"}) for fault in ("", "W32:open"))
    assert [levels(broken)[e] for e in ("E1", "E2", "E3")] == ["hot", "cold", "cold"]
    amps = [abs(p.flows(circuit.part("F1"))[0].amps) for p in (sound, broken)]
    assert amps[1] / amps[0] == pytest.approx(1 / 3, rel=0.12)


def test_a_tenth_of_an_ohm_costs_volts_in_the_heavy_path_only(build):
    """Drop = current times resistance: over 2 V at the strap's stud, not 0.2 V at the console's."""
    circuit = build("intake-heater")
    heavy = after(circuit, "G2:resistance:0.1", {"S1": "heat"}).volts("G2")
    light = after(circuit, "G3:resistance:0.1", {"S1": "heat"}).volts("G3")
    assert heavy is not None
    assert light is not None
    assert heavy > 2.0
    assert light < 0.2


def test_pilot_at_the_coil_burns_with_the_heater_link_blown_and_one_at_the_output_does_not(build):
    """Where a pilot lamp hangs decides what it proves: a command, or current let through."""
    for place, shown in (("coil", "bright"), ("output", "dark")):
        circuit = build("intake-heater", pilot=place)
        assert levels(after(circuit, "F1:blown", {"S1": "heat"}))["P1"] == shown


def test_welded_heater_relay_heats_with_the_key_out(build):
    """The heavy feed is live at all times: only the relay stands between it and the plugs."""
    seen = levels(after(build("intake-heater"), "K1:welded", {}))
    assert {seen["E1"], seen["E2"], seen["E3"]} == {"hot"}


# --- parked ---------------------------------------------------------------------------

SOUND_DRAIN = 0.05  # A; more than this empties a battery in weeks (common practice, no source)
CULPRITS = {"B1:stuck:open": "F2", "B2:stuck:open": "F3", "K1:welded": "F5"}


def test_a_sound_parked_machine_draws_only_what_clock_and_tracker_need(draws):
    """Under 50 mA, and nothing at all behind an open isolator."""
    for drawn in draws("parasitic-drain", FEW):
        assert 0.01 < drain(solve(drawn.circuit)) < SOUND_DRAIN, str(drawn)
        if "S9" in drawn.circuit.by_control:
            assert drain(solve(drawn.circuit, [{"S9": "off"}])) < 1e-9


@pytest.mark.parametrize("fault", CULPRITS)
def test_pulling_the_right_fuse_ends_the_drain_and_no_other_does(fault, draws):
    """Ammeter in the battery lead, one fuse after the other out: it falls at the culprit's."""
    for drawn in draws("parasitic-drain", 2):
        broken = inject(drawn.circuit, parse_fault(fault))
        before = drain(solve(broken))
        assert before > 4 * SOUND_DRAIN, str(drawn)
        for fuse in [p.id for p in broken.parts if isinstance(p, Fuse)]:
            left = drain(after(broken, f"{fuse}:missing", {}))
            assert (left < SOUND_DRAIN) == (fuse == CULPRITS[fault]), f"{fuse} {drawn}"


def test_a_wire_rubbed_onto_supply_feeds_past_the_pulled_fuse(build):
    """W42 shorted to supply heats with the relay open, and pulling F5 does not end it."""
    broken = inject(build("parasitic-drain"), parse_fault("W42:short-to-supply"))
    assert drain(after(broken, "F5:missing", {})) > 4 * SOUND_DRAIN


def test_plugs_have_the_cavities_their_settings_need(draws):
    """No cavity without a wire on both sides."""
    for family in FAMILIES:
        for drawn in draws(family, FEW):
            ends = {n for p in drawn.circuit.parts if isinstance(p, Wire) for n in p.nodes}
            for plug in [p for p in drawn.circuit.parts if isinstance(p, Connector)]:
                assert set(plug.nodes) <= ends, f"{plug.id} {drawn}"
