"""How each component kind conducts: its branches, its discrete states, what moves them.

A *branch* is a two-terminal conductor with current i = g (v_a − v_b − e) from a to b.
A part has the same branches in all its states; only g, e and the law change.
g = inf is an ideal joint (or, with e, an ideal source).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import inf
from typing import ClassVar, TypeVar

from quizgen.circuit import components as c
from quizgen.solver.laws import DiodeLaw, FilamentLaw, Law, MotorLaw

SHORTED_OHM = 0.02  # a winding or filament bridged inside (from memory: a few hundredths)
SHORTED_COIL_OHM = 0.5  # a burnt relay coil that has melted together (from memory)
SHORTED_WINDING_SHARE = 0.2  # of the stall resistance left when turns touch (from memory)


@dataclass(frozen=True)
class Flow:
    """What one branch does in one state."""

    siemens: float
    volts: float = 0.0
    law: Law | None = None


@dataclass(frozen=True)
class Branch:
    """A branch of a part: its name within the part ("" if it is the only one) and its nodes."""

    name: str
    a: str
    b: str


@dataclass(frozen=True)
class Follows:
    """The state is the position of a control."""

    control: str


@dataclass(frozen=True)
class Gate:
    """A mover with a gate can act only while `control` stands at `position`."""

    control: str
    position: str


@dataclass(frozen=True)
class Armature:
    """States rest, pulled: moved by the voltages across its coils, each with its share."""

    coils: tuple[tuple[int, float], ...]  # (branch, share)
    pull_in_volts: float
    drop_out_volts: float
    gate: Gate | None = None
    felt: int = 0  # branch whose voltage an event tells
    felt_name: ClassVar[str] = "coil"
    changes: ClassVar[tuple[str, str]] = ("drops out", "pulls in")


@dataclass(frozen=True)
class Charges:
    """States still, charging, overcharging: an alternator, see `movers.charging_wants`."""

    gate: Gate | None
    exciter: int
    excite_amps: float
    sense: int | None
    least_sense_volts: float = 8.0
    felt: int = 0
    felt_name: ClassVar[str] = "output"
    changes: ClassVar[tuple[str, str]] = ("stops charging", "charges")


@dataclass(frozen=True)
class Blinks:
    """States closed, open, briefly open: a flasher, see `movers.blinks_next`."""

    on_seconds: float
    off_seconds: float
    least_amps: float
    supply: int | None  # branch of the electronics, None for a thermal flasher
    least_volts: float = 7.0
    gate: None = None


@dataclass(frozen=True)
class Heats:
    """States closed, open: a protector that opens by the current in branch 0.

    `reset_seconds` inf: stays open. `hold_volts`: stays open while at least this is across it.
    """

    amps: float
    reset_seconds: float = inf
    hold_volts: float = inf
    slow: float = 1.0  # opening times as a multiple of those of a blade fuse
    gate: None = None


Mover = Follows | Armature | Charges | Heats | Blinks


@dataclass(frozen=True)
class PartModel:
    """`flows[s][b]` is branch b in state s; `states[0]` is the state at rest."""

    branches: tuple[Branch, ...]
    states: tuple[str, ...]
    flows: tuple[tuple[Flow, ...], ...]
    mover: Mover | None = None


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
    mover = Armature(((0, 1.0),), pull_in, drop_out)
    return PartModel(tuple(branches), ("rest", "pulled"), tuple(rows), mover)


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
_register(c.Resistor, _ohmic)
_register(c.ResistorPack, _resistor_pack)
_register(c.Sender, _sender)
_register(c.Lamp, _lamp)
_register(c.LedLamp, _led_lamp)
_register(c.Motor, _motor)
_register(c.Heater, _heater)
_register(c.Solenoid, _solenoid)
_register(c.Horn, _horn)
_register(c.Diode, _diode)


@lru_cache(maxsize=50_000)
def part_model(part: c.Part) -> PartModel:
    """The model of `part`. Parts are frozen, so equal parts share one model."""
    return MODELS[type(part)](part)
