"""Verifies "which suspect first".

1. the hidden fault looks as the stem tells, and is in one of the parts listed
2. exactly one part is ruled out by what is told, at every fault and severity; the fault named
   against it would look otherwise
3. minutes are those of the circuit; times and minutes are printed with the part
4. the key, or the order, follows from times over minutes, by a clear margin
5. the averages are those of checking one by one
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from quizgen.base.errors import InputError
from quizgen.faults import parse_fault
from quizgen.items.item import Item, Option, Refutation
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.left import Left, check_told, left_by, numbers
from quizgen.items.verify.rivals import Evidence, rivals
from quizgen.items.verify.words import told_of

CLEARLY = 1.3
CHECK_MINUTES = 0.5  # a reading or a look; the way there comes on top
NEAR = 0.002


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    left = left_by(item, benches)
    yield from check_told(item, left)
    hidden = parse_fault(item.origin.fault).part
    if hidden not in [option.claim for option in item.options]:
        yield f"the hidden fault, in {hidden}, is in none of the parts listed"
    suspected = {f.part for f in rivals(Evidence(left.bench, item.proof.observed, ()))}
    figures = [{f.name: f.value for f in option.figures} for option in item.options]
    if any(not f.get("minutes", 0.0) > 0.0 or not f.get("times", 0.0) > 0.0 for f in figures):
        yield "an option has no times or no minutes"
        return
    for option, own in zip(item.options, figures, strict=True):
        yield from _check_option(left, option, own, option.claim in suspected)
    chances = [
        f["times"] if option.claim in suspected else 0.0
        for option, f in zip(item.options, figures, strict=True)
    ]
    if chances.count(0.0) != 1:
        yield f"{chances.count(0.0)} of the parts are ruled out by what is told; it should be one"
    if sum(chances) <= 0.0:
        return
    costs = [f["minutes"] for f in figures]
    yield from _check_order(item, chances, costs)
    yield from _check_averages(item, chances, costs)


def _check_option(
    left: Left, option: Option, own: dict[str, float], possible: bool
) -> Iterator[str]:
    part = left.bench.circuit.part(option.claim)
    minutes = part.access_minutes + CHECK_MINUTES
    if abs(own["minutes"] - minutes) > NEAR:
        yield f"option {option.claim}: a check takes {minutes:.1f} minutes, not {own['minutes']:g}"
    printed = numbers(option.text, " times") + numbers(option.text, " min")
    if not told_of(part.id, option.text) or printed != [own["times"], round(minutes, 1)]:
        yield f"option {option.claim} reads {option.text!r}"
    if option.refuted_by is None and not possible:
        yield f"option {option.claim}: nothing is said to rule it out"
    elif option.refuted_by is not None:
        yield from _check_out(left, option, option.refuted_by)
    if not option.is_key and not option.misconception:
        yield f"option {option.claim}: no misconception stands behind it"


def _check_out(left: Left, option: Option, out: Refutation) -> Iterator[str]:
    """The fault named would look otherwise, and not as told."""
    members = left.bench.claims.get(out.claim, ())
    if not members or parse_fault(str(members[0])).part != option.claim:
        yield f"option {option.claim}: {out.claim} is no fault of it"
        return
    told = {o.part: o.level for o in left.observed}
    if out.part not in told or told[out.part] != out.found:
        yield f"option {option.claim}: the item does not tell that {out.part} is {out.found!r}"
        return
    levels = left.bench.levels(out.part, (left.bench.ways(members[0]),))
    if out.found in levels or out.instead not in levels:
        yield f"option {option.claim}: with {out.claim} {out.part} is {' or '.join(sorted(levels))}"


def _check_order(item: Item, chances: Sequence[float], costs: Sequence[float]) -> Iterator[str]:
    rates = [chance / cost for chance, cost in zip(chances, costs, strict=True)]
    ranked = sorted(range(len(rates)), key=lambda i: -rates[i])
    if item.response == "order":
        if list(item.order) != ranked:
            yield f"the order is {item.order}; by times over minutes it is {tuple(ranked)}"
        close = [(a, b) for a, b in pairwise(ranked) if rates[a] < CLEARLY * rates[b]]
    else:
        if not item.options[ranked[0]].is_key:
            yield f"the key is {item.key.claim}; to begin with is {item.options[ranked[0]].claim}"
        close = [(ranked[0], b) for b in ranked[1:] if rates[ranked[0]] < CLEARLY * rates[b]]
    for a, b in close:
        yield f"{item.options[a].claim} hardly comes before {item.options[b].claim}"


def _check_averages(item: Item, chances: Sequence[float], costs: Sequence[float]) -> Iterator[str]:
    """Stated, and no other minutes or rates are printed."""
    means = [_average(chances, costs, i) if chance else 0.0 for i, chance in enumerate(chances)]
    rates = [f.value for o in item.options for f in o.figures if f.name == "times"]
    rates = [times / cost for times, cost in zip(rates, costs, strict=True)]
    for option, mean in zip(item.options, means, strict=True):
        stated = [f.value for f in option.figures if f.name == "average"]
        if mean and (not stated or abs(stated[0] - mean) > NEAR):
            yield f"option {option.claim}: the search takes {mean:.2f} minutes on average"
    for text in (" ".join(o.rationale) for o in item.options):
        for minutes in numbers(text, " min"):
            if not any(abs(minutes - value) <= 0.051 for value in (*means, *costs)):
                yield f"{minutes:g} min is neither a check nor an average"
        for rate in numbers(text, " for each minute"):
            if not any(abs(rate - value) <= 0.051 for value in rates):
                yield f"{rate:g} for each minute is no part's"


def _average(chances: Sequence[float], costs: Sequence[float], first: int) -> float:
    """Minutes until the fault is found, one part first, then the others by chance over cost."""
    if not costs:
        raise InputError("there is nothing to check")
    rest = sorted(
        (i for i in range(len(costs)) if i != first and chances[i] > 0.0),
        key=lambda i: -chances[i] / costs[i],
    )
    spent = total = 0.0
    for i in (first, *rest):
        spent += costs[i]
        total += chances[i] * spent
    return total / sum(chances)
