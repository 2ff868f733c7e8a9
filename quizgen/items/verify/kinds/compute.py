"""Verifies "work out a figure".

1. the machine stands still, and each reading is what the circuit gives
2. the sum, worked out anew from the printed readings, agrees with the solver (`verify.sums`)
3. the key is its answer; each wrong answer is what its wrong model comes to, and apart from it
4. the words: leads, states, data of data sheets, every figure of a rationale
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite

from quizgen.base.errors import InputError
from quizgen.circuit.components import LOADS
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, describe, inject, parse_fault
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.item import Item, Reading
from quizgen.items.verify.act_text import check_state_told
from quizgen.items.verify.bench import Benches, claim_of
from quizgen.items.verify.instruments import Display, look_at
from quizgen.items.verify.sum_records import Bench, Worked
from quizgen.items.verify.sums import work_out
from quizgen.items.verify.words import told_of
from quizgen.solver import OperatingPoint

CLAMP = "clamp-ammeter"
AGREE = 0.65  # of the tolerance: how far the school's answer may be from the solver's
APART = 1.2  # of the tolerance: how near a wrong answer may come to the right one
FIGURE = re.compile(r"([−-]?\d+(?:\.\d+)?) (mA|mV|mΩ|kΩ|mm²|A|V|Ω|W|m|%)(?![\w²])")
PREFIX = {"mA": 1e-3, "mV": 1e-3}
FIGURE_OFF = 0.012  # share by which a figure of three digits may be off


@dataclass(frozen=True)
class Answer:
    """One answer of the item: its value in the item's unit, its words, the model behind it."""

    value: float
    text: str
    is_key: bool
    rationale: tuple[str, ...]
    misconception: str = ""


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    fault = parse_fault(item.origin.fault) if item.origin.fault else None
    way = bench.ways(fault)[0] if fault else bench.sound[0]
    circuit = inject(bench.circuit, fault) if fault else bench.circuit
    yield from _check_state(way.point)
    unfit = tuple(_check_readings(item, circuit))
    yield from unfit
    if unfit:
        return
    quantity, answers = _answers(item)
    worked = work_out(Bench(bench.circuit, way.point, item.readings), quantity)
    yield from _check_worked(item, worked)
    yield from _check_answers(item, worked, answers)
    yield from _check_about(item, bench.circuit, quantity)
    yield from _check_stem(item, bench.circuit, fault, worked)


def _check_state(point: OperatingPoint) -> Iterator[str]:
    if point.behaviour not in ("steady", "protector-open") or point.phases:
        yield f"the circuit does not come to rest: {point.behaviour}"
    yield from (f"the circuit is in doubt: {reason}" for reason in point.ambiguous)


# --- readings -------------------------------------------------------------------------------


def _check_readings(item: Item, circuit: Circuit) -> Iterator[str]:
    acts = []
    for number, reading in enumerate(item.readings, 1):
        taken = reading.moves or reading.apart or reading.removed or reading.unplugged
        if taken or not (isfinite(reading.volts) and reading.volts > 0.0):
            yield f"reading {number}: no figure that a sum can start from"
            return
        acts.append(Act(
            instrument=reading.instrument, red=reading.red_node, black=reading.black_node,
            moves=item.origin.positions,
        ))  # fmt: skip
    for number, (reading, display) in enumerate(
        zip(item.readings, look_at([(circuit, act) for act in acts]), strict=True), 1
    ):
        yield from _check_reading(number, reading, display, circuit)


def _check_reading(
    number: int, reading: Reading, display: Display, circuit: Circuit
) -> Iterator[str]:
    if display.unsafe or display.pointless or reading.shown != display.sure:
        seen = display.unsafe or display.pointless or " or ".join(display.shown)
        yield f"reading {number}: the meter shows {seen}, printed is {reading.shown}"
    elif reading.shown.split()[0] != _plain(reading.volts, reading.shown):
        yield f"reading {number}: printed is {reading.shown}, the figure is {reading.volts:g}"
    clamp = reading.instrument == CLAMP
    for node, text in ((reading.red_node, reading.red), (reading.black_node, reading.black)):
        name = "" if not node else f"around wire {node}" if clamp else _name(circuit, node)
        if text != name:
            yield f"reading {number}: a lead is at {name!r}, printed is {text!r}"


def _plain(value: float, like: str) -> str:
    """A figure with as many decimals as `like` has."""
    decimals = len(like.split(maxsplit=1)[0].partition(".")[2])
    return f"{value:.{decimals}f}".replace("-", "−")


def _name(circuit: Circuit, node: str) -> str:
    return point_name(circuit, circuit.point(node), names=False)


# --- the sum and its answers ----------------------------------------------------------------


def _answers(item: Item) -> tuple[str, tuple[Answer, ...]]:
    """The quantity asked for and all answers, the right one among them."""
    number = item.number
    if number is not None:
        text = f"{number.value:.{max(min(number.decimals, 9), 0)}f} {number.unit}"
        key = Answer(number.value, text, True, item.solution)
        wrong = (Answer(w.value, "", False, w.rationale, w.misconception) for w in number.wrong)
        return number.quantity, (key, *wrong)
    found, quantities = [], set()
    for option in item.options:
        quantity, _, value = option.claim.rpartition("=")
        quantities.add(quantity)
        found.append(Answer(_value(value), option.text, option.is_key, option.rationale,
                            option.misconception))  # fmt: skip
    if len(quantities) != 1:
        raise InputError(f"the options answer {len(quantities)} questions")
    return quantities.pop(), tuple(found)


def _value(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"{text!r} is no value of an answer") from None


def _check_worked(item: Item, worked: Worked) -> Iterator[str]:
    if abs(worked.school - worked.solver) > AGREE * worked.tolerance * abs(worked.solver):
        yield f"the sum gives {worked.school:.4g}, the circuit {worked.solver:.4g} {worked.unit}"
    figures = {figure.name: figure.value for figure in item.proof.figures}
    expected = {"by the solver": worked.solver, "by the sum": worked.school, **worked.given}
    if set(figures) != set(expected) or len(figures) != len(item.proof.figures):
        yield f"the proof gives {sorted(figures)}; it should give {sorted(expected)}"
    for name in set(figures) & set(expected):
        if not abs(figures[name] - expected[name]) <= 1e-4 * abs(expected[name]) + 1e-6:
            yield f"the proof has {name} {figures[name]:.5g}; it is {expected[name]:.5g}"


def _check_answers(item: Item, worked: Worked, answers: Sequence[Answer]) -> Iterator[str]:
    unit = item.number.unit if item.number else answers[0].text.rpartition(" ")[2]
    scale = 1000.0 if unit == "mA" and worked.unit == "A" and not worked.series else 1.0
    if unit != worked.unit and scale == 1.0:
        yield f"the answer is in {unit}; the sum gives {worked.unit}"
    decimals = _decimals(item, answers)
    right = worked.school * scale
    for answer in answers:
        expected = (right,) if answer.is_key else _models(worked, answer, scale)
        half = 0.5 * 10.0**-decimals + 1e-9
        fits = any(abs(answer.value - e) <= half for e in expected)
        if not fits:
            listed = ", ".join(f"{e:.4g}" for e in expected) or "nothing"
            what = "the sum" if answer.is_key else f"the model {answer.misconception!r}"
            yield f"the answer {answer.value:g}: {what} comes to {listed}"
        if not answer.is_key and abs(answer.value - right) <= APART * worked.tolerance * right:
            yield f"the wrong answer {answer.value:g} is as good as the right one"
        yield from _check_figures(worked, answer, answers, scale)
    if item.number is not None:
        yield from _check_number(item, worked, right)
    else:
        yield from _check_options(item, answers, unit)


def _models(worked: Worked, answer: Answer, scale: float) -> tuple[float, ...]:
    return tuple(scale * v for v in worked.wrong.get(answer.misconception, ()) if isfinite(v))


def _decimals(item: Item, answers: Sequence[Answer]) -> int:
    if item.number is not None:
        return item.number.decimals
    return max(len(a.text.split()[0].partition(".")[2]) for a in answers if a.text.split())


def _check_number(item: Item, worked: Worked, right: float) -> Iterator[str]:
    number = item.number
    assert number is not None  # as called
    for name, bound, sign in (("low", number.low, -1.0), ("high", number.high, 1.0)):
        expected = right * (1.0 + sign * worked.tolerance)
        if abs(bound - expected) > 1e-4 * max(abs(expected), 1e-3):
            yield f"the {name} bound is {bound:g}; the sum gives {expected:.5g}"
    told = [number.unit] + ([f"{100.0 * worked.tolerance:g} %"] if worked.tolerance else [])
    yield from (f"the question does not say {w!r}" for w in told if w not in item.question)


def _check_options(item: Item, answers: Sequence[Answer], unit: str) -> Iterator[str]:
    if not item.in_natural_order or any(a.value >= b.value for a, b in pairwise(answers)):
        yield "the answers do not stand by size"
    decimals = {len(a.text.split()[0].partition(".")[2]) for a in answers if a.text.split()}
    for answer in answers:
        number, _, its_unit = answer.text.partition(" ")
        if its_unit != unit or not re.fullmatch(r"\d+(\.\d+)?", number):
            yield f"the option reads {answer.text!r}, which is no figure in {unit}"
        elif abs(float(number) - answer.value) > 1e-9:
            yield f"the option reads {answer.text!r}; it stands for {answer.value:g}"
    if len(decimals) > 1:
        yield "the options differ in decimals"


def _check_figures(
    worked: Worked, answer: Answer, answers: Sequence[Answer], scale: float
) -> Iterator[str]:
    """Every figure with a unit in a rationale is one that the sum has, or the answer implies."""
    key = next(a for a in answers if a.is_key)
    own = [a.value / scale for a in (answer, key)]
    exact = [*worked.wrong.get(answer.misconception, ()), worked.school]
    implied = [v for value in (*own, *exact) if value for v in worked.implied(value)]
    fair = [*own, *exact, *implied, *worked.given.values(), *worked.other, *worked.shown]
    if not any(str(text).strip() for text in answer.rationale):
        yield f"nothing is said about the answer {answer.value:g}"
    for number, unit in FIGURE.findall(" ".join(answer.rationale)):
        value = float(number.replace("−", "-")) * PREFIX.get(unit, 1.0)
        digit = 0.5 * 10.0 ** -len(number.partition(".")[2]) * PREFIX.get(unit, 1.0)
        near = (abs(value - f) <= digit + FIGURE_OFF * abs(f) for f in fair if isfinite(f))
        if not any(near):
            yield f"the rationale of {answer.value:g} has {number} {unit}, which nothing gives"


# --- the words ------------------------------------------------------------------------------


def _check_about(item: Item, circuit: Circuit, quantity: str) -> Iterator[str]:
    about = re.split(r"[:,+]", quantity)[1]
    part = circuit.by_id.get(about) or circuit.by_id.get(about.rpartition(".")[0])
    kinds = {circuit.by_id[p].kind for p, _ in circuit.terminals_at.get(about, ())}
    kinds |= {part.kind} if part is not None else set()
    if quantity.startswith("resistance:"):
        other = quantity.partition(",")[2]
        kinds |= {circuit.by_id[p].kind for p, _ in circuit.terminals_at.get(other, ())}
    if item.key_kind not in kinds:
        yield f"the item is filed under {item.key_kind!r}; it is about {' or '.join(sorted(kinds))}"
    if isinstance(part, LOADS) and not told_of(part.id, item.question):
        yield f"the question does not name {part.id}"


def _check_stem(item: Item, circuit: Circuit, fault: Fault | None, worked: Worked) -> Iterator[str]:
    stem = " ".join(item.stem)
    yield from check_state_told(circuit, item)
    for reading in item.readings:
        if reading.state and reading.state.casefold() not in stem.casefold():
            yield f"the stem does not give the state of the readings, {reading.state!r}"
    told = (claim_of(circuit, fault),) if fault else ()
    if item.told != told:
        yield f"told is {item.told}; the fault put in is {item.origin.fault or 'none'}"
    clause = describe(circuit, fault, severity=False, names=False) if fault else ""
    if clause.casefold() not in stem.casefold():
        yield f"the stem does not tell that {clause}"
    for value in worked.told:
        if not re.search(rf"(?<![\d.]){re.escape(f'{round(value, 6):g}')}(?![\d]|\.\d)", stem):
            yield f"the stem does not give the figure {value:g}"
