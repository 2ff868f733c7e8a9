"""Circuits for the tests of drawings: small, large, and without any sense."""

from __future__ import annotations

import random
from dataclasses import replace

from quizgen.circuit.components import (
    Alternator,
    Battery,
    Connector,
    Contact,
    Flasher,
    Fuse,
    Gauge,
    Ground,
    Lamp,
    Motor,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Sender,
    Splice,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
    Wire,
)
from quizgen.circuit.netlist import CHASSIS, Circuit, Control


def wire(name: str, a: str, b: str, colour: str = "RD") -> Wire:
    """A wire of 1.5 mm²."""
    return Wire(id=name, nodes=(a, b), colour=colour, mm2=1.5, metres=1.0)


def lamp_circuit() -> Circuit:
    """Battery, fuse, splice, two lamps, two grounds."""
    parts: list[Part] = [
        Battery(id="GB1", nodes=("GB1.+", "GB1.-"), emf_volts=12.6),
        Fuse(id="F1", nodes=("F1.1", "F1.2"), amps=10),
        Splice(id="XS1", nodes=("XS1",)),
        Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=5, volts=13.5),
        Lamp(id="E2", nodes=("E2.1", "E2.2"), watts=5, volts=13.5),
        Ground(id="G1", nodes=("G1", CHASSIS)),
        Ground(id="G2", nodes=("G2", CHASSIS)),
        wire("W1", "GB1.+", "F1.1"),
        wire("W2", "F1.2", "XS1"),
        wire("W3", "XS1", "E1.1"),
        wire("W4", "XS1", "E2.1"),
        wire("W5", "E1.2", "G1", "BK"),
        wire("W6", "E2.2", "G1", "BK"),
        wire("W7", "GB1.-", "G2", "BK"),
    ]
    return Circuit(name="two-lamps", title="Two lamps", system_volts=12, parts=tuple(parts))


def machine() -> Circuit:
    """Starting, charging, flashing, wiping: every kind with a box of its own."""
    parts: tuple[Part, ...] = (
        Battery(id="GB1", nodes=_at("GB1", "+", "-"), emf_volts=12.6, name="battery"),
        Alternator(
            id="GA1", nodes=_at("GA1", "B+", "D+", "31", "S"), control="engine", name="alternator"
        ),
        StarterSolenoid(id="Q1", nodes=_at("Q1", "50", "30", "45", "31"), name="starter solenoid"),
        Motor(
            id="M1",
            nodes=_at("M1", "1", "2"),
            volts=12,
            run_amps=100,
            stall_amps=400,
            name="starter motor",
        ),
        Switch(
            id="S1",
            nodes=_at("S1", "30", "15", "50"),
            pins=("30", "15", "50"),
            positions=("off", "on", "start"),
            closes=(
                (),
                (Contact(a="30", b="15"),),
                (Contact(a="30", b="15"), Contact(a="30", b="50")),
            ),
            control="S1",
            style="rotary",
            name="ignition switch",
        ),
        Lamp(id="P1", nodes=_at("P1", "1", "2"), watts=2, volts=12, name="charge lamp"),
        Flasher(id="K2", nodes=_at("K2", "49", "49a", "31"), name="flasher unit"),
        Lamp(id="E1", nodes=_at("E1", "1", "2"), watts=21, volts=12, name="indicator"),
        Gauge(id="P2", nodes=_at("P2", "1", "2"), ohm=100, full_amps=0.1, name="fuel gauge"),
        Sender(
            id="B1",
            nodes=_at("B1", "1", "2"),
            control="tank",
            positions=("full",),
            ohms=(10,),
            name="tank sender",
        ),
        TwoSpeedMotor(
            id="M2",
            nodes=_at("M2", "53", "53i", "31"),
            volts=12,
            low_amps=3,
            high_amps=5,
            stall_amps=20,
            name="wiper motor",
        ),
        Switch(
            id="S2",
            nodes=_at("S2", "15", "53", "53i"),
            pins=("15", "53", "53i"),
            positions=("off", "low", "high"),
            closes=((), (Contact(a="15", b="53"),), (Contact(a="15", b="53i"),)),
            control="S2",
            name="wiper switch",
        ),
        Splice(id="XS1", nodes=("XS1",)),
        Ground(id="G1", nodes=("G1", CHASSIS), name="engine block"),
        Ground(id="G2", nodes=("G2", CHASSIS), name="dash"),
        wire("W1", "GB1.+", "Q1.30"),
        wire("W2", "GB1.+", "GA1.B+"),
        wire("W3", "GB1.+", "S1.30"),
        wire("W4", "S1.50", "Q1.50"),
        wire("W5", "Q1.45", "M1.1"),
        wire("W6", "M1.2", "G1", "BK"),
        wire("W7", "GB1.-", "G1", "BK"),
        wire("W8", "GA1.31", "G1", "BK"),
        wire("W9", "Q1.31", "G1", "BK"),
        wire("W10", "S1.15", "XS1", "OG"),
        wire("W11", "XS1", "P1.1", "OG"),
        wire("W12", "P1.2", "GA1.D+", "BU"),
        wire("W13", "XS1", "K2.49"),
        wire("W14", "K2.49a", "E1.1"),
        wire("W15", "E1.2", "G2", "BK"),
        wire("W16", "K2.31", "G2", "BK"),
        wire("W17", "XS1", "P2.1"),
        wire("W18", "P2.2", "B1.1"),
        wire("W19", "B1.2", "G2", "BK"),
        wire("W20", "XS1", "S2.15"),
        wire("W21", "S2.53", "M2.53"),
        wire("W22", "S2.53i", "M2.53i"),
        wire("W23", "M2.31", "G2", "BK"),
        wire("W24", "GB1.+", "GA1.S"),
    )
    controls = (
        Control(name="S1", positions=("off", "on", "start"), rest="off"),
        Control(name="S2", positions=("off", "low", "high"), rest="off"),
    )
    return Circuit(name="machine", title="", system_volts=12, parts=parts, controls=controls)


def _at(part: str, *terminals: str) -> tuple[str, ...]:
    return tuple(f"{part}.{t}" for t in terminals)


def any_circuit(rng: random.Random) -> Circuit:
    """Parts of many kinds, wired up without any sense."""
    parts: list[Part] = [Battery(id="GB1", nodes=("GB1.+", "GB1.-"), emf_volts=12.6)]
    controls = []
    for k in range(rng.randint(2, 7)):
        part, control = _any_part(rng, k)
        parts.append(part)
        controls += [control] if control else []
    points = [n for p in parts for n in p.nodes if n != CHASSIS]
    moved = {rng.choice(points): rng.choice([*points, CHASSIS]) for _ in range(rng.randint(0, 3))}
    parts = [replace(p, nodes=tuple(moved.get(n, n) for n in p.nodes)) for p in parts]
    points = sorted({n for p in parts for n in p.nodes})
    for k in range(rng.randint(1, 12)):
        a, b = rng.sample([*points, f"end{k}"], 2)
        parts.append(wire(f"W{k}", a, b, rng.choice(["RD", "BUWH"])))
    return Circuit(
        name=f"any{rng.random()}", title="", system_volts=12, parts=tuple(parts),
        controls=tuple(controls), feeds=((parts[0].nodes[0], "live at all times"),),
    )  # fmt: skip


def _any_part(rng: random.Random, k: int) -> tuple[Part, Control | None]:
    def nodes(name: str, terminals: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(f"{name}.{t}" for t in terminals)

    pair = ("1", "2")
    kind = rng.randrange(8)
    if kind == 0:
        pins = tuple(str(i) for i in range(rng.randint(2, 5)))
        pairs = [tuple(rng.sample(pins, 2)) for _ in range(3)]
        closes = tuple(tuple(Contact(a=a, b=b) for a, b in pairs[:n]) for n in (0, 1, 2))
        switch = Switch(
            id=f"S{k}", nodes=nodes(f"S{k}", pins), pins=pins, positions=("off", "low", "high"),
            closes=closes, control=f"S{k}", name="work lamp switch",
        )  # fmt: skip
        return switch, Control(name=f"S{k}", positions=switch.positions, rest="off")
    makers: list[Part] = [
        Relay(
            id=f"K{k}", nodes=nodes(f"K{k}", ("86", "85", "30", "87", "87a")), contact="changeover",
            suppression=rng.choice(["none", "diode", "resistor"]),
        ),
        ResistorPack(id=f"R{k}", nodes=nodes(f"R{k}", ("1", "2", "3")), ohms=(1.0, 2.0)),
        Connector(
            id=f"X{k}", nodes=nodes(f"X{k}", ("1a", "1b", "2a", "2b")), cavities=pair,
            cavity_ohm=(0.003, 0.003), name="cab to body",
        ),
        Ground(id=f"G{k}", nodes=(f"G{k}", CHASSIS), name="left pillar"),
        Splice(id=f"XS{k}", nodes=(f"XS{k}",)),
        Motor(id=f"M{k}", nodes=nodes(f"M{k}", pair), volts=12, run_amps=5, stall_amps=20),
        Resistor(id=f"R{k}", nodes=nodes(f"R{k}", pair), ohm=4.7),
    ]  # fmt: skip
    return makers[kind - 1], None
