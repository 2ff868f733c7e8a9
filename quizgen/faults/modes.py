"""What can go wrong with each component kind: the table, and how each mode changes a part.

A mode has a default weight, its likelihood beside the other modes of any part (common
practice, no source: lamps, brushes and connectors fail often, wires seldom), and two functions:
`usual` lists the details worth considering on a surveyed circuit with the share of the
weight each takes, `apply` returns the circuit with the fault in it.

A weight is per place: every cavity of a connector and every contact of a switch has it in
full, while two severities or two wrong ratings at one place share it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from math import inf
from typing import Any, TypeVar

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import usual, wires
from quizgen.faults.details import (
    added_ohm,
    fraction,
    no_detail,
    number,
    one_of,
    placed_ohm,
)
from quizgen.faults.fault import Fault
from quizgen.faults.survey import Survey

P = TypeVar("P", bound=c.Part)
Apply = Callable[[Circuit, P, Fault], Circuit]
Usual = Callable[[Survey, P], Iterable[tuple[str, float]]]


@dataclass(frozen=True)
class Mode:
    """One way a kind of part fails. `usual` gives (detail, share of the weight) pairs."""

    name: str
    weight: float
    apply: Apply[Any]
    usual: Usual[Any] = usual.bare


def changed(circuit: Circuit, part: c.Part, fault: Fault, **values: Any) -> Circuit:
    """The circuit with defect fields of `part` set.

    Raises InputError when a field is set already: one part fails in one way at a time.
    """
    defaults = {f.name: f.default for f in fields(part)}
    for name in values:
        if getattr(part, name) != defaults[name]:
            raise InputError(
                f"fault {fault}: {part.id} has a fault of that sort already; take another part"
            )
    return circuit.with_parts(changed=[replace(part, **values)])


def becomes(**values: Any) -> Apply[c.Part]:
    """A mode without detail that sets defect fields."""

    def apply(circuit: Circuit, part: c.Part, fault: Fault) -> Circuit:
        no_detail(fault)
        return changed(circuit, part, fault, **values)

    return apply


# --- conductors -----------------------------------------------------------------------


def _wire_open(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    at = fraction(fault) if fault.detail else 1.0
    return wires.break_wire(circuit, wire.id, at)


def _wire_resistance(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    return wires.add_resistance(circuit, wire.id, added_ohm(fault, fault.detail))


def _wire_to_ground(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    at = fraction(fault) if fault.detail else 1.0
    return wires.short_at(circuit, fault, at, circuit.reference)


def _wire_to_supply(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    at = fraction(fault) if fault.detail else 1.0
    return wires.short_at(circuit, fault, at, circuit.supply)


def _wire_to_wire(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    return wires.short_between(circuit, fault, wires.other_wire(circuit, fault))


def _wire_swapped(circuit: Circuit, wire: c.Wire, fault: Fault) -> Circuit:
    return wires.swap(circuit, fault, wires.other_wire(circuit, fault))


def _cavity(circuit: Circuit, part: c.Connector, index: int, ohm: float) -> Circuit:
    values = list(part.cavity_ohm)
    values[index] += ohm
    return circuit.with_parts(changed=[replace(part, cavity_ohm=tuple(values))])


def cavities(part: c.Connector) -> dict[str, int]:
    """Cavity name → its index."""
    return {name: i for i, name in enumerate(part.cavities)}


def _cavity_open(circuit: Circuit, part: c.Connector, fault: Fault) -> Circuit:
    return _cavity(circuit, part, one_of(fault, fault.detail, cavities(part), "cavity"), inf)


def _cavity_resistance(circuit: Circuit, part: c.Connector, fault: Fault) -> Circuit:
    return _cavity(circuit, part, *placed_ohm(fault, cavities(part), "cavity"))


def _ground_open(circuit: Circuit, part: c.Ground, fault: Fault) -> Circuit:
    no_detail(fault)
    return circuit.with_parts(changed=[replace(part, ohm=inf)])


def _ground_resistance(circuit: Circuit, part: c.Ground, fault: Fault) -> Circuit:
    ohm = part.ohm + added_ohm(fault, fault.detail)
    return circuit.with_parts(changed=[replace(part, ohm=ohm)])


# --- supply and protection ------------------------------------------------------------

USUAL_CHARGE = 25.0  # percent left in a weak battery when the fault does not say


def _battery_weak(circuit: Circuit, part: c.Battery, fault: Fault) -> Circuit:
    """Rested voltage falls by 6 % from full to empty, as 12.65 V to 11.9 V of six cells.

    Both figures from memory of battery handbooks; the internal resistance growing to five
    times its value is a round figure for an empty battery, no source.
    """
    charge = USUAL_CHARGE
    if fault.detail:
        charge = number(fault, fault.detail, 0.0, 99.0, "the percent of charge")
    lost = 1.0 - charge / 100.0
    weak = replace(
        part,
        emf_volts=part.emf_volts * (1.0 - 0.06 * lost),
        internal_ohm=part.internal_ohm * (1.0 + 4.0 * lost),
    )
    return circuit.with_parts(changed=[weak])


def _wrong_rating(circuit: Circuit, part: c.Fuse, fault: Fault) -> Circuit:
    ratings = {f"{amps:g}": amps for amps in usual.BLADE_AMPS if amps != part.amps}
    amps = one_of(fault, fault.detail, ratings, "rating")
    return changed(circuit, part, fault, fitted_amps=amps)


# --- switching ------------------------------------------------------------------------


def contacts(part: c.Switch) -> dict[str, c.Contact]:
    """`30-1` → that contact."""
    return {f"{k.a}-{k.b}": k for k in part.contacts}


def _switch_open(circuit: Circuit, part: c.Switch, fault: Fault) -> Circuit:
    contact = one_of(fault, fault.detail, contacts(part), "contact")
    opened = (*part.open_contacts, contact)
    return circuit.with_parts(changed=[replace(part, open_contacts=opened)])


def _switch_resistance(circuit: Circuit, part: c.Switch, fault: Fault) -> Circuit:
    contact, ohm = placed_ohm(fault, contacts(part), "contact")
    worn = dict(part.worn_contacts)
    worn[contact] = worn.get(contact, 0.0) + ohm
    return circuit.with_parts(changed=[replace(part, worn_contacts=tuple(worn.items()))])


def _stuck(circuit: Circuit, part: c.Switch | c.Sender, fault: Fault) -> Circuit:
    positions = {p: p for p in part.positions}
    stuck = one_of(fault, fault.detail, positions, "position")
    return changed(circuit, part, fault, stuck=stuck)


def _relay_armature(*, make: str, rest: str) -> Apply[c.Relay]:
    """Which armature makes the working contact fail: `make` if that is 87, `rest` if 87a."""

    def apply(circuit: Circuit, part: c.Relay, fault: Fault) -> Circuit:
        no_detail(fault)
        armature = rest if part.contact == "break" else make
        return changed(circuit, part, fault, armature=armature)

    return apply


def _extra_ohm(circuit: Circuit, part: c.Relay | c.StarterSolenoid, fault: Fault) -> Circuit:
    ohm = part.extra_ohm + added_ohm(fault, fault.detail)
    return circuit.with_parts(changed=[replace(part, extra_ohm=ohm)])


# --- loads ----------------------------------------------------------------------------


def _wrong_lamp(circuit: Circuit, part: c.Lamp, fault: Fault) -> Circuit:
    watts = number(fault, fault.detail, 0.5, 250.0, "the watts of the wrong lamp")
    if watts == part.watts:
        raise InputError(f"fault {fault}: {part.watts:g} W is the right lamp for {part.id}")
    return changed(circuit, part, fault, fitted_watts=watts)


def _resistor_open(circuit: Circuit, part: c.Resistor, fault: Fault) -> Circuit:
    no_detail(fault)
    return circuit.with_parts(changed=[replace(part, ohm=inf)])


def _section_open(circuit: Circuit, part: c.ResistorPack, fault: Fault) -> Circuit:
    sections = {str(i + 1): i for i in range(len(part.ohms))}
    text = fault.detail or ("1" if len(sections) == 1 else "")
    index = one_of(fault, text, sections, "section")
    ohms = tuple(inf if i == index else ohm for i, ohm in enumerate(part.ohms))
    return circuit.with_parts(changed=[replace(part, ohms=ohms)])


def _sender_open(circuit: Circuit, part: c.Sender, fault: Fault) -> Circuit:
    no_detail(fault)
    return circuit.with_parts(changed=[replace(part, ohms=(inf,) * len(part.ohms))])


def _open_and_shorted(open_weight: float, shorted_weight: float) -> tuple[Mode, ...]:
    return (
        Mode("open", open_weight, becomes(condition="open")),
        Mode("shorted", shorted_weight, becomes(condition="shorted")),
    )


# --- the table ------------------------------------------------------------------------

MODES: dict[type[c.Part], tuple[Mode, ...]] = {
    c.Battery: (Mode("weak", 4.0, _battery_weak, usual.weak),),
    c.Wire: (
        Mode("open", 2.0, _wire_open),
        Mode("resistance", 2.0, _wire_resistance, usual.resistances),
        Mode("short-to-ground", 1.5, _wire_to_ground, usual.short_to_ground),
        Mode("short-to-supply", 0.5, _wire_to_supply, usual.short_to_supply),
        Mode("short-to", 0.5, _wire_to_wire, usual.touching),
        Mode("swapped", 0.3, _wire_swapped, usual.swapped),
    ),
    c.Alternator: (
        Mode("no-output", 2.0, becomes(condition="open")),
        Mode("rotor-open", 3.0, becomes(condition="rotor-open")),
    ),
    c.Connector: (
        Mode("open", 3.0, _cavity_open, usual.each_cavity),
        Mode("resistance", 4.0, _cavity_resistance, usual.cavity_resistances),
    ),
    c.Ground: (
        Mode("open", 3.0, _ground_open),
        Mode("resistance", 5.0, _ground_resistance, usual.resistances),
    ),
    c.Fuse: (
        Mode("blown", 6.0, becomes(condition="blown")),
        Mode("missing", 0.5, becomes(condition="missing")),
        Mode("wrong-rating", 0.5, _wrong_rating, usual.wrong_ratings),
    ),
    c.FusibleLink: (Mode("blown", 1.0, becomes(condition="blown")),),
    c.Breaker: (
        Mode("stuck-open", 2.0, becomes(condition="open")),
        Mode("welded", 0.5, becomes(condition="welded")),
    ),
    c.Switch: (
        Mode("open", 3.0, _switch_open, usual.each_contact),
        Mode("stuck", 1.0, _stuck, usual.each_position),
        Mode("resistance", 2.0, _switch_resistance, usual.contact_resistances),
    ),
    c.Relay: (
        Mode("coil-open", 2.0, becomes(coil="open")),
        Mode("coil-shorted", 0.5, becomes(coil="shorted")),
        Mode("welded", 1.0, _relay_armature(make="welded", rest="stuck")),
        Mode("not-making", 3.0, _relay_armature(make="stuck", rest="welded")),
        Mode("resistance", 2.0, _extra_ohm, usual.relay_resistances),
    ),
    c.StarterSolenoid: (
        Mode("pull-open", 1.0, becomes(pull="open")),
        Mode("hold-open", 1.0, becomes(hold="open")),
        Mode("welded", 1.0, becomes(plunger="welded")),
        Mode("not-making", 3.0, becomes(plunger="stuck")),
        Mode("resistance", 3.0, _extra_ohm, usual.relay_resistances),
    ),
    c.Flasher: (
        Mode("open", 3.0, becomes(condition="open")),
        Mode("welded", 1.0, becomes(condition="welded")),
    ),
    c.Resistor: (Mode("open", 1.0, _resistor_open),),
    c.ResistorPack: (Mode("open", 4.0, _section_open, usual.each_section),),
    c.Sender: (
        Mode("open", 2.0, _sender_open),
        Mode("stuck", 3.0, _stuck, usual.each_position),
    ),
    c.Lamp: (
        Mode("burned-out", 10.0, becomes(condition="open")),
        Mode("wrong-lamp", 1.0, _wrong_lamp, usual.wrong_lamps),
        Mode("shorted", 0.3, becomes(condition="shorted")),
    ),
    c.LedLamp: _open_and_shorted(3.0, 0.3),
    c.Motor: (
        Mode("open", 4.0, becomes(condition="open")),
        Mode("seized", 2.0, becomes(condition="seized")),
        Mode("shorted", 0.5, becomes(condition="shorted")),
    ),
    c.TwoSpeedMotor: (
        Mode("low-brush-open", 3.0, becomes(low_brush="open")),
        Mode("high-brush-open", 2.0, becomes(high_brush="open")),
        Mode("seized", 1.0, becomes(condition="seized")),
    ),
    c.Heater: _open_and_shorted(4.0, 0.3),
    c.Solenoid: _open_and_shorted(3.0, 0.5),
    c.Horn: _open_and_shorted(4.0, 0.3),
    c.Gauge: _open_and_shorted(2.0, 0.3),
    c.Diode: _open_and_shorted(1.0, 1.0),
}

FAULTLESS: dict[type[c.Part], str] = {
    c.Source: "an ideal source stands for a given voltage in a textbook network",
    c.Splice: "one point; a bad splice is an open or resistive end of a wire that meets there",
    c.Bridge: "exists only because a fault or a jumper made it",
}
