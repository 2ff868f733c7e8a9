"""Verifies "which of these checks may be done as it stands, and tells something".

1. what the stem tells is what the circuit does, under both faults that the key tells apart
2. the key is safe and to the point, on the sound circuit and under both faults, and shows
   what its figures say, which differs
3. every wrong check is unsafe, or shows nothing, on the sound circuit
4. the words say what the acts are; volts in a rationale are those of the circuit
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from math import isinf

from quizgen.faults import Fault, describe, inject, parse_fault
from quizgen.items.act import Act, parse_act
from quizgen.items.item import Item, Option
from quizgen.items.verify.act_text import UNFUSED, check_act_text, check_state_told
from quizgen.items.verify.bench import Bench, Benches, spoken_of
from quizgen.items.verify.instruments import Display, look_at
from quizgen.items.verify.meter import margin, measure, shown_as
from quizgen.items.verify.stillness import STEADY
from quizgen.items.verify.words import check_words

VOLTS = re.compile(r"(?<![\d.])([−-]?\d+\.\d) V\b")
BESIDE = "ammeter-beside-the-path"
POINTLESS = ("no-supply", BESIDE)
SETTLED = "tests-what-is-ruled-out"
WORDS = {"lit bright": "lit"}  # as options put what a lamp does
OFF = 0.02  # share by which a figure may be off


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    hidden = parse_fault(item.origin.fault)
    if len(item.key.figures) != 2:
        yield "the key does not name the two faults that it tells apart"
        return
    faults = [parse_fault(figure.name.rpartition(": ")[0]) for figure in item.key.figures]
    if faults[0] != hidden or faults[0].part == faults[1].part:
        yield f"the key has to tell {hidden} from a fault of another part"
    for fault in faults:
        yield from check_sighting(item, bench, fault)
    yield from check_words(bench, item, hidden)
    yield from check_state_told(bench.circuit, item)
    kind = bench.circuit.part(hidden.part).kind
    if item.key_kind != kind:
        yield f"the item is filed under {item.key_kind!r}; {hidden.part} is a {kind}"
    for option in item.options:
        act = replace(parse_act(option.claim), moves=item.origin.positions)
        yield from check_act_text(bench.circuit, act, option.text)
        yield from check_volts(bench, act, option)
        if option.is_key:
            yield from _check_key(bench, act, option, faults)
        else:
            yield from _check_wrong(item, bench, act, option)
            if option.misconception == BESIDE:
                yield from _check_beside(item, bench, act, option)


def check_sighting(item: Item, bench: Bench, fault: Fault) -> Iterator[str]:
    """What the stem tells is what the circuit does with this fault in it, beyond doubt."""
    way = bench.ways(fault)[0]
    if way.point.behaviour not in STEADY or way.point.ambiguous:
        yield f"with {fault} the circuit does not come to a certain rest"
    for observed in item.proof.observed:
        levels = bench.levels(observed.part, ((way,),))
        if levels != {observed.level}:
            seen = " or ".join(sorted(levels))
            yield f"with {fault} {observed.part} is {seen}, not {observed.level!r}"
    if not item.proof.observed:
        yield "nothing is said to be seen"


def may_look_so(item: Item, bench: Bench, fault: Fault) -> bool:
    """Somebody might tell with this fault what the stem tells."""
    way = bench.ways(fault)[0]
    if way.point.behaviour not in STEADY or way.point.ambiguous:
        return False
    return all(o.level in bench.levels(o.part, ((way,),)) for o in item.proof.observed)


def _check_key(bench: Bench, act: Act, option: Option, faults: list[Fault]) -> Iterator[str]:
    circuits = [bench.circuit, *(inject(bench.circuit, fault) for fault in faults)]
    if act.instrument == UNFUSED:
        yield "the key is a bare wire: never safe"
        return
    displays = look_at([(circuit, act) for circuit in circuits])
    for display in displays:
        if display.unsafe or display.pointless:
            yield f"the key is no good: {display.unsafe or display.pointless}"
            return
    one, other = displays[1:]
    if not apart(one, other):
        yield f"the key shows {one.shown} and {other.shown}: nobody can tell these apart"
    rationale = " ".join(option.rationale)
    for figure, display, fault in zip(option.figures, displays[1:], faults, strict=True):
        yield from _check_figure(figure.name, figure.value, display)
        shown = WORDS.get(display.sure, display.sure)
        clause = describe(bench.circuit, fault, severity=False, names=False)
        if f"{clause}: {shown}" not in rationale:
            yield f"the key's rationale does not say {clause}: {shown}"


def apart(one: Display, other: Display) -> bool:
    """Nobody could take one for the other."""
    if not one.sure or not other.sure or one.sure == other.sure:
        return False
    gap = max(one.low, other.low) - min(one.high, other.high)
    return gap > one.tolerance + other.tolerance


def _check_figure(name: str, value: float, display: Display) -> Iterator[str]:
    if name.rpartition(": ")[2] != display.sure:
        yield f"the key is said to show {name.rpartition(': ')[2]}; it shows {display.shown}"
    figure = -1.0 if isinf(display.low) else display.low
    if not abs(value - figure) <= OFF * abs(figure) + 0.005:
        yield f"the figure behind {display.sure} is {figure:.4g}, not {value:.4g}"


def _check_wrong(item: Item, bench: Bench, act: Act, option: Option) -> Iterator[str]:
    if option.figures:
        yield f"{option.claim}: a wrong check has no figures"
    if act.instrument == UNFUSED:
        if option.misconception != UNFUSED:
            yield f"{option.claim} is a bare wire, not {option.misconception}"
        return
    display = look_at([(bench.circuit, act)])[0]
    if option.misconception == SETTLED:
        yield from _check_settled(item, bench, act, option)
    elif option.misconception in POINTLESS:
        if display.unsafe or not display.pointless:
            yield f"{option.claim} is said to show nothing; it shows {display.shown}"
    elif not display.unsafe:
        yield f"{option.claim} is said to be unsafe; nothing speaks against it"


def _check_settled(item: Item, bench: Bench, act: Act, option: Option) -> Iterator[str]:
    """A voltmeter that shows the same, within what it can tell, whatever suspect it is."""
    sound = look_at([(bench.circuit, act)])[0]
    if act.instrument != "voltmeter" or sound.unsafe or sound.pointless or not sound.sure:
        yield f"{option.claim} is said to be safe and idle; nobody can say what it shows"
        return
    leads = (bench.circuit.point(act.red), bench.circuit.point(act.black))
    members = [f for faults in bench.claims.values() for f in faults if spoken_of(f)]
    bench.prepare(members)
    for fault in members:
        low, high = bench.ways(fault)[0].between(leads)
        differs = max(sound.low - low, high - sound.high) > margin(sound.low) / 2
        if differs and may_look_so(item, bench, fault):
            yield f"{option.claim} tells something: {shown_as(low)} with {fault}"
            return


def _check_beside(item: Item, bench: Bench, act: Act, option: Option) -> Iterator[str]:
    """If what lies between the leads may itself be at fault, the ammeter may close the path."""
    between = {p.id for p in bench.circuit.parts if {act.red, act.black} <= {*p.nodes}}
    for claim, members in bench.claims.items():
        if claim.partition(":")[0] in between and any(
            may_look_so(item, bench, fault) for fault in members if spoken_of(fault)
        ):
            yield f"{option.claim} may be a fair check: {claim} would fit what is told"


def check_volts(bench: Bench, act: Act, option: Option) -> Iterator[str]:
    """Volts in a rationale are what the sound circuit has there, or what an option shows."""
    rationale = " ".join(option.rationale)
    said = set(VOLTS.findall(rationale))
    said -= {volts for figure in option.figures for volts in VOLTS.findall(figure.name)}
    if not said:
        return
    nodes = [bench.circuit.point(p.replace("/", ".")) for p in (act.red, act.black)]
    frame = bench.circuit.reference
    leads = [(nodes[0], nodes[1]), *((node, frame) for node in nodes if node != frame)]
    found = measure(bench.moves, [(bench.circuit, pair) for pair in leads])
    fair = {shown_as(abs(low)).removesuffix(" V") for low, _ in found}
    for volts in sorted(said - fair):
        yield f"{option.claim}: nothing at its points has {volts} V when all is sound"
