"""Verifies "which loads fail together".

1. what is told to be at work is, all of it, and no load is in doubt, before or after
2. the loads marked right are those that no longer work as they did
3. stated volts are right, those in sentences are stated, and texts name the loads
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from quizgen.circuit import components as c
from quizgen.faults import describe, parse_fault
from quizgen.items.item import Figure, Item, Option
from quizgen.items.verify.bench import Bench, Benches, Outcome
from quizgen.items.verify.routes import amounts
from quizgen.items.verify.stillness import restless
from quizgen.solver.observation import against

NEAR_VOLTS = 1e-3
NOTICED, UNNOTICED = 0.9, 0.9  # share of what it did: hit is below, spared above
IDLE = {"dark", "stopped", "silent", "cold", "released", "at the lower stop"}
FIGURE = re.compile(r"volts across (\S+) (before|now)")
OPENED = {
    "wire": "open", "connector": "open", "ground": "open", "fuse": "blown",
    "fusible_link": "blown", "breaker": "stuck-open", "switch": "open", "relay": "not-making",
}  # fmt: skip


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    fault = parse_fault(item.origin.fault)
    part = bench.circuit.part(fault.part)
    ways = bench.ways(fault)
    if item.told != (item.origin.fault,) or item.readings:
        yield f"such a question tells its fault, {item.origin.fault}, and has no readings"
    if OPENED.get(part.kind) != fault.mode:
        yield f"{fault} is no feed or ground that is lost"
    if item.key_kind != part.kind:
        yield f"the kind of part is {item.key_kind}; {part.id} is a {part.kind}"
    if item.response not in ("several", "one"):
        yield f"such a question is not answered by {item.response}"
        return
    yield from _check_rest(bench, ways)
    at_work = tuple(_at_work(bench))
    yield from _check_told(item, bench, at_work)
    loads = {load: is_hit(bench, ways[0], load) for load in at_work}
    yield from (f"{load} might be said to be hit or not" for load in loads if loads[load] is None)
    yield from _check_idle(bench, ways[0], at_work)
    hit = [load for load in at_work if loads[load]]
    yield from _check_options(item, at_work, hit)
    yield from _check_figures(item, bench, ways[0])
    yield from _check_words(item, bench)


def _check_rest(bench: Bench, ways: Sequence[Outcome]) -> Iterator[str]:
    for what, found in (("the sound circuit", bench.sound), ("the circuit", ways)):
        yield from restless(what, found[0].point)


def _visible(bench: Bench) -> list[str]:
    loads = [p.id for p in bench.circuit.parts if isinstance(p, c.LOADS)]
    return [load for load in loads if load not in bench.circuit.unobserved]


def _at_work(bench: Bench) -> Iterator[str]:
    """Loads that a person sees at work in the sound machine."""
    for load in _visible(bench):
        if bench.sound[0].seen(load).level not in IDLE:
            yield load


def _check_told(item: Item, bench: Bench, at_work: Sequence[str]) -> Iterator[str]:
    told = {o.part: o for o in item.proof.observed}
    if sorted(told) != sorted(at_work):
        yield f"at work are {' '.join(at_work)}; told are {' '.join(told)}"
    for load in at_work:
        seen = bench.sound[0].seen(load)
        if seen.doubtful:
            yield f"nobody can be sure what {load} does"
        if load in told and told[load].level != seen.level:
            yield f"{load} is said to be {told[load].level!r}; it is {seen.level!r}"
        if load in told and told[load].moves not in (None, item.origin.positions):
            yield f"{load} is seen in another state"


def is_hit(bench: Bench, way: Outcome, load: str) -> bool | None:
    """Does it do otherwise than before, as anybody would say? None if people may differ."""
    before = bench.sound[0].seen(load)
    now = against(before, way.seen(load))
    kept = now.share / before.share if before.share else 0.0
    if now.doubtful:
        return None
    if now.level != before.level:
        return True if kept < NOTICED else None
    return False if UNNOTICED < kept < 1.0 / UNNOTICED else None


def _check_idle(bench: Bench, way: Outcome, at_work: Sequence[str]) -> Iterator[str]:
    for load in _visible(bench):
        level = way.seen(load).level
        if load not in at_work and level != bench.sound[0].seen(load).level:
            yield f"{load}, which was idle, is now {level!r}; the question passes over that"


def _check_options(item: Item, at_work: Sequence[str], hit: Sequence[str]) -> Iterator[str]:
    for option in item.options:
        named = option.claim.split(",")
        for load in named:
            if load not in at_work:
                yield f"option {option.claim}: {load} is not at work"
        if len(set(named)) < len(named):
            yield f"option {option.claim} names a load twice"
        if item.response == "several" and len(named) != 1:
            yield f"option {option.claim} is not one load"
        right = set(named) <= set(hit) if item.response == "several" else set(named) == set(hit)
        if option.is_key != right:
            yield f"option {option.claim} is marked wrongly; hit are {' '.join(hit) or 'none'}"
        if not option.is_key and not option.misconception:
            yield f"option {option.claim}: no misconception stands behind it"
    claims = [set(o.claim.split(",")) for o in item.options]
    if any(claim in claims[:i] for i, claim in enumerate(claims)):
        yield "two options name the same loads"


def _check_figures(item: Item, bench: Bench, way: Outcome) -> Iterator[str]:
    for where, figures in (
        ("the proof", item.proof.figures),
        *((f"option {o.claim}", o.figures) for o in item.options),
    ):
        for figure in figures:
            yield from (f"{where}: {line}" for line in _check_figure(figure, bench, way))
    stated = {f.name for f in item.proof.figures}
    for load in _at_work(bench):
        for when in ("before", "now"):
            if f"volts across {load} {when}" not in stated:
                yield f"the proof does not give the volts across {load} {when}"
    for option in item.options:
        yield from _check_amounts(option)


def _check_figure(figure: Figure, bench: Bench, way: Outcome) -> Iterator[str]:
    match = FIGURE.fullmatch(figure.name)
    loads = [p.id for p in bench.circuit.parts if isinstance(p, c.LOADS)]
    if match is None or figure.unit != "V" or match.group(1) not in loads:
        yield f"nobody can check {figure.name!r} in {figure.unit!r}"
        return
    load, when = match.groups()
    found = _volts(bench, bench.sound[0] if when == "before" else way, load)
    if not abs(figure.value - found) <= NEAR_VOLTS:
        yield f"{figure.name} are {found:.3f} V, not {figure.value:g} V"


def _volts(bench: Bench, outcome: Outcome, load: str) -> float:
    """Volts across the terminals of a load that carry its current when all is sound."""
    sound = bench.sound[0].point
    currents = [abs(f.amps) for f in sound.flows(sound.circuit.by_id[load])]
    flows = outcome.point.flows(outcome.point.circuit.by_id[load])
    return abs(flows[currents.index(max(currents))].volts or 0.0)


def _check_amounts(option: Option) -> Iterator[str]:
    """Every voltage in a sentence is one of the figures, rounded."""
    for value, unit, half in amounts(" ".join(option.rationale)):
        near = (abs(value - f.value) <= half + NEAR_VOLTS for f in option.figures)
        if unit != "V" or not any(near):
            yield f"option {option.claim}: {value:g} {unit} is none of its figures"


def _check_words(item: Item, bench: Bench) -> Iterator[str]:
    """The stem tells state, loads and fault; each option names its loads and no other."""
    stem = " ".join(item.stem)
    for control, position in bench.moves:
        label = bench.circuit.by_control[control].label
        told = _said(control, stem) or bool(label and _said(label, stem))
        if not told or not _said(position, stem):
            yield f"the stem does not say {control}={position}"
    for observed in item.proof.observed:
        if not _said(observed.part, stem):
            yield f"the stem does not name {observed.part}"
    fault = parse_fault(item.origin.fault)
    clause = describe(bench.circuit, fault, severity=False, names=False)
    if clause.casefold() not in stem.casefold():
        yield f"the stem does not tell that {clause}"
    for option in item.options:
        named = [w for w in re.findall(r"[A-Z]+\d+", option.text) if w in bench.circuit.by_id]
        if named != option.claim.split(","):
            yield f"option {option.claim} reads {option.text!r}"


def _said(word: str, text: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(word.casefold())}(?!\w)", text.casefold()) is not None
