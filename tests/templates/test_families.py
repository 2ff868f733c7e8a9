"""The shipped circuit families without a fault: they work, and they are wired soundly.

What a load must do is written down here by hand, from the positions alone, as a technician
reads it off the diagram; the solver must agree.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

import networkx as nx
import pytest

from quizgen.circuit.components import (
    LOADS,
    Battery,
    Breaker,
    Connector,
    Fuse,
    FusibleLink,
    Horn,
    Lamp,
    Motor,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Switch,
    Wire,
)
from quizgen.circuit.netlist import Circuit
from quizgen.faults import universe
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import observe

FAMILIES = ("blower-pack", "ground-switched-lamps", "push-button-relay", "two-station-motor")
Moves = dict[str, str]

# largest fuse for a wire, A by mm2 (common practice, no source)
BEARS = {0.5: 5, 0.75: 10, 1.0: 15, 1.5: 20, 2.5: 30, 4.0: 40, 6.0: 50, 10.0: 70, 16.0: 100}
# allowed drop, battery to load or load to battery, continuous: FAA AC 43.13-1B table 11-6
# (0.5 V at 14 V, 1 V at 28 V; from memory)
ALLOWED_DROP = {12.0: 0.5, 24.0: 1.0}


# --- what each load must do -----------------------------------------------------------


def expected_blower(circuit: Circuit, at: Moves) -> dict[str, str]:
    """The blower turns in every position but off; the panel lamp goes with the ignition."""
    live = at["S1"] == "on"
    return {
        "M1": "turns" if live and at["S2"] != "off" else "stopped",
        "E1": "bright" if live else "dark",
    }


def expected_lamps(circuit: Circuit, at: Moves) -> dict[str, str]:
    """A door or the cab switch grounds the door line; a lamp's own switch may free or ground it."""
    line = "open" in [at.get(f"{side}-door") for side in ("left", "right", "rear")]
    line = line or at["S8"] == "on"
    levels = {}
    for lamp in ("E1", "E2", "E3", "E4"):
        own = at.get(lamp.replace("E", "S"), "door")
        lit = own == "on" or (own == "door" and line)
        levels[lamp] = "bright" if lit else "dark"
    levels["E9"] = "bright" if at.get("S9") == "on" else "dark"
    return {load: level for load, level in levels.items() if load in circuit.by_id}


def expected_relay(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Load and pilot lamp go with the button while the coil has supply."""
    works = at["S2"] in ("pressed", "on") and at.get("S1", "on") == "on"
    words = {Horn: ("silent", "sounds"), Motor: ("stopped", "turns"), Lamp: ("dark", "bright")}
    loads = [p for p in circuit.parts if isinstance(p, LOADS)]
    return {p.id: words[type(p)][works] for p in loads}  # type: ignore[index]


def expected_motor(circuit: Circuit, at: Moves) -> dict[str, str]:
    """Follow each motor lead to the feed, to ground, or to nowhere."""
    live = at["S1"] == "on"
    levels = {"E1": "bright" if live else "dark"}
    near, far = (
        ("S3", "S2")
        if "3" in circuit.by_id.get("S3", circuit.part("S2")).terminals
        else ("S2", "S3")
    )
    fed = {"S2": live, "S3": live and at.get("S4", "free") == "free"}
    if "S3" in circuit.by_id:
        # locked out and pressed against S2, station S3 hangs its lamp behind the motor: back-feed
        opposed = {at["S2"], at["S3"]} == {"raise", "lower"}
        levels["E2"] = "bright" if fed["S3"] or (live and opposed) else "dark"

    def lead(press: str) -> str:
        """What a motor lead meets that `press` ("raise" or "lower") lifts onto the feed."""
        for station in (near, far):
            if at.get(station, "rest") == press:
                return "feed" if fed[station] else "nowhere"
        return "ground"

    turn = {("feed", "ground"): "turns", ("ground", "feed"): "turns backwards"}
    levels["M1"] = turn.get((lead("raise"), lead("lower")), "stopped")
    return levels


EXPECTED = {
    "blower-pack": expected_blower,
    "ground-switched-lamps": expected_lamps,
    "push-button-relay": expected_relay,
    "two-station-motor": expected_motor,
}


@pytest.mark.parametrize("family", FAMILIES)
def test_loads_do_what_the_positions_say(family, draws):
    """In any position of its controls each load works, or rests, as read off the diagram."""
    for drawn in draws(family):
        for at, point in drawn.operated:
            seen = {o.load: o.level for o in observe(point)}
            assert seen == EXPECTED[family](drawn.circuit, at), f"{drawn} at {at}"


@pytest.mark.parametrize("family", FAMILIES)
def test_no_doubtful_observation(family, draws):
    """Without a fault nobody hesitates whether a lamp is bright or a motor turns."""
    for drawn in draws(family):
        for at, point in drawn.operated:
            assert not [o.load for o in observe(point) if o.doubtful], f"{drawn} at {at}"
            assert not point.ambiguous


@pytest.mark.parametrize("family", FAMILIES)
def test_sound_circuits_are_steady_and_open_no_protector(family, draws):
    """No protector opens and no relay chatters while nothing is wrong."""
    for drawn in draws(family):
        assert {point.behaviour for _, point in drawn.operated} == {"steady"}, str(drawn)


# --- wiring ---------------------------------------------------------------------------


def working(point: OperatingPoint) -> Iterator[tuple[Part, float, float]]:
    """Loads that do their work: the part, and the potentials of its two ends, higher first."""
    for seen in observe(point):
        if seen.level in ("bright", "turns", "turns backwards", "sounds"):
            part = point.circuit.part(seen.load)
            ends = [v for n in part.nodes if (v := point.volts(n)) is not None]
            yield part, max(ends), min(ends)


@pytest.mark.parametrize("family", FAMILIES)
def test_feed_and_ground_drops_are_small(family, longest):
    """Battery post to load and load to frame drop no more than FAA AC 43.13-1B table 11-6 allows.

    The slow speeds of the blower are left out: dropping voltage is what their resistors are for.
    """
    for drawn in longest(family):
        allowed = ALLOWED_DROP[drawn.circuit.system_volts]
        for at, point in drawn.operated:
            post = point.volts(drawn.circuit.supply)
            for part, high, low in working(point):
                if family == "blower-pack" and part.id == "M1" and not top_speed(point):
                    continue
                assert post - high < allowed, f"feed of {part.id}: {drawn} at {at}"
                assert low < allowed, f"ground of {part.id}: {drawn} at {at}"


def top_speed(point: OperatingPoint) -> bool:
    return point.state(point.circuit.part("K1")) == "pulled"


@pytest.mark.parametrize("family", FAMILIES)
def test_protectors_stand_a_quarter_above_the_running_current(family, draws):
    """At charging voltage no protector carries more than 1/1.25 of its rating.

    Common practice, no source; 13.5 V and 28 V are the test voltages of UN R37.
    """
    for drawn in draws(family):
        battery = drawn.circuit.part("GB1")
        assert isinstance(battery, Battery)
        charged = replace(battery, emf_volts=13.5 if drawn.circuit.system_volts == 12 else 28.0)
        circuit = drawn.circuit.with_parts(changed=[charged])
        solved = solve_cases([circuit], [(0, tuple(at.items())) for at in drawn.positions])
        for i, at in enumerate(drawn.positions):
            point = solved.point(i)
            for part in point.circuit.parts:
                if isinstance(part, Fuse | FusibleLink | Breaker):
                    amps = abs(point.flows(part)[0].amps)
                    assert amps * 1.25 <= part.amps, f"{part.id}: {drawn} at {at}"


def metal(circuit: Circuit, relays: str) -> nx.MultiGraph:
    """What a short would find: every path but through loads, coils, the frame and the battery.

    All switch contacts are taken as closed; `relays` says "rest" or "pulled".
    """
    graph = nx.MultiGraph()
    for part in circuit.parts:
        if isinstance(part, Wire | Fuse | FusibleLink | Breaker | Resistor):
            graph.add_edge(*part.nodes, key=part.id)
        elif isinstance(part, Connector):
            for cavity in part.cavities:
                graph.add_edge(part.node(f"{cavity}a"), part.node(f"{cavity}b"), key=part.id)
        elif isinstance(part, ResistorPack):
            nx.add_path(graph, part.nodes)
        elif isinstance(part, Switch):
            graph.add_edges_from((part.node(k.a), part.node(k.b)) for k in part.contacts)
        elif isinstance(part, Relay):
            throw = "87" if relays == "pulled" else "87a"
            if throw in part.terminals:
                graph.add_edge(part.node("30"), part.node(throw))
    return graph


@pytest.mark.parametrize("relays", ["rest", "pulled"])
@pytest.mark.parametrize("family", FAMILIES)
def test_every_wire_bears_what_its_protector_lets_through(family, relays, draws):
    """A live wire is thick enough for the smallest protector before it; only the first has none."""
    for drawn in draws(family):
        circuit = drawn.circuit
        graph = metal(circuit, relays)
        reach = nx.node_connected_component(graph, circuit.supply)
        limit: dict[str, float] = {}
        for part in circuit.parts:
            if isinstance(part, Fuse | FusibleLink | Breaker):
                cut = graph.copy()
                cut.remove_edge(*part.nodes, key=part.id)
                lost = reach - nx.node_connected_component(cut, circuit.supply)
                for node in lost:
                    limit[node] = min(part.amps, limit.get(node, part.amps))
        live = [w for w in circuit.parts if isinstance(w, Wire) and set(w.nodes) <= reach]
        bare = {w.id for w in live if not set(w.nodes) & set(limit)}
        assert bare == {"W1"}, str(drawn)
        for wire in live:
            amps = max((limit[n] for n in wire.nodes if n in limit), default=0.0)
            assert amps <= BEARS[wire.mm2], f"{wire.id} {wire.mm2} mm2: {drawn}"


# --- figures from outside -------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
def test_battery_is_a_full_rested_one(family, draws):
    """12.65 V per six cells: the BCI table for a full rested flooded battery."""
    for drawn in draws(family):
        battery = drawn.circuit.part("GB1")
        assert isinstance(battery, Battery)
        assert battery.emf_volts == pytest.approx(12.65 * drawn.circuit.system_volts / 12)


@pytest.mark.parametrize("family", ["blower-pack", "push-button-relay"])
def test_relay_coils_are_those_of_data_sheets(family, draws):
    """Coil ohm, pull-in and drop-out volts as printed: TE Power Relay B (001, 004), OEN type 78."""
    sheets = {
        12.0: {(85, 8.0, 1.5), (100, 7.2, 1.2)},
        24.0: {(255, 16.0, 3.0), (320, 14.8, 2.4)},
    }
    for drawn in draws(family):
        relay = drawn.circuit.part("K1")
        assert isinstance(relay, Relay)
        coil = (relay.coil_ohm, relay.pull_in_volts, relay.drop_out_volts)
        assert coil in sheets[drawn.circuit.system_volts]


# largest watts at 13.5 V and at 28.0 V by rated watts: UN R37 data sheets of T4W, R5W and C5W,
# R10W, P21W, and of H3 (at 13.2 V and 28.0 V); from memory
R37_MOST = {4: (4.4, 5.5), 5: (5.5, 7.7), 10: (11.0, 14.0), 21: (26.5, 29.7), 55: (68.0, 84.0)}


@pytest.mark.parametrize("family", FAMILIES)
def test_lamps_are_those_of_the_regulation(family, draws):
    """Each lamp's watts lie within a tenth below the most that UN R37 allows one of its types."""
    for drawn in draws(family):
        column = 0 if drawn.circuit.system_volts == 12 else 1
        for lamp in drawn.circuit.parts:
            if isinstance(lamp, Lamp):
                assert lamp.volts == (13.5, 28.0)[column]
                most = [row[column] for row in R37_MOST.values()]
                assert any(0.88 * m <= lamp.watts <= m for m in most), f"{lamp.id}: {drawn}"


# --- variety --------------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_enough_to_go_wrong(family, draws):
    """Every setting offers at least 25 faults in at least 15 places."""
    for drawn in draws(family):
        faults = [w.fault for w in universe(drawn.circuit)]
        assert len(faults) >= 25, str(drawn)
        assert len({f.part for f in faults}) >= 15, str(drawn)


@pytest.mark.parametrize("family", FAMILIES)
def test_settings_give_different_circuits(family, draws):
    """Twenty draws are twenty circuits, on both voltages and of more than one structure."""
    drawn = draws(family)
    assert len({d.circuit.parts for d in drawn}) == len(drawn)
    assert {d.circuit.system_volts for d in drawn} == {12.0, 24.0}
    assert len({tuple(p.id for p in d.circuit.parts) for d in drawn}) > 5


@pytest.mark.parametrize("family", FAMILIES)
def test_every_part_has_a_name_and_a_place(family, draws):
    """A technician can be told what each part is and where to find it."""
    for drawn in draws(family):
        nameless = [
            p.id
            for p in drawn.circuit.parts
            if not isinstance(p, Wire) and not (p.name and p.place)
        ]
        assert not nameless, str(drawn)


@pytest.mark.parametrize("family", FAMILIES)
def test_every_load_can_work(family, draws):
    """Each load works in at least one position, so that a complaint about it makes sense."""
    for drawn in draws(family):
        worked = {part.id for _, point in drawn.operated for part, _, _ in working(point)}
        assert worked == {p.id for p in drawn.circuit.parts if isinstance(p, LOADS)}, str(drawn)


def test_blower_speeds_rise_with_the_position(draws):
    """Each position of the blower switch gives a faster blower than the one before."""
    for drawn in draws("blower-pack"):
        switch = drawn.circuit.part("S2")
        assert isinstance(switch, Switch)
        found = {
            at["S2"]: next(o.share for o in observe(point) if o.load == "M1")
            for at, point in drawn.operated
            if at["S1"] == "on"
        }
        shares = [found[position] for position in switch.positions]
        assert shares == sorted(shares), str(drawn)
        assert all(b - a > 0.04 for a, b in itertools.pairwise(shares)), f"{shares} {drawn}"
