"""Verifies "what does the instrument show".

1. the told fault is the one put in, and the machine stands still with it
2. what the stem gives is what the instruments show
3. the key is what the instrument shows, beyond doubt; nobody takes a wrong value for it
4. the words name the fault, the controls, the leads, and no figure that the circuit has not
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import isfinite

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, describe, inject, parse_fault
from quizgen.faults.wording import point_name
from quizgen.items.act import Act, parse_act
from quizgen.items.item import Item, Number, Option
from quizgen.items.verify.bench import Bench, Benches, severity_of
from quizgen.items.verify.instruments import BRIGHTNESS, Display, look, look_at
from quizgen.items.verify.meter import HALF_DIGIT, MINUS, margin
from quizgen.items.verify.stillness import restless, smoking
from quizgen.solver import OperatingPoint

ARROW = " -> "
FIGURE = re.compile(r"(?<!under )(?<![\w.])([−-]?\d+(?:\.\d+)?) (V|A|Ω)(?!\w)")
OL_FIGURE = -1.0


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    act, findings = _act_of(item)
    yield from findings
    if act is None:
        return
    bench = benches.at(item.origin.positions)
    if item.told != ((item.origin.fault,) if item.origin.fault else ()):
        yield f"the stem tells {item.told}; the fault put in is {item.origin.fault!r}"
        return
    fault = parse_fault(item.origin.fault) if item.origin.fault else None
    case = Case(item, bench, act, fault)
    yield from _check_state(case)
    yield from _check_given(case)
    yield from _check_display(case)
    yield from _check_words(case)


def _act_of(item: Item) -> tuple[Act | None, list[str]]:
    """The act that is asked about: the same in all claims."""
    claims = [item.number.quantity + ARROW] if item.number else [o.claim for o in item.options]
    acts = {claim.partition(ARROW)[0] for claim in claims}
    if len(acts) != 1 or not all(ARROW in claim for claim in claims):
        return None, ["the options are not displays of one and the same instrument"]
    try:
        act = parse_act(acts.pop())
    except InputError as error:
        return None, [str(error)]
    if act.moves != item.origin.positions:
        return None, [f"the reading is taken with {act.moves}, the machine stands otherwise"]
    return act, []


@dataclass(frozen=True, eq=False)
class Case:
    """An item on the bench."""

    item: Item
    bench: Bench
    act: Act
    fault: Fault | None

    @cached_property
    def circuit(self) -> Circuit:
        """With the fault in it."""
        return self.bench.circuit if self.fault is None else inject(self.bench.circuit, self.fault)

    @cached_property
    def real(self) -> OperatingPoint:
        """How the machine stands, no instrument on it."""
        return self.sound if self.fault is None else self.bench.ways(self.fault)[0].point

    @cached_property
    def sound(self) -> OperatingPoint:
        """The same with nothing wrong."""
        return self.bench.sound[0].point

    @cached_property
    def display(self) -> Display:
        """What the instrument shows."""
        return look(self.circuit, self.act)


def _check_state(case: Case) -> Iterator[str]:
    for what, point in (("the faulty circuit", case.real), ("the sound circuit", case.sound)):
        yield from restless(what, point)
    yield from (f"wire {w} would smoke before anybody measured" for w in smoking(case.real))
    kind = case.bench.circuit.part(case.fault.part).kind if case.fault else ""
    if case.item.key_kind != kind:
        yield f"the kind of part at fault is {case.item.key_kind!r}; it is {kind!r}"


def _check_given(case: Case) -> Iterator[str]:
    """The readings of the stem."""
    acts = [
        Act(instrument=r.instrument, red=r.red_node, black=r.black_node, moves=case.act.moves)
        for r in case.item.readings
    ]
    for number, (reading, display) in enumerate(
        zip(case.item.readings, look_at([(case.circuit, act) for act in acts]), strict=True), 1
    ):
        where = f"reading {number}, {reading.red}"
        if not agrees(reading.shown, display):
            yield f"{where}: the instrument shows {_what(display)}, printed is {reading.shown}"
        if not isfinite(reading.volts) or abs(reading.volts - display.low) > HALF_DIGIT:
            yield f"{where}: the figure is {display.low:.4g}, the item says {reading.volts:g}"
        told = reading.red.partition(" ")[2] if reading.instrument == "clamp-ammeter" else None
        name = reading.red_node if told else _named(case.circuit, reading.red_node)
        if name and (told or reading.red) != name:
            yield f"{where}: the lead is on {name}"
        black = "" if told else _named(case.circuit, reading.black_node)
        if black and reading.black != black:
            yield f"{where}: the black lead is on {black}"


def _what(display: Display) -> str:
    return display.unsafe or ", then ".join((*display.shown, *display.doubts))


def _named(circuit: Circuit, node: str) -> str:
    """A point's name; "" for the frame, which may be called anything."""
    return "" if node == circuit.reference else point_name(circuit, node, names=False)


# --- the display -----------------------------------------------------------------------------


def _check_display(case: Case) -> Iterator[str]:
    display = case.display
    if display.unsafe or display.pointless:
        yield f"nobody should measure so: {display.unsafe or display.pointless}"
        return
    if not display.sure:
        yield f"nobody can say what it shows: {_what(display)}"
        return
    if case.item.number is not None:
        yield from _check_number(display, case.item.number)
        return
    values: list[float] = []
    for option in case.item.options:
        shown = option.claim.partition(ARROW)[2]
        value = value_of(shown)
        if value is None:
            yield f"option {option.claim}: no instrument shows {shown!r}"
            continue
        if option.is_key != agrees(shown, display):
            yield f"option {option.claim}: the instrument shows {display.sure}"
        yield from _check_option(case, option, shown, value)
        if not option.is_key and not apart(case.act.instrument, value, display.low):
            yield f"option {option.claim}: nobody tells it from {display.sure}"
        if any(not apart(case.act.instrument, value, other) for other in values):
            yield f"option {option.claim}: nobody tells it from another option"
        values.append(value)
    if values != sorted(values):
        yield "the options are not sorted by size"


def _check_option(case: Case, option: Option, shown: str, value: float) -> Iterator[str]:
    lamp = shown in BRIGHTNESS.values()
    if not lamp and option.text != shown:
        yield f"option {option.claim} reads {option.text!r}"
    if not option.is_key and not option.misconception:
        yield f"option {option.claim} has no wrong model behind it"
    if not option.rationale:
        yield f"option {option.claim} has no rationale"
    for figure in option.figures:
        exact = case.display.low if option.is_key else value
        if lamp and not option.is_key:
            continue
        stated = OL_FIGURE if exact == float("inf") else exact
        if not abs(figure.value - stated) <= 0.051 + 0.01 * abs(stated):
            yield f"option {option.claim}: its figure is {figure.value:g}, not {stated:.4g}"


def value_of(shown: str) -> float | None:
    """The figure on a display; OL is inf, a lamp's brightness a share; None if it is none.

    >>> value_of("−0.4 V"), value_of("4.70 kΩ"), value_of("OL"), value_of("bright")
    (-0.4, 4700.0, inf, None)
    """
    if shown == "OL":
        return float("inf")
    brightness = dict(zip(BRIGHTNESS.values(), (0.0, 0.45, 1.0), strict=True))
    if shown in brightness:
        return brightness[shown]
    found = re.fullmatch(rf"({MINUS}?)(\d+(?:\.\d+)?) (V|A|Ω|kΩ|MΩ)", shown)
    if found is None:
        return None
    minus, digits, unit = found.groups()
    return float(digits) * {"kΩ": 1e3, "MΩ": 1e6}.get(unit, 1.0) * (-1.0 if minus else 1.0)


def agrees(shown: str, display: Display) -> bool:
    """The display, or at half a digit the other one that a meter may settle on."""
    value = value_of(shown)
    if shown == display.sure or value is None or not display.sure:
        return bool(display.sure) and shown == display.sure
    same_unit = shown[-2:] == display.sure[-2:] and shown[-1] in "VA"
    return same_unit and abs(value - display.low) <= HALF_DIGIT


def apart(instrument: str, one: float, other: float) -> bool:
    """The instrument, and another of its make, tell the two values apart."""
    greatest = max(abs(one), abs(other))
    if greatest == float("inf"):
        return one != other
    match instrument:
        case "voltmeter":
            return abs(one - other) > margin(greatest)
        case "clamp-ammeter":
            return abs(one - other) > 2.0 * (0.025 * greatest + 0.3)
        case "ohmmeter":
            return abs(one - other) > 2.0 * (0.01 * greatest + 0.1)
        case _:
            return abs(one - other) > 0.2


def _check_number(display: Display, number: Number) -> Iterator[str]:
    """What a good meter of the kind may show counts as right, what a wrong model says does not."""
    values = (number.value, number.low, number.high, *(w.value for w in number.wrong))
    if not all(isfinite(v) for v in values):
        yield "the answer is not a number"
        return
    if abs(number.value - display.low) > HALF_DIGIT:
        yield f"the answer is {number.value:g}; the instrument shows {display.sure}"
    if (
        number.low > display.low - display.tolerance
        or number.high < display.low + display.tolerance
    ):
        yield f"a sound meter may show what {number.low:g} to {number.high:g} does not take"
    for wrong in number.wrong:
        if not apart(display.instrument, wrong.value, display.low):
            yield f"nobody tells the wrong answer {wrong.value:g} from {display.sure}"
        if not wrong.misconception:
            yield f"the wrong answer {wrong.value:g} has no wrong model behind it"


# --- words -----------------------------------------------------------------------------------


def _check_words(case: Case) -> Iterator[str]:
    stem = " ".join(case.item.stem).casefold()
    if case.fault is not None:
        clause = describe(case.bench.circuit, case.fault, names=False)
        if clause.casefold() not in stem:
            yield f"the stem does not tell that {clause}"
    for control, position in case.act.moves:
        label = case.circuit.by_control[control].label
        if not any(_told(n, stem) for n in (control, label) if n) or not _told(position, stem):
            yield f"the stem does not say {control}={position}"
    for part in (*case.act.removed, *case.act.unplugged):
        battery = isinstance(case.circuit.part(part), c.Battery)
        if not _told("battery" if battery else part, stem):
            yield f"the stem does not say that {part} is off"
    yield from _check_question(case)
    yield from _check_figures(case)


def _check_question(case: Case) -> Iterator[str]:
    question = case.item.question.casefold()
    for lead in (case.act.red, case.act.black):
        part, slash, terminal = lead.partition("/")
        plain = not slash and case.act.instrument != "clamp-ammeter"
        names = (part, terminal) if slash else (_named(case.circuit, lead) if plain else lead,)
        if not all(_told(name, question) for name in names if name):
            yield f"the question does not say that a lead is on {lead}"


def _told(words: str, text: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(words.casefold())}(?!\w)", text) is not None


def _check_figures(case: Case) -> Iterator[str]:
    """Every figure of a rationale is one of the circuit, or a half or a difference of such."""
    known = _known(case)
    texts = [(o.claim, o.rationale) for o in case.item.options] + [("", case.item.solution)]
    for wrong in case.item.number.wrong if case.item.number else ():
        texts.append((f"{wrong.value:g}", wrong.rationale))
    for claim, rationale in texts:
        for digits, unit in FIGURE.findall(" ".join(rationale)):
            value = float(digits.replace(MINUS, "-"))
            near = 0.06 + 0.005 * abs(value)
            if not any(abs(abs(value) - abs(k)) <= near for k in known[unit]):
                yield f"option {claim or 'solution'}: nothing in the circuit has {digits} {unit}"


def _known(case: Case) -> dict[str, list[float]]:
    item = case.item
    supply = [r.volts for r in item.readings if r.instrument == "voltmeter"]
    amps = [r.volts for r in item.readings if r.instrument == "clamp-ammeter"]
    claimed = [value_of(o.claim.partition(ARROW)[2]) or 0.0 for o in item.options]
    if item.number:
        claimed += [item.number.value, *(w.value for w in item.number.wrong)]
    ohm = severity_of(case.fault) if case.fault and case.fault.mode == "resistance" else 0.0
    words = " ".join([item.question, *item.stem, *(t for o in item.options for t in o.rationale)])
    words = " ".join([words, *item.solution, *_wrong_words(item)]).casefold()
    nodes = [n for n in case.circuit.nodes if _told(_named(case.circuit, n) or "frame", words)]
    volts = [p.volts(n) or 0.0 for p in (case.real, case.sound) for n in nodes]
    watts = 3.0 / (28.0 if case.circuit.system_volts >= 20.0 else 13.5)
    lamp = case.act.instrument == "test-lamp"
    if lamp:
        meter = Act(**{**vars(case.act), "instrument": "voltmeter"})
        volts.append(look(case.circuit, meter).low)
        volts += [watts * ohm]
    whole = max(map(abs, (*supply, *volts)), default=0.0)
    currents = [abs(k.amps) for p in case.circuit.parts for k in case.real.flows(p)]
    return {
        "V": [*claimed, *supply, *volts, *(a * ohm for a in amps)],
        "A": [*claimed, *amps, *(currents if amps else ()), watts, whole / ohm if ohm else 0.0],
        "Ω": [*claimed, ohm],
    }


def _wrong_words(item: Item) -> Iterator[str]:
    for wrong in item.number.wrong if item.number else ():
        yield from wrong.rationale
