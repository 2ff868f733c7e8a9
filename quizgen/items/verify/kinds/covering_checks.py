"""Verifies "which readings tell soonest which of the suspects it is".

1. the hidden fault looks as the stem tells; so does every suspect, and the stem names each
2. minutes of every set, each place reached once, and the pairs of suspects it leaves
3. the key leaves none; every other set leaves a pair, or takes clearly longer
4. volts and minutes that are printed are those of the circuit
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from quizgen.base.errors import InputError
from quizgen.faults import Fault, describe, parse_fault
from quizgen.items.act import parse_act
from quizgen.items.item import Item, Option
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.left import (
    MINUTES,
    Left,
    check_told,
    left_by,
    numbers,
    point_words,
)
from quizgen.items.verify.meter import HALF_DIGIT, margin
from quizgen.items.verify.words import told_of

CLEARLY, CLEARLY_MINUTES = 1.25, 1.0
NEAR = 0.002
FEWEST = 3  # suspects


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    left = left_by(item, benches)
    yield from check_told(item, left)
    suspects = [parse_fault(f.name) for f in item.proof.figures if f.unit == "suspect"]
    if len(suspects) < FEWEST or len({f.part for f in suspects}) < len(suspects):
        yield f"{len(suspects)} suspects are no choice, or two are of one part"
        return
    yield from _check_suspects(item, left, suspects)
    key = set_minutes(left, _nodes(left, item.key.claim))
    for option in item.options:
        yield from _check_option(left, suspects, option, key)
        yield from _check_words(left, suspects, item, option)


def _check_suspects(item: Item, left: Left, suspects: list[Fault]) -> Iterator[str]:
    stem = " ".join(item.stem)
    if item.origin.fault not in map(str, suspects):
        yield f"the hidden fault, {item.origin.fault}, is none of the suspects"
    for fault in suspects:
        if len(left.bench.ways(fault)) > 1 or not left.fits(left.way(fault)):
            yield f"{fault} does not fit what is told"
        clause = describe(left.bench.circuit, fault, names=False)
        if not told_of(clause, stem):
            yield f"the stem does not name the suspect {fault}: {clause}"
    if not told_of(str(len(suspects)), item.stem[-2] if len(item.stem) > 1 else ""):
        yield "the stem does not say how many suspects there are"


def _nodes(left: Left, claim: str) -> list[str]:
    """Points of the readings. Raises InputError for an act that is none."""
    found = []
    for text in claim.split(" ; "):
        act = parse_act(text)
        left.sorted_by(act)  # says so if it is no reading as the controls stand
        if act.instrument != "voltmeter":
            raise InputError(f"{act}: a set is made of voltmeter readings")
        found.append(left.bench.circuit.point(act.red))
    return found


def set_minutes(left: Left, nodes: list[str]) -> float:
    return len(nodes) * MINUTES["voltmeter"] + sum(left.places(nodes).values())


def _check_option(left: Left, suspects: list[Fault], option: Option, key: float) -> Iterator[str]:
    nodes = _nodes(left, option.claim)
    minutes = set_minutes(left, nodes)
    alike = [pair for pair in combinations(suspects, 2) if not tells_apart(left, pair, nodes)]
    stated = {f.name: f.value for f in option.figures}
    for name, found in (("minutes", minutes), ("alike", float(len(alike)))):
        if name not in stated or abs(stated[name] - found) > NEAR:
            yield f"option {option.claim}: its {name}: stated {stated.get(name)}, found {found:g}"
    if option.is_key and alike:
        one, other = alike[0]
        yield f"the key does not tell {one} from {other}"
    if not option.is_key:
        if not alike and minutes < max(CLEARLY * key, key + CLEARLY_MINUTES) - NEAR:
            yield f"option {option.claim} tells all apart as well, in {minutes:g} minutes"
        if not option.misconception:
            yield f"option {option.claim}: no misconception stands behind it"
    if numbers(option.text, " min") != [round(minutes, 1)]:
        yield f"option {option.claim}: {option.text!r} does not give its {minutes:.1f} minutes"
    for node in nodes:
        if not told_of(point_words(left, node), option.text):
            yield f"option {option.claim}: {option.text!r} does not say {point_words(left, node)}"


def tells_apart(left: Left, pair: tuple[Fault, ...], nodes: list[str]) -> bool:
    """Some reading differs by more than the meter's margin."""
    for node in nodes:
        (low1, high1), (low2, high2) = (_volts(left, fault, node) for fault in pair)
        if max(low1 - high2, low2 - high1) > margin(max(abs(high1), abs(high2))):
            return True
    return False


def _volts(left: Left, fault: Fault, node: str) -> tuple[float, float]:
    return left.way(fault).between((node, left.bench.circuit.reference))


def _check_words(left: Left, suspects: list[Fault], item: Item, option: Option) -> Iterator[str]:
    """Volts are a suspect's at one of the points, minutes those of this set or of the key."""
    text = " ".join(option.rationale)
    nodes = _nodes(left, option.claim)
    ends = [end for node in nodes for f in suspects for end in _volts(left, f, node)]
    for volts in numbers(text, " V"):
        if not any(abs(volts - end) <= HALF_DIGIT for end in ends):
            yield f"option {option.claim}: no suspect gives {volts:g} V there"
    mine = [set_minutes(left, nodes), set_minutes(left, _nodes(left, item.key.claim))]
    for minutes in numbers(text, " min"):
        if not any(abs(minutes - value) <= 0.051 for value in mine):
            yield f"option {option.claim}: {minutes:g} min is neither its own nor the key's"
