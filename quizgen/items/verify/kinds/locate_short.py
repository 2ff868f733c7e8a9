"""Verifies "where does the unwanted contact lie"; what both stories share is in `contacts`.

Here is the story of the fuse; an item that tells of loads seen to work is the other,
`verify.unbidden`. The fault put in surely opens one fuse, which is out of its holder in every
reading; a contact in a section that the complaint rules out leaves it whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, parse_fault, universe
from quizgen.items.item import Item, Option
from quizgen.items.verify import unbidden
from quizgen.items.verify.bench import Bench, Benches
from quizgen.items.verify.contacts import (
    MOST_READINGS,
    Case,
    Story,
    check_options,
    check_reading,
    check_told,
    look,
    opened,
)
from quizgen.items.verify.words import told_of
from quizgen.solver import OperatingPoint


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    if not 0 < len(item.readings) <= MOST_READINGS:
        yield f"there are {len(item.readings)} readings"
        return
    if item.proof.observed:
        yield from unbidden.check(item, benches)
        return
    bench = benches.at(item.origin.positions)
    hidden = parse_fault(item.origin.fault)
    point = bench.ways(hidden)[0].point
    fuses = opened(point)
    if len(fuses) != 1 or not isinstance(fuses[0], c.Fuse) or point.ambiguous:
        yield f"{hidden} does not surely open one fuse: {', '.join(p.id for p in fuses) or 'none'}"
        return
    fuse = bench.circuit.part(fuses[0].id)
    assert isinstance(fuse, c.Fuse)
    for number, reading in enumerate(item.readings, 1):
        if fuse.id not in reading.removed:
            yield f"reading {number}: the fuse {fuse.id} is in its holder and would blow"
            return
    case = case_of(item, bench, fuse, hidden)
    yield from _check_words(case, fuse)
    for number in range(len(item.readings)):
        yield from check_reading(case, number, STORY)
    yield from check_options(case, STORY)


def case_of(item: Item, bench: Bench, fuse: c.Fuse, hidden: Fault) -> Case:
    """Everything worked out anew. Raises InputError for readings that cannot be taken."""
    suspects = tuple(_suspects(bench, fuse.id))
    return Case(item, bench, fuse, hidden, suspects, look(bench.circuit, item, suspects, hidden))


def _suspects(bench: Bench, fuse: str) -> Iterator[Fault]:
    """Single faults with which the fuse opens or may open in the item's state."""
    faults = [w.fault for w in universe(bench.circuit)]
    bench.prepare(faults)
    for fault in faults:
        point = bench.ways(fault)[0].point
        named = any(fuse in reason.split() for reason in point.ambiguous)
        if named or fuse in [p.id for p in opened(point)]:
            yield fault


def _spared(
    case: Case, option: Option, section: frozenset[str], mine: Sequence[Fault]
) -> Iterator[str]:
    """A contact to ground anywhere in the section leaves the fuse whole."""
    r, what, fuse = option.refuted_by, f"option {option.claim}", case.subject.id
    assert r is not None  # the caller has looked
    if (r.part, r.found, r.instead) != (fuse, "blows", "holds"):
        yield f"{what}: its refutation does not say that {fuse} holds"
    yield from (f"{what}: {fault} opens {fuse}" for fault in mine)
    contacts = _contacts(case.circuit, section)
    if not contacts:
        yield f"{what}: no wire there can touch the frame"
    for fault in contacts:
        point = case.bench.ways(fault)[0].point
        if point.ambiguous or fuse in [p.id for p in opened(point)]:
            yield f"{what}: {fault} may open {fuse}"


def _contacts(circuit: Circuit, section: frozenset[str]) -> list[Fault]:
    wires = [p for p in circuit.parts if isinstance(p, c.Wire) and set(p.nodes) <= section]
    return [Fault(w.id, "short-to-ground") for w in wires if circuit.reference not in w.nodes]


def _amps(point: OperatingPoint, fuse: c.Part) -> float:
    return abs(point.flows(fuse)[0].amps)


STORY = Story(
    instruments=("test-lamp", "ohmmeter"), contacts=_contacts, spared=_spared, figure=_amps
)


def _check_words(case: Case, fuse: c.Fuse) -> Iterator[str]:
    stem = " ".join(case.item.stem)
    if not told_of(fuse.id, stem):
        yield f"the stem does not tell that {fuse.id} blows"
    yield from check_told(case)
    if not told_of(f"{fuse.amps:g} A", stem):
        yield f"the stem does not give the rating of {fuse.id}"
