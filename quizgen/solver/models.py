"""How each component kind conducts: the table from component class to `PartModel`.

To add a kind: a function here that turns the component into its branches, states and flows,
and a line in MODELS.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import inf
from typing import TypeVar

from quizgen.circuit import components as c
from quizgen.solver.laws import DiodeLaw, FilamentLaw, MotorLaw
from quizgen.solver.part_model import (
    Armature,
    Blinks,
    Branch,
    Charges,
    Flow,
    Follows,
    Gate,
    Heats,
    PartModel,
)

SHORTED_OHM = 0.02  # a winding or filament bridged inside (from memory: a few hundredths)
SHORTED_COIL_OHM = 0.5  # a burnt relay coil that has melted together (from memory)
EXCITER_OHM = 0.5  # exciter diodes of a charging alternator (from memory)
SENSE_OHM = 10_000.0  # what a regulator's sense terminal takes (from memory)
SHORTED_WINDING_SHARE = 0.2  # of the stall resistance left when turns touch (from memory)


def siemens(ohm: float) -> float:
    """1/ohm with the ideal cases kept: 0 ohm → inf, inf ohm → 0."""
    return inf if ohm == 0 else 0.0 if ohm == inf else 1.0 / ohm


def plain(part: c.Part, flow: Flow, state: str = "") -> PartModel:
    """A part that is one branch between its first two terminals, in one state."""
    branch = Branch("", part.nodes[0], part.nodes[1])
    return PartModel((branch,), (state,), ((flow,),))


def _by_condition(part: c.Part, condition: str, good: Flow) -> PartModel:
    flows = {"good": good, "open": Flow(0.0), "shorted": Flow(1.0 / SHORTED_OHM)}
    return plain(part, flows[condition])


def _battery(p: c.Battery) -> PartModel:
    return plain(p, Flow(siemens(p.internal_ohm), p.emf_volts))


def _source(p: c.Source) -> PartModel:
    return plain(p, Flow(inf, p.volts))


def _connector(p: c.Connector) -> PartModel:
    branches = tuple(Branch(n, p.node(n + "a"), p.node(n + "b")) for n in p.cavities)
    flows = tuple(Flow(0.0 if p.apart else siemens(ohm)) for ohm in p.cavity_ohm)
    return PartModel(branches, ("apart" if p.apart else "joined",), (flows,))


def _splice(p: c.Splice) -> PartModel:
    return PartModel((), ("",), ((),))


def _ohmic(p: c.Wire | c.Ground | c.Bridge | c.Resistor) -> PartModel:
    return plain(p, Flow(siemens(p.ohm)))


def _protector(p: c.Part, ohm: float, mover: Heats, open_ohm: float = inf) -> PartModel:
    branch = Branch("", *p.nodes)
    flows = ((Flow(siemens(ohm)),), (Flow(siemens(open_ohm)),))
    return PartModel((branch,), ("intact", "open"), flows, mover)


def _fuse(p: c.Fuse) -> PartModel:
    if p.condition != "good":
        return plain(p, Flow(0.0), "open")
    return _protector(p, p.ohm, Heats(p.fitted_amps or p.amps))


def _fusible_link(p: c.FusibleLink) -> PartModel:
    if p.condition != "good":
        return plain(p, Flow(0.0), "open")
    # a link outlasts the fuses behind it (from memory: several times slower at equal overload)
    return _protector(p, p.ohm, Heats(p.amps, slow=5.0))


def _breaker(p: c.Breaker) -> PartModel:
    if p.condition != "good":
        return plain(p, Flow(siemens(p.ohm if p.condition == "welded" else inf)), p.condition)
    # a bimetal is slower than a blade fuse of its rating (from memory)
    if p.reset == "automatic":
        return _protector(p, p.ohm, Heats(p.amps, p.reset_seconds, slow=3.0))
    if p.reset == "held":
        mover = Heats(p.amps, p.reset_seconds, hold_volts=3.0, slow=3.0)
        return _protector(p, p.ohm, mover, p.heater_ohm)
    return _protector(p, p.ohm, Heats(p.amps, slow=3.0))


def _switch(p: c.Switch) -> PartModel:
    worn = dict(p.worn_contacts)
    contacts = p.contacts
    branches = tuple(Branch(f"{k.a}-{k.b}", p.node(k.a), p.node(k.b)) for k in contacts)
    ohms = [inf if k in p.open_contacts else p.contact_ohm + worn.get(k, 0.0) for k in contacts]
    rows = []
    for position in p.positions:
        closed = p.closes[p.positions.index(p.stuck or position)]
        rows.append(
            tuple(
                Flow(siemens(ohm) if k in closed else 0.0)
                for k, ohm in zip(contacts, ohms, strict=True)
            )
        )
    return PartModel(branches, p.positions, tuple(rows), Follows(p.control))


def _relay(p: c.Relay) -> PartModel:
    coil_ohm = {"good": p.coil_ohm, "open": inf, "shorted": SHORTED_COIL_OHM}[p.coil]
    branches = [Branch("coil", p.node("86"), p.node("85"))]
    fixed = [Flow(siemens(coil_ohm))]
    if p.suppression == "resistor":
        branches.append(Branch("suppression", p.node("86"), p.node("85")))
        fixed.append(Flow(siemens(p.suppression_ohm)))
    elif p.suppression == "diode":
        branches.append(Branch("suppression", p.node("85"), p.node("86")))
        fixed.append(Flow(0.0, law=DiodeLaw(0.7, 1 / 0.05)))
    throws = [t for t in ("87", "87a") if t in p.terminals]
    branches += [Branch(f"30-{t}", p.node("30"), p.node(t)) for t in throws]
    burnt = throws[0]  # the contact that switches the load
    rows = []
    for pulled in (False, True):
        at_make = p.armature == "welded" or (pulled and p.armature != "stuck")
        ohms = [p.contact_ohm + (p.extra_ohm if t == burnt else 0.0) for t in throws]
        closed = [(t == "87") == at_make for t in throws]
        rows.append(
            (*fixed, *(Flow(siemens(o) if on else 0.0) for o, on in zip(ohms, closed, strict=True)))
        )
    pull_in = p.pull_in_volts if p.coil == "good" else inf
    drop_out = p.drop_out_volts if p.coil == "good" else inf
    gate = Gate(p.timer, "running") if p.timer else None
    mover = Armature(((0, 1.0),), pull_in, drop_out, gate)
    return PartModel(tuple(branches), ("rest", "pulled"), tuple(rows), mover)


def _alternator(p: c.Alternator) -> PartModel:
    case = p.node("31")
    branches = [Branch("output", p.node("B+"), case), Branch("exciter", p.node("D+"), case)]
    if p.sensed:
        branches.append(Branch("sense", p.node("S"), case))
    sense = [Flow(1.0 / SENSE_OHM)] if p.sensed else []
    rotor = Flow(siemens(p.rotor_ohm) if p.condition != "rotor-open" else 0.0)
    output = 0.0 if p.condition == "open" else siemens(p.internal_ohm)
    rows = [(Flow(0.0), rotor, *sense)]  # its diodes block while it stands still
    for volts in (p.volts, p.unsensed_volts):
        rows.append((Flow(output, volts), Flow(1.0 / EXCITER_OHM, volts), *sense))
    mover = Charges(
        Gate(p.control, p.running), exciter=1, excite_amps=p.excite_amps,
        sense=2 if p.sensed else None, least_sense_volts=0.6 * p.volts,
    )  # fmt: skip
    return PartModel(tuple(branches), ("still", "charging", "overcharging"), tuple(rows), mover)


def _starter_solenoid(p: c.StarterSolenoid) -> PartModel:
    branches = (
        Branch("pull-in", p.node("50"), p.node("45")),
        Branch("hold-in", p.node("50"), p.node("31")),
        Branch("30-45", p.node("30"), p.node("45")),
    )
    pull = Flow(siemens(p.pull_ohm) if p.pull == "good" else 0.0)
    hold = Flow(siemens(p.hold_ohm) if p.hold == "good" else 0.0)
    rows = []
    for pulled in (False, True):
        closed = p.plunger == "welded" or (pulled and p.plunger != "stuck")
        contact = siemens(p.contact_ohm + p.extra_ohm) if closed else 0.0
        rows.append((pull, hold, Flow(contact)))
    # an open winding sees voltage across its gap and still does not pull
    shares = ((0, 1.0 * (p.pull == "good")), (1, p.hold_share * (p.hold == "good")))
    mover = Armature(shares, p.pull_in_volts, p.drop_out_volts, felt=1)
    return PartModel(branches, ("rest", "pulled"), tuple(rows), mover)


def _flasher(p: c.Flasher) -> PartModel:
    branches = [Branch("49-49a", p.node("49"), p.node("49a"))]
    own = []
    if p.style == "electronic":
        branches.append(Branch("electronics", p.node("49"), p.node("31")))
        own = [Flow(siemens(p.supply_ohm))]
    closed, parted = Flow(siemens(p.contact_ohm)), Flow(0.0)
    if p.condition != "good":
        fixed = closed if p.condition == "welded" else parted
        return PartModel(tuple(branches), (p.condition,), ((fixed, *own),))
    mover = Blinks(p.on_seconds, p.off_seconds, p.least_amps, 1 if own else None)
    rows = ((closed, *own), (parted, *own), (parted, *own))
    return PartModel(tuple(branches), ("closed", "open", "briefly open"), rows, mover)


def _resistor_pack(p: c.ResistorPack) -> PartModel:
    branches = tuple(
        Branch(f"{i + 1}-{i + 2}", p.nodes[i], p.nodes[i + 1]) for i in range(len(p.ohms))
    )
    return PartModel(branches, ("",), (tuple(Flow(siemens(o)) for o in p.ohms),))


def _sender(p: c.Sender) -> PartModel:
    ohms = [p.ohms[p.positions.index(p.stuck or q)] for q in p.positions]
    rows = tuple((Flow(siemens(o)),) for o in ohms)
    return PartModel((Branch("", *p.nodes),), p.positions, rows, Follows(p.control))


def _lamp(p: c.Lamp) -> PartModel:
    amps = (p.fitted_watts or p.watts) / p.volts
    law = FilamentLaw(amps, p.volts, p.cold_ratio * amps / p.volts)
    return _by_condition(p, p.condition, Flow(law.guess_siemens, law=law))


def _led_lamp(p: c.LedLamp) -> PartModel:
    amps = p.watts / p.volts
    law = DiodeLaw(p.forward_volts, amps / (p.volts - p.forward_volts))
    return _by_condition(p, p.condition, Flow(0.0, law=law))


def _motor(p: c.Motor) -> PartModel:
    law = MotorLaw(p.volts, p.run_amps, p.stall_amps, p.friction)
    stall = p.stall_amps / p.volts
    flows = {
        "good": Flow(law.guess_siemens, law=law),
        "open": Flow(0.0),
        "seized": Flow(stall),
        "shorted": Flow(stall / SHORTED_WINDING_SHARE),
    }
    return plain(p, flows[p.condition])


def _two_speed_motor(p: c.TwoSpeedMotor) -> PartModel:
    back = p.node("31")
    branches = (Branch("low", p.node("53"), back), Branch("high", p.node("53i"), back))
    flows = []
    for amps, brush in ((p.low_amps, p.low_brush), (p.high_amps, p.high_brush)):
        law = MotorLaw(p.volts, amps, p.stall_amps, p.friction)
        turning = Flow(law.guess_siemens, law=law)
        seized = Flow(p.stall_amps / p.volts)
        flow = turning if p.condition == "good" else seized
        flows.append(flow if brush == "good" else Flow(0.0))
    return PartModel(branches, ("",), (tuple(flows),))


def _gauge(p: c.Gauge) -> PartModel:
    return _by_condition(p, p.condition, Flow(siemens(p.ohm)))


def _heater(p: c.Heater) -> PartModel:
    return _by_condition(p, p.condition, Flow(p.watts / p.volts**2))


def _solenoid(p: c.Solenoid) -> PartModel:
    return _by_condition(p, p.condition, Flow(siemens(p.ohm)))


def _horn(p: c.Horn) -> PartModel:
    return _by_condition(p, p.condition, Flow(p.amps / p.volts))


def _diode(p: c.Diode) -> PartModel:
    law = DiodeLaw(p.forward_volts, 1.0 / p.on_ohm)
    return _by_condition(p, p.condition, Flow(0.0, law=law))


P = TypeVar("P", bound=c.Part)
MODELS: dict[type[c.Part], Callable[[c.Part], PartModel]] = {}


def _register(kind: type[P], build: Callable[[P], PartModel]) -> None:
    MODELS[kind] = build  # type: ignore[assignment]  # the key guarantees the argument's class


_register(c.Battery, _battery)
_register(c.Source, _source)
_register(c.Alternator, _alternator)
_register(c.Wire, _ohmic)
_register(c.Connector, _connector)
_register(c.Splice, _splice)
_register(c.Ground, _ohmic)
_register(c.Bridge, _ohmic)
_register(c.Fuse, _fuse)
_register(c.FusibleLink, _fusible_link)
_register(c.Breaker, _breaker)
_register(c.Switch, _switch)
_register(c.Relay, _relay)
_register(c.StarterSolenoid, _starter_solenoid)
_register(c.Flasher, _flasher)
_register(c.Resistor, _ohmic)
_register(c.ResistorPack, _resistor_pack)
_register(c.Sender, _sender)
_register(c.Lamp, _lamp)
_register(c.LedLamp, _led_lamp)
_register(c.Motor, _motor)
_register(c.TwoSpeedMotor, _two_speed_motor)
_register(c.Gauge, _gauge)
_register(c.Heater, _heater)
_register(c.Solenoid, _solenoid)
_register(c.Horn, _horn)
_register(c.Diode, _diode)


@lru_cache(maxsize=50_000)
def part_model(part: c.Part) -> PartModel:
    """The model of `part`. Parts are frozen, so equal parts share one model."""
    return MODELS[type(part)](part)
