"""Is an item right? Checked by code that shares nothing with the code that writes items.

From the item's origin the circuit is built again, the fault put in, the controls operated;
then everything the item says is held against that:

1. each reading and observation is what the circuit gives, without doubt
2. one option is the key, and it is the fault
3. no other part could be at fault (`verify_rivals`)
4. what is said to refute a claim does, by the figures given (`verify_proof`)
5. the words say what the records say (`verify_words`)

Shared with the writer of items are only the solver, the circuits, the faults and the record.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from quizgen.base.errors import QuizgenError
from quizgen.circuit.template import Template, find_template
from quizgen.faults import Fault, parse_fault
from quizgen.items.item import Item
from quizgen.items.verify_bench import Bench, Outcome, claim_of
from quizgen.items.verify_meter import HALF_DIGIT, measure, shown_as
from quizgen.items.verify_proof import check_options, check_proof
from quizgen.items.verify_rivals import Evidence, leads, rivals
from quizgen.items.verify_words import check_words

STEADY = ("steady", "protector-open")
LEAST_OPTIONS = 2
MOST_RIVALS = 5  # named; the rest is counted


def verify_item(item: Item) -> tuple[str, ...]:
    """What is wrong with an item, a line each; empty if it is right.

    Raises nothing for an item that is wrong, even if its circuit cannot be built.
    """
    return Verifier().verify(item)


class Verifier:
    """Verifies items; those about one circuit in one state share its solved faults.

    The last `remembered` circuits are kept.
    """

    def __init__(self, remembered: int = 1) -> None:
        self._bench = lru_cache(maxsize=remembered)(_build)

    def verify(self, item: Item) -> tuple[str, ...]:
        """As `verify_item`."""
        try:
            origin = item.origin
            bench = self._bench(origin.template, origin.parameters, origin.positions)
            fault = parse_fault(origin.fault)
            hidden = bench.ways(fault)
            shapeless = tuple(_check_shape(item, bench, fault))
        except QuizgenError as error:
            return (f"its circuit cannot be made again: {error}",)
        if shapeless:
            return shapeless
        return tuple(_check_all(item, bench, fault, hidden[0]))


def _build(
    template: str, parameters: tuple[tuple[str, object], ...], moves: tuple[tuple[str, str], ...]
) -> Bench:
    bench = Bench(_template(template).build(dict(parameters)), moves)
    assert bench.sound
    return bench


@lru_cache(maxsize=32)
def _template(name: str) -> Template:
    return find_template(name)


def _check_shape(item: Item, bench: Bench, fault: Fault) -> Iterator[str]:
    """What would keep the rest from being looked at. May raise InputError."""
    circuit = bench.circuit
    keys = sum(option.is_key for option in item.options)
    if keys != 1:
        yield f"{keys} options are marked as the key; there must be one"
    if len(item.options) < LEAST_OPTIONS:
        yield "there is nothing to choose between"
    for number, reading in enumerate(item.readings, 1):
        if reading.instrument != "voltmeter":
            yield f"reading {number}: readings of a {reading.instrument} cannot be verified"
        for node in leads(reading):
            if node not in circuit.nodes:
                yield f"reading {number}: the circuit has no point {node}"
    loads = bench.sound[0].batch.seen(bench.sound[0].case)
    for observed in item.proof.observed:
        if observed.part not in loads and circuit.part(observed.part).kind != "relay":
            yield f"{observed.part} is said to be seen; it is neither load nor relay"
    claim_of(circuit, fault)


def _check_all(item: Item, bench: Bench, fault: Fault, hidden: Outcome) -> Iterator[str]:
    evidence = Evidence(bench, item.proof.observed, item.readings)
    yield from _check_state(item, bench, hidden)
    yield from _check_readings(item, bench, hidden)
    if item.key.claim != claim_of(bench.circuit, fault):
        yield f"the key is {item.key.claim}; the fault put in is {fault}"
    if item.family != item.origin.template:
        yield f"the family is {item.family}; the circuit is {item.origin.template}"
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
    """The machine stands still enough to be measured, and looks as told."""
    for what, outcome in (("the faulty circuit", hidden), ("the sound circuit", bench.sound[0])):
        point = outcome.point
        if point.behaviour not in STEADY:
            yield f"{what} does not come to rest: {point.behaviour}"
        yield from (f"{what} is in doubt: {reason}" for reason in point.ambiguous)
    for observed in item.proof.observed:
        levels = bench.levels(observed.part, ((hidden,),))
        if observed.level not in levels:
            yield f"{observed.part} is said to be {observed.level!r}; it is {_either(levels)}"
        elif len(levels) > 1 and bench.circuit.part(observed.part).kind != "relay":
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
