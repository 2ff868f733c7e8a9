"""The words of an item, held against the circuit: leads, states, option texts, figures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, describe, inject
from quizgen.faults.wording import point_name
from quizgen.items.item import Item, Moves, Option, Reading
from quizgen.items.verify.bench import SCALES, Bench, spoken_of
from quizgen.items.verify.meter import HALF_DIGIT, measure

FIGURE = re.compile(r"(?<!under )(?<![\d.])([−-]?\d+(?:\.\d+)?) V\b")
ONE_FIGURE_VOLTS = 0.16  # a range this narrow may be told by one figure within it
IDLE = frozenset(scale[0] for scale in SCALES) | {"stopped"}


def check_words(bench: Bench, item: Item, fault: Fault) -> Iterator[str]:
    """What is wrong with the sentences as far as the circuit can tell."""
    for number, reading in enumerate(item.readings, 1):
        yield from _check_leads(bench, reading, f"reading {number}")
    yield from _check_stem(bench, item)
    for option in item.options:
        members = bench.claims.get(option.claim, ())
        if members:
            yield from _check_text(bench.circuit, option, members[0])
            yield from _check_figures(bench, option, fault)


def _check_leads(bench: Bench, reading: Reading, what: str) -> Iterator[str]:
    circuit = bench.circuit
    for colour, node, text in (
        ("red", reading.red_node, reading.red),
        ("black", reading.black_node, reading.black),
    ):
        if node == circuit.reference:
            continue  # a clean point of the frame, however it is called
        name = point_name(circuit, node, names=False)
        if text != name:
            yield f"{what}: the {colour} lead is on {name}, printed is {text!r}"
    for move in moves_untold(circuit, bench.moves, reading.state):
        yield f"{what}: its state {reading.state!r} does not say {move}"


def _check_stem(bench: Bench, item: Item) -> Iterator[str]:
    """Each thing observed is named; loads that are idle as they should be need not be."""
    stem = " ".join(item.stem).casefold()
    for observed in item.proof.observed:
        load = bench.sound[0].batch.seen(bench.sound[0].case).get(observed.part)
        idle = load is not None and observed.level == load.level and load.level in IDLE
        if not idle and not told_of(observed.part, stem):
            yield f"the stem does not tell that {observed.part} {observed.level}"


def controls_named(circuit: Circuit, text: str) -> set[str]:
    """Controls by name or label, longest first: "coolant level" says nothing of "coolant"."""
    words = [
        (word, control.name)
        for control in circuit.controls
        for word in (control.name, control.label)
        if word
    ]
    named = set()
    for word, name in sorted(words, key=lambda pair: -len(pair[0])):
        if told_of(word, text):
            named.add(name)
            text = re.sub(re.escape(word), "", text, flags=re.IGNORECASE)
    return named


def leads_mistold(circuit: Circuit, reading: Reading) -> Iterator[str]:
    """`the red lead is not on 'K1'`; a clean point of the frame may be called as one likes."""
    for colour, node, text in (
        ("red", reading.red_node, reading.red),
        ("black", reading.black_node, reading.black),
    ):
        if node != circuit.reference and text != point_name(circuit, node, names=False):
            yield f"the {colour} lead is not on {text!r}"


def moves_untold(circuit: Circuit, moves: Moves, text: str) -> Iterator[str]:
    """`CONTROL=POSITION` where the text does not name the control, or not how it stands."""
    for name, position in moves:
        label = circuit.by_control[name].label
        named = any(told_of(word, text) for word in (name, label) if word)
        if not named or not told_of(position, text):
            yield f"{name}={position}"


def told_of(words: str, text: str) -> bool:
    """The words stand in the text, by themselves, in capitals or not."""
    found = re.search(rf"(?<!\w){re.escape(words.casefold())}(?!\w)", text.casefold())
    return found is not None


def _check_text(circuit: Circuit, option: Option, member: Fault) -> Iterator[str]:
    clause = describe(circuit, member, severity=False, names=False)
    if option.text != clause[0].upper() + clause[1:]:
        yield f"option {option.claim} reads {option.text!r}; the claim is {clause!r}"


def _check_figures(bench: Bench, option: Option, fault: Fault) -> Iterator[str]:
    """Every figure in volts belongs to a point that the same rationale names."""
    rationale = " ".join(option.rationale)
    figures = [m.group(1).replace("−", "-") for m in FIGURE.finditer(rationale)]
    values = _values(bench, option, fault, _points(bench.circuit, rationale))
    for figure in figures:
        if not any(low - HALF_DIGIT <= float(figure) <= high + HALF_DIGIT for low, high in values):
            yield f"option {option.claim}: no point that its rationale names has {figure} V"
    found = option.refuted_by.found if option.refuted_by and option.refuted_by.reading >= 0 else ""
    if found and found not in rationale:
        yield f"option {option.claim}: its rationale does not give the reading, {found}"


def _points(circuit: Circuit, text: str) -> list[str]:
    names = {node: point_name(circuit, node, names=False) for node in circuit.nodes}
    return [node for node, name in names.items() if told_of(name, text.casefold())]


def _values(
    bench: Bench, option: Option, fault: Fault, nodes: Sequence[str]
) -> list[tuple[float, float]]:
    """Ranges of volts that may stand in a rationale: found, sound, lost between, claimed."""
    circuit = bench.circuit
    leads = [(node, circuit.reference) for node in nodes]
    hidden = inject(circuit, fault)
    shown = measure(bench.moves, [(c, pair) for c in (hidden, circuit) for pair in leads])
    found = shown[: len(leads)]
    across = [(abs(a - b), abs(a - b)) for i, (a, _) in enumerate(found) for b, _ in found[i + 1 :]]
    if option.is_key:
        return shown + across
    members = [member for member in bench.claims[option.claim] if spoken_of(member)]
    ends = []
    for pair in leads:
        claimed = [way.between(pair) for member in members for way in bench.ways(member)]
        lowest, highest = min(low for low, _ in claimed), max(high for _, high in claimed)
        one_figure = highest - lowest < ONE_FIGURE_VOLTS
        ends += [(lowest, highest)] if one_figure else [(lowest, lowest), (highest, highest)]
    return found + ends
