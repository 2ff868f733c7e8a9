"""The proof that an item carries, held against outcomes worked out anew.

Every claim of the circuit has to be there: ruled out, or a claim about the key's own part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault
from quizgen.items.item import Item, Refutation
from quizgen.items.verify.bench import Bench
from quizgen.items.verify.bench import spoken_of as in_bounds
from quizgen.items.verify.meter import margin, measure
from quizgen.items.verify.rivals import Evidence, leads, missed_either_way

BOUND_VOLTS = 0.02  # how far a stated bound may be from the one worked out here
BY_OBSERVATION, BY_SEVERAL = -1, -2
MOST_TOLD = 5  # findings of one sort; the rest is counted

Span = tuple[float, float]


def check_proof(evidence: Evidence, item: Item, agreeing: tuple[str, ...]) -> Iterator[str]:
    """What is wrong with the proof record. `agreeing`: the claims that fit the evidence."""
    bench, proof = evidence.bench, item.proof
    refuted = [r.claim for r in proof.refutations]
    if proof.claims != len(bench.claims):
        yield f"the proof counts {proof.claims} claims; the circuit has {len(bench.claims)}"
    least = max((margin(r.volts) for r in item.readings), default=0.0)
    if proof.margin_volts < least - 0.001:
        yield f"the proof's margin is {proof.margin_volts:g} V; its readings ask for {least:.3f} V"
    for claim in agreeing:
        if claim != item.key.claim and claim not in proof.same_part:
            yield f"{claim} fits all that is told and the proof does not say so"
    part = item.key.claim.partition(":")[0]
    own = [c for c in bench.claims if c.partition(":")[0] == part]
    lacking = [c for c in ("", *bench.claims) if c not in refuted and c not in own]
    yield from (f"the proof passes over {c or 'the sound circuit'}" for c in lacking[:MOST_TOLD])
    wrong = list(check_refutations(evidence, item, proof.refutations))
    yield from wrong[:MOST_TOLD]
    if len(wrong) > MOST_TOLD:
        yield f"and {len(wrong) - MOST_TOLD} more refutations are wrong"


def check_options(evidence: Evidence, item: Item) -> Iterator[str]:
    """What is wrong with what the options claim and with what is said to refute them."""
    claims = [option.claim for option in item.options]
    unknown = [claim for claim in claims if claim not in evidence.bench.claims]
    yield from (f"option {claim}: the circuit has no such fault" for claim in unknown)
    wrong = [option for option in item.options if not option.is_key]
    for option in wrong:
        if option.refuted_by is None:
            yield f"option {option.claim}: nothing is said to refute it"
        elif option.refuted_by.claim != option.claim:
            yield f"option {option.claim}: its refutation is about {option.refuted_by.claim}"
    stated = [o.refuted_by for o in wrong if o.refuted_by and o.claim not in unknown]
    yield from check_refutations(evidence, item, tuple(stated))
    known = [claim for claim in dict.fromkeys(claims) if claim not in unknown]
    yield from _alike(evidence.bench, known)


def check_refutations(
    evidence: Evidence, item: Item, refutations: tuple[Refutation, ...]
) -> Iterator[str]:
    """What is wrong with the refutations; a list, so that exact readings are taken at once."""
    measured: list[Refutation] = []
    for r in refutations:
        if r.claim and r.claim not in evidence.bench.claims:
            yield f"refutation of {r.claim}: the circuit has no such fault"
        elif r.reading == BY_OBSERVATION:
            yield from _check_observation(evidence, r)
        elif 0 <= r.reading < len(item.readings):
            measured.append(r)
        elif r.reading != BY_SEVERAL:
            yield f"refutation of {r.claim}: there is no reading {r.reading + 1}"
    for r, shown in zip(measured, _shown(evidence, measured), strict=True):
        yield from _check_reading(evidence, r, shown)


def _check_observation(evidence: Evidence, r: Refutation) -> Iterator[str]:
    what = f"refutation of {r.claim or 'the sound circuit'} by {r.part}"
    told = {o.part: o.level for o in evidence.observed}
    if told.get(r.part) != r.found:
        yield f"{what}: the item does not tell that it is {r.found!r}"
        return
    levels = [evidence.bench.levels(r.part, cell) for cell in evidence.bench.cells(r.claim)]
    if any(r.found in found for found in levels):
        yield f"{what}: with that fault it may be {r.found!r} as well"
    if not any(r.instead in found for found in levels):
        yield f"{what}: with that fault it is not {r.instead!r}"


def _check_reading(evidence: Evidence, r: Refutation, shown: Sequence[Span]) -> Iterator[str]:
    reading = evidence.readings[r.reading]
    what = f"refutation of {r.claim or 'the sound circuit'} by reading {r.reading + 1}"
    if r.found != reading.shown:
        yield f"{what}: it says {r.found}, the reading is {reading.shown}"
    # a meter swings while something chatters: how far depends on which severities are tried
    steady = evidence.bench.steady(r.claim)
    lows, highs = zip(*shown, strict=True)
    for name, stated, bound, all_of in (
        ("low", r.low, min(lows), lows),
        ("high", r.high, max(highs), highs),
    ):
        # so does how far a voltage falls before a relay lets go or a motor stalls
        straight = list(all_of) in (sorted(all_of), sorted(all_of, reverse=True))
        step = max((abs(x - y) for x, y in pairwise(all_of)), default=0.0)
        near = step if evidence.bench.jumps(r.claim) or not straight else 0.0
        if steady and abs(stated - bound) > near + BOUND_VOLTS:
            yield f"{what}: the {name} bound is {stated:.3f} V; worked out anew {bound:.3f} V"
    if not all(missed_either_way(reading, cell) for cell in evidence.bench.cells(r.claim)):
        yield f"{what}: that fault may show {reading.shown} there"


def _shown(evidence: Evidence, refutations: list[Refutation]) -> list[list[Span]]:
    """What each claim shows at its reading, by severity, over what a proof speaks of.

    Where the meter's load is not known well enough from bounds it is put in.
    """
    bench = evidence.bench
    found: list[list[Span]] = []
    exact: list[tuple[int, int, Circuit]] = []
    for i, r in enumerate(refutations):
        found.append([])
        for fault in _members(bench, r.claim):
            for way in bench.ways(fault) if fault else bench.sound:
                low, high = way.between(leads(evidence.readings[r.reading]))
                if high - low > BOUND_VOLTS / 4 and not way.point.phases:
                    exact.append((i, len(found[i]), way.point.circuit))
                found[i].append((low, high))
    asked = [(circuit, leads(evidence.readings[refutations[i].reading])) for i, _, circuit in exact]
    for (i, at, _), span in zip(exact, measure(bench.moves, asked), strict=True):
        found[i][at] = span
    return found


def _members(bench: Bench, claim: str) -> list[Fault | None]:
    """The severities that the bounds are about; None is the sound circuit."""
    return [fault for fault in bench.claims[claim] if in_bounds(fault)] if claim else [None]


def _alike(bench: Bench, claims: list[str]) -> Iterator[str]:
    """Pairs of claims that no voltmeter at any point and nobody's eyes could tell apart."""
    for i, first in enumerate(claims):
        for second in claims[i + 1 :]:
            if not any(_differ(bench, first, second, n) for n in bench.circuit.nodes):
                yield f"options {first} and {second}: nothing could tell them apart"


def _differ(bench: Bench, first: str, second: str, node: str) -> bool:
    pair = (node, bench.circuit.reference)
    (low1, high1), (low2, high2) = (_range(bench, claim, pair) for claim in (first, second))
    gap = max(abs(low1 - low2), abs(high1 - high2))
    return gap > margin(max(abs(high1), abs(low1)))


def _range(bench: Bench, claim: str, pair: tuple[str, str]) -> tuple[float, float]:
    members = [fault for fault in bench.claims[claim] if in_bounds(fault)]
    found = [way.between(pair) for fault in members for way in bench.ways(fault)]
    return min(low for low, _ in found), max(high for _, high in found)
