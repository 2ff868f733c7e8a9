"""Verifies "where does the unwanted contact lie" of a load that works unbidden.

Besides what `contacts` checks: the fault put in is an unwanted contact of a wire; it surely sets
the loads to work that the item tells of, and no others, and opens no protector; each reading is
taken across one of these loads, with no protector opening for it; a contact with supply or with
the frame in a section that the complaint rules out leaves that load idle.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, parse_fault, universe
from quizgen.items.item import Item, Option
from quizgen.items.verify.bench import SCALES, Bench, Benches
from quizgen.items.verify.contacts import (
    CONTACTS,
    Case,
    Story,
    check_options,
    check_reading,
    check_told,
    look,
    opened,
)
from quizgen.items.verify.stillness import restless, smoking
from quizgen.items.verify.words import told_of
from quizgen.solver import OperatingPoint

IDLE = frozenset(scale[0] for scale in SCALES) | {"stopped"}
MAY_STAY = (c.Lamp, c.LedLamp)  # connected while somebody works on the machine


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with such an item. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    hidden = parse_fault(item.origin.fault)
    load = _load_of(item, bench.circuit)
    yield from _check_complaint(item, bench, hidden)
    case = case_of(item, bench, load, hidden)
    yield from _check_words(case)
    for number in range(len(item.readings)):
        yield from _check_place(case, number)
        yield from check_reading(case, number, STORY)
    yield from check_options(case, STORY)


def case_of(item: Item, bench: Bench, load: c.Part, hidden: Fault) -> Case:
    """Everything worked out anew. Raises InputError for readings that cannot be taken.

    A protector that opens in a reading stays open in the next ones: what a suspect then shows
    rules it out no more.
    """
    suspects = tuple(_suspects(bench, load.id))
    shown = look(bench.circuit, item, suspects, hidden)
    for number, displays in enumerate(shown):
        for fault, display in displays.items():
            if display.point is not None and opened(display.point):
                for later in shown[number:]:
                    later[fault] = replace(later[fault], doubts=("a protector has opened",))
    return Case(item, bench, load, hidden, suspects, shown)


def _load_of(item: Item, circuit: Circuit) -> c.Part:
    """The load that is looked at: the one across which the first reading is taken."""
    first = item.readings[0]
    for observed in item.proof.observed:
        part = circuit.part(observed.part)
        if isinstance(part, c.LOADS) and set(part.nodes[:2]) == {first.red_node, first.black_node}:
            return part
    raise InputError(
        f"reading 1: {first.red_node} and {first.black_node} are not the two sides of a load "
        "that is said to work"
    )


def _suspects(bench: Bench, load: str) -> Iterator[Fault]:
    """Single faults with which the load works or may work in the item's state."""
    faults = [w.fault for w in universe(bench.circuit)]
    bench.prepare(faults)
    for fault in faults:
        if any(bench.levels(load, ((way,),)) - IDLE for way in bench.ways(fault)):
            yield fault


def _check_complaint(item: Item, bench: Bench, hidden: Fault) -> Iterator[str]:
    """What is said to work does, should not, and everything else is as it should be."""
    circuit, ways = bench.circuit, bench.ways(hidden)
    if hidden.mode not in CONTACTS or not isinstance(circuit.part(hidden.part), c.Wire):
        yield f"{hidden} is no unwanted contact of a wire"
    point = ways[0].point
    yield from restless("the faulty circuit", point)
    yield from (f"{hidden}: {part.id} opens" for part in opened(point))
    yield from (f"{hidden}: wire {wire} burns" for wire in smoking(point))
    told = {o.part: o.level for o in item.proof.observed}
    loads = [p.id for p in circuit.parts if isinstance(p, c.LOADS)]
    for load in (load for load in loads if load not in circuit.unobserved):
        now, sound = (bench.levels(load, (w,)) for w in (ways, bench.sound))
        if load in told and (now != {told[load]} or now <= IDLE or not sound <= IDLE):
            yield f"{load} is said to be {told[load]!r} unbidden; it is {' or '.join(sorted(now))}"
        elif load not in told and now != sound:
            yield f"it is not told that {load} is {' or '.join(sorted(now))}"
    yield from (
        f"{part} is said to work; it is no load to be seen" for part in set(told) - set(loads)
    )


def _check_place(case: Case, number: int) -> Iterator[str]:
    """Across the load; one that moves, heats or is loud is unplugged for it."""
    reading, what, load = case.item.readings[number], f"reading {number + 1}", case.subject
    if {reading.red_node, reading.black_node} != set(load.nodes[:2]):
        yield f"{what}: it is not taken across {load.id}"
    off = load.id in reading.unplugged
    if off != (reading.instrument == "test-lamp"):
        yield f"{what}: a {reading.instrument} with {load.id} {'off' if off else 'on'}"
    if not off and not isinstance(load, MAY_STAY):
        yield f"{what}: {load.id} may start, and is not unplugged"
    display = case.shown[number][case.hidden]
    if display.point is not None:
        yield from (f"{what}: {part.id} opens" for part in opened(display.point))


def _spared(
    case: Case, option: Option, section: frozenset[str], mine: Sequence[Fault]
) -> Iterator[str]:
    """A contact with supply or the frame anywhere in the section leaves the load idle."""
    r, what, load = option.refuted_by, f"option {option.claim}", case.subject.id
    assert r is not None  # the caller has looked
    found, should = (
        case.bench.levels(load, (w,)) for w in (case.bench.ways(case.hidden), case.bench.sound)
    )
    if r.part != load or {r.found} != found or {r.instead} != should:
        yield f"{what}: its refutation does not say that {load} stays idle"
    yield from (f"{what}: {fault} may set {load} to work" for fault in mine)
    contacts = _contacts(case.circuit, section)
    if not contacts:
        yield f"{what}: no wire there can touch anything"
    for fault in contacts:
        ways = case.bench.ways(fault)
        if case.bench.levels(load, (ways,)) - IDLE:
            yield f"{what}: {fault} may set {load} to work"


def _contacts(circuit: Circuit, section: frozenset[str]) -> list[Fault]:
    wires = [p for p in circuit.parts if isinstance(p, c.Wire) and set(p.nodes) <= section]
    ends = {"short-to-supply": circuit.supply, "short-to-ground": circuit.reference}
    return [Fault(w.id, mode) for w in wires for mode, end in ends.items() if end not in w.nodes]


def _volts(point: OperatingPoint, load: c.Part) -> float:
    return abs(point.flows(load)[0].volts or 0.0)


STORY = Story(
    instruments=("test-lamp", "voltmeter"), contacts=_contacts, spared=_spared, figure=_volts
)


def _check_words(case: Case) -> Iterator[str]:
    stem = " ".join(case.item.stem)
    for observed in case.item.proof.observed:
        if not told_of(observed.part, stem):
            yield f"the stem does not tell that {observed.part} works"
    yield from check_told(case)
