"""Verifies "what is certain after this test".

1. the hidden fault looks as the stem tells, and the test shows what is said (`verify.tries`)
2. every fault, at any severity, that agrees with all of it (`verify.rivals`)
3. a statement is marked right exactly if it holds under all of them
4. the fault that is named against a wrong statement agrees and contradicts it; the fault that
   a right one is explained by does not agree
5. the words say what the statement says, the figures are those of the circuit
"""

from __future__ import annotations

import re
from collections.abc import Generator, Iterator
from dataclasses import replace
from math import inf

from quizgen.base.errors import InputError
from quizgen.faults import Fault, parse_fault
from quizgen.items.item import Figure, Item, Option
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.left import (
    Left,
    check_readings,
    check_told,
    check_volts,
    fault_figure,
    left_by,
)
from quizgen.items.verify.rivals import Evidence, rivals
from quizgen.items.verify.tries import NEAR, Try, is_plain

PLAIN_VOLTS = 0.3  # figures further apart differ for any reader; nearer ones are alike

ARROW = " -> "
DISPLAY = re.compile(r"(?<![\w.])[−-]?\d+(?:\.\d+)? (?:V|Ω|kΩ|MΩ)|\bOL\b")
ADDED = re.compile(r"\([^()]* added\)")  # of a fault, how much resistance

Statement = tuple[str, frozenset[str]]


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    left = left_by(item, benches)
    yield from check_told(item, left)
    evidence = _evidence(item, left)
    yield from check_readings(replace(item, readings=evidence.readings), left)
    hidden = left.way(parse_fault(item.origin.fault))
    for test in evidence.tries:
        yield from test.problems(hidden)
    if not item.readings:
        yield "there is no test"
    suspected = {fault.part for fault in rivals(evidence)}
    before = {f.part for f in rivals(Evidence(left.bench, item.proof.observed, ()))}
    if not evidence.rules_out((left.bench.sound,)):
        yield "a sound circuit would give all that is told"
    for option in item.options:
        yield from _check_option(left, evidence, option, suspected, before)
        if evidence.tries:
            yield from _check_figures(option, item)
        else:
            yield from check_volts(left, option, item)


def _evidence(item: Item, left: Left) -> Evidence:
    """What is told, every outcome that the complaint leaves looked at in one go."""
    bench = left.bench
    plain = tuple(r for r in item.readings if is_plain(r, bench.circuit.reference))
    tries = tuple(Try(bench, r) for r in item.readings if r not in plain)
    if tries:
        complaint = Evidence(bench, item.proof.observed, plain)
        bench.prepare(fault for members in bench.claims.values() for fault in members)
        ways = [w for members in bench.claims.values() for f in members for w in bench.ways(f)]
        alive = [way for way in ways if not complaint.rules_out(((way,),))]
        for test in tries:
            test.prepare(alive)
    return Evidence(bench, item.proof.observed, plain, tries)


def _parsed(left: Left, claim: str) -> Statement:
    word, colon, names = claim.partition(":")
    parts = frozenset(names.split(","))
    if word not in ("not", "in") or not colon:
        raise InputError(f"option {claim!r} is no statement such as not:F1 or in:F1,S1")
    for part in sorted(parts):
        left.bench.circuit.part(part)
    return word, parts


def _holds(statement: Statement, part: str) -> bool:
    """Is it true with this part at fault?"""
    word, parts = statement
    return (part in parts) == (word == "in")


def _check_option(
    left: Left, evidence: Evidence, option: Option, suspected: set[str], before: set[str]
) -> Iterator[str]:
    statement = _parsed(left, option.claim)
    certain = all(_holds(statement, part) for part in suspected)
    if certain != option.is_key:
        against = sorted(p for p in suspected if not _holds(statement, p))
        why = f"{against[0]} may be at fault" if against else "no fault left contradicts it"
        marked = "right" if option.is_key else "wrong"
        yield f"option {option.claim} is marked {marked}: {why}"
    if option.is_key and statement[0] == "in":
        yield from (
            f"option {option.claim}: {part} cannot be at fault"
            for part in sorted(statement[1] - suspected)
        )
    if option.is_key and all(_holds(statement, part) for part in before):
        yield f"option {option.claim} is certain without any test"
    if not option.figures:
        yield f"option {option.claim}: no fault is named"
    for figure in option.figures:
        fault = yield from _check_figure(left, evidence, option, figure)
        agrees = not evidence.rules_out((left.bench.ways(fault),))
        holds = _holds(statement, fault.part)
        if option.is_key and (agrees or holds):
            yield f"option {option.claim}: {fault} is not what it rules out"
        elif not option.is_key and (holds or not agrees):
            yield f"option {option.claim}: {fault} does not speak against it"
    if not option.is_key and not option.misconception:
        yield f"option {option.claim}: no misconception stands behind it"
    yield from _check_text(left, option, statement)


def _check_figure(
    left: Left, evidence: Evidence, option: Option, figure: Figure
) -> Generator[str, None, Fault]:
    """The fault that a figure names; is it as told, and plainly another than what was found?"""
    if not evidence.tries:
        fault, node = fault_figure(left, figure.name)
        for reading in (r for r in evidence.readings if r.red_node == node):
            plain = abs(reading.volts - figure.value) > PLAIN_VOLTS
            if plain != option.is_key:
                yield f"option {option.claim}: {figure.value:g} V against {reading.shown}"
        return fault
    words, _, would = figure.name.partition(ARROW)
    fault = parse_fault(words)
    left.bench.circuit.part(fault.part)
    for test in evidence.tries:
        way = left.way(fault)
        text = test.text(way)
        if text != would:
            yield f"option {option.claim}: with {fault} the test shows {text or 'nothing certain'}"
        display = test.display(way)
        value = -1.0 if display.low == inf else display.low
        if abs(value - figure.value) > NEAR[test.reading.instrument] + 0.01 * abs(value):
            yield f"option {option.claim}: {figure.name} is {value:.3f}, not {figure.value:g}"
        if option.is_key and text == test.reading.shown:
            yield f"option {option.claim}: with {fault} the test would show the same"
    return fault


def _check_figures(option: Option, item: Item) -> Iterator[str]:
    """No display is printed but what was found and what the named fault would show."""
    known = {r.shown for r in item.readings} | {f.name.partition(ARROW)[2] for f in option.figures}
    for text in DISPLAY.findall(ADDED.sub("", " ".join(option.rationale))):
        if text not in known:
            yield f"option {option.claim}: {text} in its rationale is none of its figures"


def _check_text(left: Left, option: Option, statement: Statement) -> Iterator[str]:
    """Exactly the parts of the statement are named; one that is said to be good is called so."""
    words = set(re.findall(r"[\w.~-]+", option.text))
    named = {part.id for part in left.bench.circuit.parts if part.id in words}
    if named != statement[1]:
        yield f"option {option.claim} reads {option.text!r}"
    if option.text.endswith(" is good") != (statement[0] == "not"):
        yield f"option {option.claim} reads {option.text!r}, which says something else"
