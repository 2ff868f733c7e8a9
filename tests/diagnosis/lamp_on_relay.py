"""A lamp fed through a fuse, a switch and a ground stud, small enough to reason about by hand."""

from __future__ import annotations

from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit, Control

ON = (("S1", "on"),)


def wire(part_id: str, a: str, b: str) -> c.Wire:
    """A metre of 2.5 mm² between two nodes."""
    return c.Wire(id=part_id, nodes=(a, b), colour="RD", mm2=2.5, metres=1.0)


def circuit() -> Circuit:
    """GB1, W1, F1, W2, S1, W3, lamp E1, W4, ground G1; a relay K1 beside the lamp."""
    return Circuit(
        name="lamp", title="lamp", system_volts=12,
        parts=(
            c.Battery(id="GB1", nodes=("GB1.+", CHASSIS), emf_volts=12.6, internal_ohm=0.01),
            wire("W1", "GB1.+", "F1.1"),
            c.Fuse(id="F1", nodes=("F1.1", "F1.2"), amps=10, access_minutes=0.5),
            wire("W2", "F1.2", "S1.1"),
            c.Switch(
                id="S1", nodes=("S1.1", "S1.2"), pins=("1", "2"), positions=("off", "on"),
                closes=((), (c.Contact(a="1", b="2"),)), control="S1", access_minutes=6,
            ),
            wire("W3", "S1.2", "E1.1"),
            c.Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=21, volts=13.5, access_minutes=3),
            wire("W4", "E1.2", "G1"),
            c.Ground(id="G1", nodes=("G1", CHASSIS), access_minutes=2),
            wire("W5", "S1.2", "K1.86"),
            c.Relay(
                id="K1", nodes=("K1.86", CHASSIS, "GB1.+", "K1.87"), coil_ohm=85.0,
                access_minutes=1,
            ),
            c.Lamp(id="E2", nodes=("K1.87", CHASSIS), watts=5, volts=13.5, access_minutes=4),
        ),
        controls=(Control(name="S1", positions=("off", "on"), rest="off"),),
    )  # fmt: skip
