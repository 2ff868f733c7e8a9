"""The verifier's own instruments: what an act on a circuit shows, and whether it may be done.

An instrument is what it is made of, put between the tips once the controls are set; what it
shows is worked out from its own volts and amps. Figures of the instruments are those of
ordinary hand-held ones (common practice, no source); the test lamp is a W3W of UN R37 (from
memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import copysign, inf, isinf, log10

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.reach import Pair
from quizgen.items.act import Act
from quizgen.items.verify import misuse
from quizgen.items.verify.meter import METER_OHM, MINUS
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import observe_load

LEAD, TIP, MIDDLE = "~lead", "~tip", "~middle"
BRIGHTNESS = {"dark": "dark", "dim": "glows dim", "bright": "lit bright"}
OHM_RANGES = tuple(200.0 * 10.0**k for k in range(6))  # ohm, 2000 counts each
COUNTS = 2000
DOUBTFUL_OHM = 19e6  # from here one meter shows a figure and the next OL
MOST_VOLTS = 199.9
NO_DIGIT = 1e-7  # of a display: more than the solver's error, less than anybody sees

Objection = Callable[[OperatingPoint, Pair], str]


@dataclass(frozen=True, kw_only=True)
class Display:
    """What an instrument shows. `shown` has more than one text where it swings.

    `low` and `high` bound the figure behind it: volts, ohm (inf for OL), ampere, or share of
    the rated voltage of a lamp. Another instrument of the same make may be off by `tolerance`.
    `unsafe` says why nobody may do it; then there is nothing else. `pointless` says why it
    tells nothing, or less than it seems. `doubts` are reasons why somebody might see something
    else. `point` is the circuit with the instrument on it.
    """

    instrument: str
    shown: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 0.0
    tolerance: float = 0.0
    unsafe: str = ""
    pointless: str = ""
    doubts: tuple[str, ...] = ()
    point: OperatingPoint | None = field(default=None, compare=False, repr=False)

    @property
    def sure(self) -> str:
        """The one thing that everybody would see; "" where there is none."""
        one = len(self.shown) == 1 and not self.unsafe and not self.doubts
        return self.shown[0] if one else ""


@dataclass(frozen=True)
class Glance:
    """One look: display, figure behind it, tolerance, whether two people might differ."""

    shown: str
    value: float
    tolerance: float
    doubt: str = ""


@dataclass(frozen=True)
class Instrument:
    """What is put between the tips, how it is read, what speaks against using it."""

    parts: Callable[[Circuit, str], tuple[c.Part, ...]]  # from `~tip` to the black lead
    read: Callable[[OperatingPoint, str], Glance]  # the second is the wire of a clamp
    unsafe: Objection
    pointless: Objection
    around: bool = False  # a clamp: touches nothing


def look(circuit: Circuit, act: Act) -> Display:
    """What `act` shows on `circuit`, its faults already in it.

    Raises InputError for an instrument, point, part, control or position that there is not, or
    both leads on one point, CircuitError for a circuit that cannot be solved.
    """
    return look_at([(circuit, act)])[0]


def look_at(asked: Sequence[tuple[Circuit, Act]]) -> list[Display]:
    """`look` at many variations of one circuit, solved together."""
    if not asked:
        return []
    fitted = [_fit(circuit, act) for circuit, act in asked]
    cases = []
    for i, (_, act) in enumerate(asked):
        cases += [(i, act.moves), (i, (*act.moves, (LEAD, "on")))]
    solutions = solve_cases([circuit for circuit, _ in fitted], cases)
    return [
        _display(act, tips, solutions.point(2 * i), solutions.point(2 * i + 1))
        for i, ((_, act), (_, tips)) in enumerate(zip(asked, fitted, strict=True))
    ]


def taken_apart(circuit: Circuit, act: Act) -> Circuit:
    """The circuit once everything has been taken apart that `act` says.

    A part that is off keeps its inside, between points of its own: `M1/1` and `M1/2`. Raises
    InputError for a part that cannot be taken off or apart.
    """
    changed: list[c.Part] = []
    for name in dict.fromkeys(act.apart):
        part = circuit.part(name)
        if not isinstance(part, c.Connector):
            raise InputError(f"{circuit.name}: {name} is no connector and does not come apart")
        changed.append(replace(part, apart=True))
    for name in dict.fromkeys((*act.removed, *act.unplugged)):
        part = circuit.part(name)
        if isinstance(part, c.Splice | c.Ground | c.Bridge):
            raise InputError(f"{circuit.name}: {name} cannot be taken off")
        changed.append(replace(part, nodes=tuple(f"{name}/{t}" for t in part.terminals)))
    return circuit.with_parts(changed=changed)


def point_of(circuit: Circuit, text: str) -> str:
    """The node at a tip. `M1.1` is where the wires end, be M1 on them or not.

    Raises InputError if there is none, or nothing is left there.
    """
    part = circuit.by_id.get(text.rpartition(".")[0])
    node = circuit.point(text)
    if part is not None and text != node and node.startswith(f"{part.id}/"):
        raise InputError(f"{circuit.name}: nothing is left at {text} with {part.id} off")
    return node


def _fit(circuit: Circuit, act: Act) -> tuple[Circuit, Pair]:
    """The circuit with the instrument at hand, its red lead still off; and the tips."""
    instrument = INSTRUMENTS.get(act.instrument)
    if instrument is None:
        raise InputError(f"there is no instrument {act.instrument!r}")
    ready = taken_apart(circuit, act)
    if instrument.around:
        wire = ready.part(act.red)
        if act.black or not isinstance(wire, c.Wire):
            raise InputError(f"{circuit.name}: a clamp goes around one wire, not {act.red!r}")
        return _with_lead(ready, wire.nodes[0], ()), (wire.nodes[0], wire.nodes[1])
    red, black = point_of(ready, act.red), point_of(ready, act.black)
    if red == black:
        raise InputError(f"{circuit.name}: both leads are on {red}")
    return _with_lead(ready, red, instrument.parts(ready, black)), (red, black)


def _with_lead(circuit: Circuit, red: str, parts: tuple[c.Part, ...]) -> Circuit:
    """The red lead touches last, all controls being set: relays remember what was before."""
    touch = c.Switch(
        id=LEAD, nodes=(red, TIP), pins=("1", "2"), positions=("off", "on"), control=LEAD,
        closes=((), (c.Contact(a="1", b="2"),)), contact_ohm=1e-4,
    )  # fmt: skip
    control = Control(name=LEAD, positions=("off", "on"), rest="off")
    fitted = circuit.with_parts(added=(touch, *parts))
    return replace(fitted, controls=(*fitted.controls, control))


def _display(act: Act, tips: Pair, bare: OperatingPoint, point: OperatingPoint) -> Display:
    instrument = INSTRUMENTS[act.instrument]
    unsafe = instrument.unsafe(bare, tips)
    if unsafe:
        return Display(instrument=act.instrument, unsafe=unsafe)
    points = [phase.point for phase in point.phases] or [point]
    glances = [instrument.read(p, act.red) for p in points]
    doubts = (*point.ambiguous, *(g.doubt for g in glances if g.doubt))
    return Display(
        instrument=act.instrument,
        shown=tuple(dict.fromkeys(g.shown for g in glances)),
        low=min(g.value for g in glances),
        high=max(g.value for g in glances),
        tolerance=max(g.tolerance for g in glances),
        pointless=instrument.pointless(bare, tips),
        doubts=tuple(dict.fromkeys(doubts)),
        point=point,
    )


# --- figures as they are printed -------------------------------------------------------------


def decimal(value: float, decimals: int, unit: str) -> str:
    """A figure with its unit, halves away from zero, a true minus, no minus zero.

    >>> decimal(-12.65, 1, "V"), decimal(-0.04, 1, "V"), decimal(0.125, 2, "A")
    ('−12.7 V', '0.0 V', '0.13 A')
    """
    text = f"{abs(value) + NO_DIGIT:.{decimals}f}"
    return f"{MINUS if value < 0 and float(text) else ''}{text} {unit}"


def ohm_shown(ohm: float) -> tuple[str, float]:
    """What an autoranging meter of 2000 counts shows, and the worth of its last digit.

    >>> [ohm_shown(ohm)[0] for ohm in (0.04, 85.0, 680.0, 4700.0, 1.5e6, 3e7)]
    ['0.0 Ω', '85.0 Ω', '680 Ω', '4.70 kΩ', '1.500 MΩ', 'OL']
    """
    for top in OHM_RANGES:
        digit = top / COUNTS
        if ohm < top - digit / 2:
            prefix, per = ("MΩ", 1e6) if top > 2e5 else ("kΩ", 1e3) if top > 2e3 else ("Ω", 1.0)
            return decimal(ohm / per, round(-log10(digit / per)), prefix), digit
    return "OL", 0.0


# --- the instruments -------------------------------------------------------------------------


def _nothing(bare: OperatingPoint, tips: Pair) -> str:
    return ""


def _own(point: OperatingPoint, name: str) -> tuple[float, float]:
    """Volts and amps of one of the instrument's own parts."""
    flow = point.flows(point.circuit.part(name))[0]
    return flow.volts or 0.0, flow.amps


def _volts(decimals: int, most: float) -> Callable[[OperatingPoint, str], Glance]:
    def read(point: OperatingPoint, _: str) -> Glance:
        volts, _amps = _own(point, "~meter")
        if abs(volts) > most:
            return Glance("OL", copysign(inf, volts), 0.0)
        return Glance(decimal(volts, decimals, "V"), volts, 0.005 * abs(volts) + 10.0**-decimals)

    return read


def _light(point: OperatingPoint, _: str) -> Glance:
    seen = observe_load(point, point.circuit.part("~bulb"))
    doubt = "nobody can say how bright that is" if seen.doubtful else ""
    return Glance(BRIGHTNESS[seen.level], seen.share, 0.0, doubt)


def _ohm(point: OperatingPoint, _: str) -> Glance:
    """Its own volts and amps: what stands outside, between the tips, is the ratio."""
    inside, amps = _own(point, "~inside")
    outside = TEST_VOLTS - inside
    ohm = outside / amps if amps > TEST_VOLTS / 1e12 else inf
    shown, digit = ohm_shown(max(ohm, 0.0))
    tolerance = 0.01 * ohm + 2.0 * digit if not isinf(ohm) else 0.0
    doubt = "at the end of its range" if DOUBTFUL_OHM < ohm < 4.0 * DOUBTFUL_OHM else ""
    return Glance(shown, inf if shown == "OL" else max(ohm, 0.0), tolerance, doubt)


def _amps(point: OperatingPoint, _: str) -> Glance:
    if point.state(point.circuit.part("~fuse")) == "open":
        return Glance("0.00 A, meter fuse blown", 0.0, 0.03)
    _volts_across, amps = _own(point, "~shunt")
    return Glance(decimal(amps, 2, "A"), amps, 0.015 * abs(amps) + 0.03)


def _around(point: OperatingPoint, wire: str) -> Glance:
    _volts_along, amps = _own(point, wire)
    return Glance(decimal(abs(amps), 1, "A"), abs(amps), 0.025 * abs(amps) + 0.3)


def _holds(point: OperatingPoint, _: str) -> Glance:
    blown = point.state(point.circuit.part("~fuse")) == "open"
    _volts_across, amps = _own(point, "~shunt")
    return Glance("jumper fuse blown" if blown else "jumper fuse holds", abs(amps), 0.0)


TEST_VOLTS, INSIDE_OHM = 0.2, 500.0  # too little to wake a diode, a relay or a filament


def _meter(circuit: Circuit, black: str) -> tuple[c.Part, ...]:
    return (c.Bridge(id="~meter", nodes=(TIP, black), ohm=METER_OHM),)


def _bulb(circuit: Circuit, black: str) -> tuple[c.Part, ...]:
    volts = 28.0 if circuit.system_volts >= 20.0 else 13.5
    return (c.Lamp(id="~bulb", nodes=(TIP, black), watts=3.0, volts=volts),)


def _bulb_and_cells(circuit: Circuit, black: str) -> tuple[c.Part, ...]:
    """Two cells of 1.5 V and half an ohm each, plus towards the red lead."""
    bulb = c.Lamp(id="~bulb", nodes=(MIDDLE, TIP), watts=2.5 * 0.3, volts=2.5)
    cells = c.Battery(id="~cells", nodes=(MIDDLE, black), emf_volts=3.0, internal_ohm=1.0)
    return bulb, cells


def _ohm_source(circuit: Circuit, black: str) -> tuple[c.Part, ...]:
    inside = c.Resistor(id="~inside", nodes=(MIDDLE, TIP), ohm=INSIDE_OHM)
    return inside, c.Source(id="~cells", nodes=(MIDDLE, black), volts=TEST_VOLTS)


def _shunt(circuit: Circuit, black: str) -> tuple[c.Part, ...]:
    """Ten milliohm behind a fuse of 10 A: an ammeter, and as good as a jumper of a metre."""
    fuse = c.Fuse(id="~fuse", nodes=(TIP, MIDDLE), amps=10.0, ohm=0.007)
    return fuse, c.Bridge(id="~shunt", nodes=(MIDDLE, black), ohm=0.01)


INSTRUMENTS = {
    "voltmeter": Instrument(_meter, _volts(1, MOST_VOLTS), _nothing, misuse.dead),
    "voltmeter-2V": Instrument(_meter, _volts(3, 1.999), _nothing, misuse.dead),
    "test-lamp": Instrument(_bulb, _light, _nothing, misuse.dead),
    "ohmmeter": Instrument(_ohm_source, _ohm, misuse.live, misuse.connected),
    "self-powered-lamp": Instrument(_bulb_and_cells, _light, misuse.live, misuse.connected),
    "ammeter": Instrument(
        _shunt, _amps, misuse.shorts, lambda bare, tips: misuse.joined(bare, tips) or
        misuse.dead(bare, tips),
    ),
    "clamp-ammeter": Instrument(_meter, _around, _nothing, misuse.dead, around=True),
    "fused-jumper": Instrument(_shunt, _holds, misuse.shorts, _nothing),
}  # fmt: skip
