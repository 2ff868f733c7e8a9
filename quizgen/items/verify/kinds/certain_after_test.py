"""Verifies "what is certain after this test".

1. the hidden fault looks as the stem tells, and the meter shows what is said
2. every fault, at any severity, that agrees with all of it (`verify.rivals`)
3. a statement is marked right exactly if it holds under all of them
4. the fault that is named against a wrong statement agrees and contradicts it; the fault that
   a right one is explained by does not agree
5. the words say what the statement says, the figures are those of the circuit
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from quizgen.base.errors import InputError
from quizgen.items.item import Item, Option
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

PLAIN_VOLTS = 0.3  # figures further apart differ for any reader; nearer ones are alike

Statement = tuple[str, frozenset[str]]


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    left = left_by(item, benches)
    yield from check_told(item, left)
    yield from check_readings(item, left)
    if not item.readings:
        yield "there is no test"
    evidence = Evidence(left.bench, item.proof.observed, item.readings)
    suspected = {fault.part for fault in rivals(evidence)}
    before = {f.part for f in rivals(Evidence(left.bench, item.proof.observed, ()))}
    if not evidence.rules_out((left.bench.sound,)):
        yield "a sound circuit would give all that is told"
    for option in item.options:
        yield from _check_option(left, evidence, option, suspected, before)
        yield from check_volts(left, option, item)


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
        fault, node = fault_figure(left, figure.name)
        for reading in (r for r in evidence.readings if r.red_node == node):
            plain = abs(reading.volts - figure.value) > PLAIN_VOLTS
            if plain != option.is_key:
                yield f"option {option.claim}: {figure.value:g} V against {reading.shown}"
        agrees = not evidence.rules_out((left.bench.ways(fault),))
        holds = _holds(statement, fault.part)
        if option.is_key and (agrees or holds):
            yield f"option {option.claim}: {fault} is not what it rules out"
        elif not option.is_key and (holds or not agrees):
            yield f"option {option.claim}: {fault} does not speak against it"
    if not option.is_key and not option.misconception:
        yield f"option {option.claim}: no misconception stands behind it"
    yield from _check_text(left, option, statement)


def _check_text(left: Left, option: Option, statement: Statement) -> Iterator[str]:
    """Exactly the parts of the statement are named; one that is said to be good is called so."""
    words = set(re.findall(r"[\w.~-]+", option.text))
    named = {part.id for part in left.bench.circuit.parts if part.id in words}
    if named != statement[1]:
        yield f"option {option.claim} reads {option.text!r}"
    if option.text.endswith(" is good") != (statement[0] == "not"):
        yield f"option {option.claim} reads {option.text!r}, which says something else"
