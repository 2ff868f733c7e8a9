"""The netlist is readable, has every part in it, and is one that ngspice can solve."""

from __future__ import annotations

from dataclasses import replace
from math import isnan
from pathlib import Path

import pytest

from quizgen.base.errors import OutsideError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import inject, parse_fault, universe
from quizgen.solver import OperatingPoint, Solutions, solve, solve_cases
from quizgen.solver.ngspice import misfits, solve_again
from quizgen.solver.spice import netlist

LAMP_ON_RELAY = """
format: 1
name: lamp-on-relay
title: A lamp on a relay
summary: A switch feeds the coil of a relay, the relay feeds a lamp.
topics: [relay]
cautions: []
system: 12
parts:
  GB1: {kind: battery, emf_volts: 12.5, internal_ohm: 0.01, at: [plus, chassis]}
  F1: {kind: fuse, amps: 10, ohm: 0.005, at: [plus, fed]}
  S1:
    kind: switch
    name: work lamp switch
    pins: ["1", "2"]
    positions: {off: [], on: ["1-2"]}
    contact_ohm: 0.02
    at: [fed, on]
  K1:
    kind: relay
    contact: changeover
    coil_ohm: 80
    contact_ohm: 0.01
    suppression: diode
    at: {"86": on, "85": chassis, "30": fed}
    unused: ["87a"]
  E1: {kind: lamp, watts: 12, volts: 12, cold_ratio: 12, at: {"2": chassis}}
wires:
  W5: {from: K1.87, to: E1.1, colour: RD, mm2: 1, metres: 2}
"""

# written by hand from the circuit above; W5 is 2 m of 18.5 mΩ/m (1 mm² of ISO 6722-1, from
# memory) and 0.2 mΩ of crimps
SWITCHED_ON = """\
A lamp on a relay
* lamp burning
* Switches, relays, protectors and diodes stand as the comments say; the rest follows
* from the elements. Volts of a node are against the reference, which is node 0. A
* terminal such as K1.87 is the node K1_87, GB1.+ is GB1_plus.
* Nothing conducts to K1.87a.

* filament: current grows as volts to the power 0.55, cold: its cold conductance
.func filament(v,amps,volts,cold) {v*min(cold,amps/volts*pow(max(abs(v),1e-6)/volts,-0.45))}

* GB1 battery
R_GB1 plus GB1_inside 0.01
V_GB1 GB1_inside 0 12.5
* F1 fuse: intact
R_F1 plus fed 0.005
* S1 switch (work lamp switch): on
R_S1_1_2 fed on 0.02
* K1 relay: pulled
R_K1_coil on 0 80
*   suppression blocks
R_K1_30_87 fed K1_87 0.01
*   30-87a open
* E1 lamp
B_E1 E1_1 0 i=filament(v(E1_1,0),1,12,1)
* W5 wire
R_W5 K1_87 E1_1 0.0372

.options reltol=1e-9 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=1000 savecurrents
.op
.end
"""


@pytest.fixture
def circuit(tmp_path: Path) -> Circuit:
    """Lamp, relay and switch."""
    path = tmp_path / "lamp-on-relay.yaml"
    path.write_text(LAMP_ON_RELAY, encoding="utf-8")
    return find_template(str(path)).build()


def joined(*parts: c.Part, reference: str = "0") -> Circuit:
    """A circuit of nothing else."""
    return Circuit(name="t", title="t", system_volts=12.0, parts=parts, reference=reference)


def test_the_text_is_what_a_person_would_write(circuit: Circuit) -> None:
    """Each part with its state and its elements, what is open as a comment."""
    point = solve(circuit, [{"S1": "on"}])
    assert netlist(point, notes=["lamp burning"]).text == SWITCHED_ON


def test_every_part_of_every_family_is_named() -> None:
    """One comment for each part that has branches, whatever its kind."""
    for name in shipped_templates():
        found = find_template(name).build()
        lines = netlist(solve(found)).text.splitlines()
        for part in found.parts:
            if not isinstance(part, c.Splice):
                assert sum(line.split()[:2] == ["*", part.id] for line in lines) == 1, part.id


@pytest.mark.ngspice
@pytest.mark.parametrize("name", ["indicators-hazard", "wiper", "charging", "power-seat"])
def test_ngspice_solves_what_is_written(name: str, ngspice: str) -> None:
    """Same floating nodes, voltages within a microvolt, states that fit; a sound circuit and
    every fifth fault, controls at rest and one moved."""
    sound = find_template(name).build()
    circuits = [sound, *(inject(sound, w.fault) for w in universe(sound)[::5])]
    moves = [(), ((sound.controls[0].name, sound.controls[0].positions[-1]),)]
    solutions = solve_cases(circuits, [(i, m) for i in range(len(circuits)) for m in moves])
    points = [solutions.point(i) for i in range(len(solutions))]
    for old, new in zip(points, solve_again(points, ngspice), strict=True):
        assert new is not None
        assert {n for n, v in old.node_volts.items() if v is None} == {
            n for n, v in new.node_volts.items() if v is None
        }
        for node, volts in new.node_volts.items():
            assert volts == pytest.approx(old.node_volts[node], abs=1e-6)
        for part in old.circuit.parts:
            for mine, other in zip(old.flows(part), new.flows(part), strict=True):
                assert other.amps == pytest.approx(mine.amps, rel=1e-6, abs=1e-6)
        if old.behaviour in ("steady", "protector-open"):
            assert list(misfits(new)) == []


@pytest.mark.ngspice
def test_a_part_that_nothing_ties_to_the_reference_has_its_volts(ngspice: str) -> None:
    """9 V over 1 kΩ and 2 kΩ off the frame: 6 V across the larger, no potential of their own."""
    battery = c.Source(id="V1", nodes=("a", "c"), volts=9.0)
    small = c.Resistor(id="R1", nodes=("a", "b"), ohm=1000.0)
    large = c.Resistor(id="R2", nodes=("b", "c"), ohm=2000.0)
    frame = c.Resistor(id="R3", nodes=("0", "d"), ohm=1.0)
    [point] = solve_again([solve(joined(battery, small, large, frame))], ngspice)
    assert point is not None
    assert point.between("b", "c") == pytest.approx(6.0)
    assert point.flows(large)[0].amps == pytest.approx(0.003)
    assert point.volts("b") is None
    assert point.volts("d") == 0.0


@pytest.mark.ngspice
def test_names_that_spice_takes_for_one_another_are_kept_apart(ngspice: str) -> None:
    """`gnd` is no reference here, `A` is not `a`, `P+` is not `Pplus`: four drops of 1 V."""
    source = c.Source(id="V1", nodes=("gnd", "chassis"), volts=4.0)
    nodes = ("gnd", "A", "a", "P+", "chassis")
    drops = [
        c.Resistor(id=name, nodes=(nodes[i], nodes[i + 1]), ohm=10.0)
        for i, name in enumerate(("RX", "Rx", "R_x", "R9"))
    ]
    far = c.Resistor(id="R0", nodes=("Pplus", "chassis"), ohm=10.0)
    [point] = solve_again([solve(joined(source, *drops, far, reference="chassis"))], ngspice)
    assert point is not None
    assert [point.volts(n) for n in nodes] == pytest.approx([4.0, 3.0, 2.0, 1.0, 0.0])
    assert point.volts("Pplus") == 0.0


@pytest.mark.ngspice
def test_a_loop_of_ideal_joints_is_solved(ngspice: str) -> None:
    """Two bare joints side by side: the lamp's side has the source's 12 V, the shares of the
    two nobody can tell."""
    source = c.Source(id="V1", nodes=("a", "0"), volts=12.0)
    joints = [c.Bridge(id=f"X{i}", nodes=("a", "b"), ohm=0.0) for i in (1, 2)]
    load = c.Resistor(id="R1", nodes=("b", "0"), ohm=6.0)
    [point] = solve_again([solve(joined(source, *joints, load))], ngspice)
    assert point is not None
    assert point.volts("b") == pytest.approx(12.0)
    assert point.flows(load)[0].amps == pytest.approx(2.0)
    assert sum(isnan(point.flows(joint)[0].amps) for joint in joints) == 1


def without_voltage(point: OperatingPoint) -> OperatingPoint:
    """The same states with nothing between any two points."""
    old = point.solutions
    settled = replace(old.settled, volts=0.0 * old.settled.volts)
    return OperatingPoint(Solutions(old.network, old.circuit, old.moves, settled), point.case)


def test_states_that_no_voltage_holds_are_named(circuit: Circuit) -> None:
    """A relay pulled and an LED conducting at 0 V are; as solved neither is."""
    led = c.LedLamp(id="P1", nodes=("fed", "chassis"), watts=1.0, volts=12.0, forward_volts=6.0)
    point = solve(circuit.with_parts(added=[led]), [{"S1": "on"}])
    assert list(misfits(point)) == []
    assert list(misfits(without_voltage(point))) == [
        "K1 is pulled at 0.000 V",
        "P1 conducts at 0.000 V",
    ]


def test_a_program_that_is_not_there_is_an_outside_error(circuit: Circuit) -> None:
    """One line that names it."""
    with pytest.raises(OutsideError, match="no-such-program"):
        solve_again([solve(circuit)], "no-such-program")


def test_a_program_that_solves_nothing_gives_nothing(circuit: Circuit) -> None:
    """No traceback and no zero volts."""
    blown = inject(circuit, parse_fault("F1:blown"))
    assert solve_again([solve(circuit), solve(blown)], "true") == [None, None]
