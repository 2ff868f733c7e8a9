"""An unwanted contact that several readings locate: what is alike whatever the complaint was.

1. each reading is what the instrument shows, safely and without doubt
2. of all single faults that explain the complaint, those that agree with every reading touch
   the key's section, and none touches another option's
3. every wrong section is ruled out by what it says: a reading no suspect in it would give, or
   the complaint, to which a contact there does not lead
4. the words and the figures are those of the circuit
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import isinf

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, inject
from quizgen.faults.wording import point_name
from quizgen.items.item import Item, Option, Reading
from quizgen.items.verify.act_text import check_state_told
from quizgen.items.verify.bench import Bench
from quizgen.items.verify.instruments import Display, look_at
from quizgen.items.verify.meter import shown_as
from quizgen.items.verify.printed import act_of
from quizgen.items.verify.words import FIGURE, controls_named, leads_mistold, told_of
from quizgen.solver import OperatingPoint

MOST_READINGS = 12
CONTACTS = ("short-to-ground", "short-to-supply", "short-to")
LAMP_VOLTS = (13.5, 28.0)
TOLD_OHM = 0.05  # how far a stated resistance may be off, beside a part in a hundred
BOUND = 0.02  # the same of a share of rated voltage
HALF_DIGIT = 0.051


@dataclass(frozen=True)
class Case:
    """The circuit, what is complained of, its suspects, and what every reading shows with each."""

    item: Item
    bench: Bench
    subject: c.Part  # the fuse that blows, the load that works
    hidden: Fault
    suspects: tuple[Fault, ...]
    shown: tuple[dict[Fault, Display], ...]  # by reading

    @property
    def circuit(self) -> Circuit:
        """The sound one."""
        return self.bench.circuit

    def rules_out(self, fault: Fault, reading: int) -> bool:
        """With that fault nobody could have seen what was seen."""
        one, other = self.shown[reading][fault], self.shown[reading][self.hidden]
        if one.doubts or other.doubts or one.unsafe or other.unsafe:
            return False
        if one.instrument == "test-lamp":
            return bool(one.sure and other.sure) and one.sure != other.sure
        low, high = sorted((one, other), key=lambda d: d.low)
        return one.shown != other.shown and high.low - low.high > _slack(low) + _slack(high)

    def left(self) -> list[Fault]:
        """Suspects that agree with every reading."""
        numbers = range(len(self.shown))
        return [f for f in self.suspects if not any(self.rules_out(f, n) for n in numbers)]


@dataclass(frozen=True)
class Story:
    """What differs between complaints: their contacts, what refutes, a figure of a part."""

    instruments: tuple[str, ...]
    contacts: Callable[[Circuit, frozenset[str]], list[Fault]]  # that a wrong section may have
    spared: Callable[[Case, Option, frozenset[str], Sequence[Fault]], Iterator[str]]
    figure: Callable[[OperatingPoint, c.Part], float]  # of the subject, in the item's own state


def _slack(display: Display) -> float:
    return 0.0 if isinf(display.low) else display.tolerance


def look(
    circuit: Circuit, item: Item, suspects: Sequence[Fault], hidden: Fault
) -> tuple[dict[Fault, Display], ...]:
    """What every reading shows with each fault. Raises InputError for one that cannot be taken."""
    faults = list(dict.fromkeys([hidden, *suspects]))
    faulty = [inject(circuit, fault) for fault in faults]
    found = []
    for reading in item.readings:
        act = act_of(reading, item)
        displays = look_at([(circuit, act) for circuit in faulty])
        found.append(dict(zip(faults, displays, strict=True)))
    return tuple(found)


def opened(point: OperatingPoint) -> list[c.Part]:
    """Protectors that have opened."""
    names = dict.fromkeys(e.part for e in point.events if e.change == "opens")
    return [point.circuit.by_id[part] for part in names]


# --- readings -------------------------------------------------------------------------


def check_reading(case: Case, number: int, story: Story) -> Iterator[str]:
    """All that is wrong with one reading."""
    reading, what = case.item.readings[number], f"reading {number + 1}"
    display = case.shown[number][case.hidden]
    if reading.instrument not in story.instruments:
        yield f"{what}: readings of a {reading.instrument} cannot be verified here"
        return
    objection = display.unsafe or display.pointless or ", ".join(display.doubts)
    if objection:
        yield f"{what}: {objection}"
    elif display.sure != reading.shown and _as_displayed(display) != reading.shown:
        yield f"{what}: the {reading.instrument} shows {display.shown}; printed: {reading.shown}"
    if not _near(_value(display), reading.volts, reading.instrument):
        yield f"{what}: its figure is {reading.volts:g}; worked out anew {_value(display):.3f}"
    yield from (f"{what}: {wrong}" for wrong in leads_mistold(case.circuit, reading))
    yield from _check_state(case, reading, what)


def _as_displayed(display: Display) -> str:
    """A voltage is printed without the sign of zero, whatever the last bit says."""
    return shown_as(display.low) if display.instrument == "voltmeter" else display.sure


def _value(display: Display) -> float:
    """Share of rated voltage, volts or ohm; −1 for OL."""
    return -1.0 if isinf(display.low) else display.low


def _near(value: float, stated: float, instrument: str) -> bool:
    if instrument == "voltmeter":
        return abs(value - stated) <= HALF_DIGIT
    if value < 0.0 or stated < 0.0:
        return value == stated
    near = TOLD_OHM + 0.01 * value if instrument == "ohmmeter" else BOUND
    return abs(value - stated) <= near


def _check_state(case: Case, reading: Reading, what: str) -> Iterator[str]:
    """The printed state names the controls moved, plugs apart and relays out for this one."""
    moves = dict(act_of(reading, case.item).moves)
    state = reading.state
    for part in reading.unplugged:  # "switch S1 unplugged" says nothing of how S1 stands
        state = state.replace(f"{part} unplugged", "")
    named = controls_named(case.circuit, state)
    for name in case.circuit.by_control:
        moved = name in moves
        if (name in named) != moved or (moved and not told_of(moves[name], reading.state)):
            yield f"{what}: its state {reading.state!r} does not fit {name}"
    stem = " ".join(case.item.stem)
    for part in (*reading.apart, *reading.removed, *reading.unplugged):
        if not told_of(part, reading.state) and not told_of(part, stem):
            yield f"{what}: it is not told that {part} is off or apart"
    apart = [p.id for p in case.circuit.parts if isinstance(p, c.Connector)]
    for part in apart:
        if told_of(part, reading.state) and part not in reading.apart:
            yield f"{what}: {part} is not apart"


def check_told(case: Case) -> Iterator[str]:
    """The stem says how the controls stand; the item is filed under what is at fault."""
    yield from check_state_told(case.circuit, case.item)
    if case.item.key_kind != "wire":
        yield f"the kind of part at fault is {case.item.key_kind}; it is a wire"


# --- options --------------------------------------------------------------------------


def section_of(circuit: Circuit, claim: str) -> frozenset[str]:
    """The nodes of the section that a claim names; empty if there is none with these ends."""
    ends = claim.removeprefix("between ").split(" and ")
    if not claim.startswith("between ") or any(e not in circuit.terminals_at for e in ends):
        return frozenset()
    joined = {ends[0]}
    wires = [p.nodes for p in circuit.parts if isinstance(p, c.Wire)]
    grown = True
    while grown:
        more = {n for pair in wires if joined & set(pair) for n in pair}
        grown = not more <= joined
        joined |= more
    kinds = {n: {type(circuit.by_id[p]) for p, _ in circuit.terminals_at[n]} for n in joined}
    real = {n for n, found in kinds.items() if found - {c.Wire, c.Splice}}
    return frozenset(joined) if real == set(ends) else frozenset()


def touches(circuit: Circuit, fault: Fault, section: frozenset[str]) -> bool:
    """The fault is an unwanted contact of a wire in the section."""
    wires = [fault.part, *([fault.detail] if fault.mode == "short-to" else [])]
    parts = [circuit.part(wire) for wire in wires] if fault.mode in CONTACTS else []
    return any(isinstance(p, c.Wire) and set(p.nodes) & section for p in parts)


def check_options(case: Case, story: Story) -> Iterator[str]:
    """Is the key certain, is every other section ruled out, are words and figures right?"""
    circuit, left = case.circuit, case.left()
    for option in case.item.options:
        section = section_of(circuit, option.claim)
        if not section:
            yield f"option {option.claim}: there is no such piece of wiring"
            continue
        names = [
            point_name(circuit, node, names=False)
            for node in option.claim.removeprefix("between ").split(" and ")
        ]
        text = f"Between {', '.join(names[:-1])} and {names[-1]}"
        if option.text != text:
            yield f"option {option.claim} reads {option.text!r}; the claim is {text!r}"
        inside = [f for f in left if touches(circuit, f, section)]
        if option.is_key:
            for fault in left:
                if fault not in inside:
                    yield f"{fault} fits all readings and is not in the key's section"
            if case.hidden not in inside:
                yield f"the key does not hold {case.hidden}, the fault put in"
        else:
            yield from (f"option {option.claim}: {f} fits all readings" for f in inside)
            yield from _check_refuted(case, option, section, story)
        yield from _check_figures(case, option, story)


def _check_refuted(
    case: Case, option: Option, section: frozenset[str], story: Story
) -> Iterator[str]:
    r, what = option.refuted_by, f"option {option.claim}"
    if r is None:
        yield f"{what}: nothing is said to refute it"
        return
    if r.claim != option.claim:
        yield f"{what}: its refutation is about {r.claim}"
    mine = [f for f in case.suspects if touches(case.circuit, f, section)]
    if r.reading == -1:
        yield from story.spared(case, option, section, mine)
    elif not 0 <= r.reading < len(case.shown):
        yield f"{what}: there is no reading {r.reading + 1}"
    elif not mine:
        yield f"{what}: no suspect lies there, so no reading rules one out"
    else:
        yield from (
            f"{what}: with {f} reading {r.reading + 1} may be the same"
            for f in mine
            if not case.rules_out(f, r.reading)
        )
        reading = case.item.readings[r.reading]
        if r.found != reading.shown:
            yield f"{what}: it says {r.found}, the reading is {reading.shown}"
        displays = [case.shown[r.reading][f] for f in mine]
        values = [_value(d) for d in displays]
        for name, stated, value in (("low", r.low, min(values)), ("high", r.high, max(values))):
            if not _near(value, stated, reading.instrument):
                yield f"{what}: the {name} bound is {stated:g}; worked out anew {value:.3f}"
        if not any(r.instead in d.shown for d in displays):
            yield f"{what}: no suspect there shows {r.instead!r}"


def _check_figures(case: Case, option: Option, story: Story) -> Iterator[str]:
    stated = []
    for figure in option.figures:
        value = _figure(case, figure.name, option, story)
        if value is None:
            yield f"option {option.claim}: {figure.name!r} is no figure of this item"
            continue
        stated.append(figure.value)
        near = HALF_DIGIT + (0.01 * value if figure.unit == "ohm" else 0.0)
        open_line = figure.unit == "ohm" and min(value, figure.value) < 0.0  # OL
        same = value == figure.value if open_line else abs(value - figure.value) <= near
        if not same:
            yield f"option {option.claim}: {figure.name} is {value:.2f}, not {figure.value:g}"
    for text in FIGURE.findall(" ".join(option.rationale)):
        printed = float(text.replace("\N{MINUS SIGN}", "-"))
        if not any(abs(printed - value) < 0.01 for value in stated):
            yield f"option {option.claim}: {text} V in its rationale is none of its figures"


def _figure(case: Case, name: str, option: Option, story: Story) -> float | None:
    """Volts or ohm at a reading with a fault; or the figure of the part complained of."""
    text, _, place = name.rpartition(" ")
    section = section_of(case.circuit, option.claim)
    known = {
        str(f): f for f in (case.hidden, *case.suspects, *story.contacts(case.circuit, section))
    }
    fault = known.get(text)
    if fault is None:
        return None
    if place == case.subject.id:
        point = case.bench.ways(fault)[0].point
        return story.figure(point, point.circuit.part(place))
    number = int(place) - 1 if place.isdecimal() else -1
    if not 0 <= number < len(case.shown) or fault not in case.shown[number]:
        return None
    display = case.shown[number][fault]
    if display.instrument == "test-lamp":
        return display.high * LAMP_VOLTS[case.circuit.system_volts > 18.0]
    return _value(display)
