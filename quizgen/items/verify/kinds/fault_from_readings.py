"""Verifies "which fault explains the readings".

1. each reading and observation is what the circuit gives, without doubt
2. the key is the fault put in
3. no other part could be at fault (`verify.rivals`)
4. what is said to refute a claim does, by the figures given (`verify.proof`)
5. the words say what the records say (`verify.words`)
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.faults import Fault, parse_fault
from quizgen.items.item import Item
from quizgen.items.verify.bench import CLICKERS, Bench, Benches, Outcome, claim_of
from quizgen.items.verify.meter import HALF_DIGIT, measure, shown_as
from quizgen.items.verify.proof import check_options, check_proof
from quizgen.items.verify.rivals import Evidence, leads, rivals
from quizgen.items.verify.stillness import STEADY, restless
from quizgen.items.verify.words import check_words

MOST_RIVALS = 5  # named; the rest is counted


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    fault = parse_fault(item.origin.fault)
    unfit = tuple(_check_fit(item, bench, fault))
    yield from unfit
    if not unfit:
        yield from _check_all(item, bench, fault, bench.ways(fault)[0])


def _check_fit(item: Item, bench: Bench, fault: Fault) -> Iterator[str]:
    """What would keep the rest from being looked at. May raise InputError."""
    for number, reading in enumerate(item.readings, 1):
        if reading.instrument != "voltmeter":
            yield f"reading {number}: readings of a {reading.instrument} cannot be verified"
        for node in leads(reading):
            if node not in bench.circuit.nodes:
                yield f"reading {number}: the circuit has no point {node}"
    loads = bench.sound[0].batch.seen(bench.sound[0].case)
    for observed in item.proof.observed:
        if observed.part not in loads and not isinstance(
            bench.circuit.part(observed.part), CLICKERS
        ):
            yield f"{observed.part} is said to be seen; it is neither load nor relay"
    claim_of(bench.circuit, fault)


def _check_all(item: Item, bench: Bench, fault: Fault, hidden: Outcome) -> Iterator[str]:
    evidence = Evidence(bench, item.proof.observed, item.readings)
    yield from _check_state(item, bench, hidden)
    yield from _check_readings(item, bench, hidden)
    if item.key.claim != claim_of(bench.circuit, fault):
        yield f"the key is {item.key.claim}; the fault put in is {fault}"
    kind = bench.circuit.part(fault.part).kind.replace("_", " ")
    if item.key_kind.replace("_", " ") != kind:
        yield f"the kind of part at fault is {item.key_kind}; {fault.part} is a {kind}"
    agreeing = rivals(evidence)
    yield from _check_rivals(item, evidence, agreeing)
    yield from check_options(evidence, item)
    same_part = tuple(
        claim_of(bench.circuit, f) for f in agreeing if f.part == item.key.claim.partition(":")[0]
    )
    yield from check_proof(evidence, item, same_part)
    yield from check_words(bench, item, fault)


def _check_state(item: Item, bench: Bench, hidden: Outcome) -> Iterator[str]:
    """The machine stands still enough to be measured, and looks as told.

    A sound one may flash: what keeps it from flashing is then the question.
    """
    yield from restless("the faulty circuit", hidden.point)
    yield from restless("the sound circuit", bench.sound[0].point, (*STEADY, "cycling"))
    for observed in item.proof.observed:
        levels = bench.levels(observed.part, ((hidden,),))
        if observed.level not in levels:
            yield f"{observed.part} is said to be {observed.level!r}; it is {_either(levels)}"
        elif len(levels) > 1:
            yield f"{observed.part} might be {_either(levels)}; nobody can rely on that"


def _either(levels: frozenset[str]) -> str:
    return " or ".join(repr(level) for level in sorted(levels))


def _check_readings(item: Item, bench: Bench, hidden: Outcome) -> Iterator[str]:
    circuit = hidden.point.circuit
    shown = measure(bench.moves, [(circuit, leads(reading)) for reading in item.readings])
    for number, (reading, (low, high)) in enumerate(zip(item.readings, shown, strict=True), 1):
        where = f"reading {number}, {reading.red}"
        if high - low > HALF_DIGIT:
            yield f"{where}: the meter swings between {shown_as(low)} and {shown_as(high)}"
        elif abs(reading.volts - low) > HALF_DIGIT:
            yield f"{where}: the meter shows {shown_as(low)}, the item says {reading.volts:g} V"
        if reading.shown != shown_as(reading.volts):
            yield f"{where}: printed is {reading.shown}, the figure is {reading.volts:g} V"


def _check_rivals(item: Item, evidence: Evidence, agreeing: tuple[Fault, ...]) -> Iterator[str]:
    part = item.key.claim.partition(":")[0]
    others = [fault for fault in agreeing if fault.part != part]
    for fault in others[:MOST_RIVALS]:
        yield f"{fault} fits all that is told as well as the key, {item.key.claim}"
    if len(others) > MOST_RIVALS:
        yield f"and {len(others) - MOST_RIVALS} more faults of other parts fit"
    if not evidence.rules_out((evidence.bench.sound,)):
        yield "a sound circuit would give all that is told"
    if item.key.claim not in {claim_of(evidence.bench.circuit, fault) for fault in agreeing}:
        yield f"the key, {item.key.claim}, does not fit what is told"
