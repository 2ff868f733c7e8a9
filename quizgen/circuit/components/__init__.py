"""Component kinds: frozen data, no behaviour beyond what their own numbers mean.

How a component conducts is in `quizgen.solver.models`, what can go wrong with it in
`quizgen.faults.modes`, how it is drawn in `quizgen.diagram.symbols`. Each of these is
a table keyed by the classes below; a test sees that none is missing.

Field names carry the unit. A *defect* field (`blown`, `condition`, `extra_ohm` ...) is set
by fault injection only. What a part does at the moment (a relay pulled in, a fuse that has
just opened) is never stored here: that is part of a solution.

Reference letters follow IEC 81346-2, terminal numbers DIN 72552 where it has one.
"""

from __future__ import annotations

from math import inf

from quizgen.circuit.components.conductors import Bridge, Connector, Ground, Splice, Wire
from quizgen.circuit.components.loads import (
    Diode,
    Gauge,
    Heater,
    Horn,
    Lamp,
    LedLamp,
    Motor,
    Resistor,
    ResistorPack,
    Sender,
    Solenoid,
    TwoSpeedMotor,
)
from quizgen.circuit.components.part import Condition, Part
from quizgen.circuit.components.protection import Breaker, Fuse, FusibleLink
from quizgen.circuit.components.supply import Alternator, Battery, Source
from quizgen.circuit.components.switching import Contact, Flasher, Relay, StarterSolenoid, Switch

LOADS: tuple[type[Part], ...] = (
    Lamp, LedLamp, Motor, TwoSpeedMotor, Heater, Solenoid, Horn, Gauge,
)  # fmt: skip

KINDS: dict[str, type[Part]] = {
    c.kind: c
    for c in (
        Battery, Source, Alternator, Wire, Connector, Splice, Ground, Bridge, Fuse, FusibleLink,
        Breaker, Switch, Relay, StarterSolenoid, Flasher, Resistor, ResistorPack, Sender, Lamp,
        LedLamp, Motor, TwoSpeedMotor, Heater, Solenoid, Horn, Gauge, Diode,
    )
}  # fmt: skip

OPEN = inf

__all__ = [
    "KINDS",
    "LOADS",
    "OPEN",
    "Alternator",
    "Battery",
    "Breaker",
    "Bridge",
    "Condition",
    "Connector",
    "Contact",
    "Diode",
    "Flasher",
    "Fuse",
    "FusibleLink",
    "Gauge",
    "Ground",
    "Heater",
    "Horn",
    "Lamp",
    "LedLamp",
    "Motor",
    "Part",
    "Relay",
    "Resistor",
    "ResistorPack",
    "Sender",
    "Solenoid",
    "Source",
    "Splice",
    "StarterSolenoid",
    "Switch",
    "TwoSpeedMotor",
    "Wire",
]
