"""The figures that an item prints or rests on, as an instrument on its circuit shows them.

Every printed reading, the instrument being part of the circuit; and what `FIGURES` finds in
the options and answers of each kind. A figure carries the solved points that it is read from,
so that it can be read again from points that somebody else has solved.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf, isfinite

from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.faults import inject, parse_fault
from quizgen.items.act import Act, parse_act
from quizgen.items.item import Item, Moves, Option, Reading
from quizgen.items.verify.bench import CLICKERS, Benches
from quizgen.items.verify.instruments import INSTRUMENTS, Display, look_at
from quizgen.items.verify.sums import Bench, work_out
from quizgen.items.verify.tour import Tour
from quizgen.solver import OperatingPoint, solve_cases

TENTH = 0.1  # volts: the last digit of a voltmeter
OF_A_SUM = 1e-4  # share: a figure of a sum is stated with four digits or more
ARROW = " -> "
DISPLAY = re.compile(r"([−-]?)(\d+(?:\.(\d+))?) (mV|V|mA|A|Ω|kΩ|MΩ)\b")
PER_UNIT = {"mV": 1e-3, "mA": 1e-3, "kΩ": 1e3, "MΩ": 1e6}

Read = Callable[[OperatingPoint], float]


@dataclass(frozen=True)
class Shown:
    """A figure: how an item gives it, and how it is read from the circuit at any of `points`.

    `digit` is the worth of the last digit, `unit` that of the figure.
    """

    what: str
    value: float
    digit: float
    unit: str
    points: tuple[OperatingPoint, ...]
    read: Read


@dataclass(frozen=True, eq=False)
class Subject:
    """An item, its sound circuit, the one it speaks of, and how that stands."""

    item: Item
    sound: Circuit
    circuit: Circuit
    stands: tuple[OperatingPoint, ...]


@lru_cache(maxsize=32)
def _built(template: str, parameters: tuple[tuple[str, object], ...]) -> Circuit:
    return find_template(template).build(dict(parameters))


def subject_of(item: Item) -> Subject:
    """The circuits of an item, its fault put in. May raise InputError or CircuitError."""
    origin = item.origin
    sound = _built(origin.template, origin.parameters)
    circuit = inject(sound, parse_fault(origin.fault)) if origin.fault else sound
    point = solve_cases([circuit], [(0, origin.positions)]).point(0)
    return Subject(item, sound, circuit, phases_of(point))


def phases_of(point: OperatingPoint) -> tuple[OperatingPoint, ...]:
    """The phases of a cycle, or the one point."""
    return tuple(phase.point for phase in point.phases) or (point,)


def figures_of(case: Subject) -> Iterator[Shown]:
    """All figures of an item that are read from a circuit. May raise InputError, CircuitError.

    A reading that nobody may take has no figure; the verifier says that it may not be taken.
    """
    readings = case.item.readings
    acts = [_act(reading, case.item) for reading in readings]
    displays = look_at([(case.circuit, act) for act in acts])
    for number, (reading, act, display) in enumerate(zip(readings, acts, displays, strict=True), 1):
        yield from _on(display, act, f"reading {number}", reading.shown)
    if case.item.kind in FIGURES:
        yield from FIGURES[case.item.kind](case)


def _act(reading: Reading, item: Item) -> Act:
    return Act(
        instrument=reading.instrument, red=reading.red_node, black=reading.black_node,
        moves=item.origin.positions if reading.moves is None else reading.moves,
        apart=reading.apart, removed=reading.removed, unplugged=reading.unplugged,
    )  # fmt: skip


def _on(display: Display, act: Act, what: str, text: str) -> Iterator[Shown]:
    """The figure on a display that is said to show `text`."""
    if display.point is not None:
        value, digit, unit = display_of(text)
        yield Shown(what, value, digit, unit, phases_of(display.point), _reader(act, text))


def display_of(text: str) -> tuple[float, float, str]:
    """Figure, worth of its last digit and unit; OL is inf; of words 1 stands for "as shown".

    >>> display_of("−12.6 V"), display_of("4.70 kΩ"), display_of("OL")
    ((-12.6, 0.1, 'V'), (4700.0, 10.0, 'Ω'), (inf, 1.0, ''))
    """
    if text == "OL":
        return inf, 1.0, ""
    found = DISPLAY.match(text)
    if found is None:
        return 1.0, 1.0, ""
    sign, digits, decimals, unit = found.groups()
    per = PER_UNIT.get(unit, 1.0)
    value = float(digits) * per * (-1.0 if sign else 1.0)
    return value, 10.0 ** -len(decimals or "") * per, unit[-1]


def _reader(act: Act, text: str) -> Read:
    instrument = INSTRUMENTS[act.instrument]
    if text == "OL" or DISPLAY.match(text):
        return lambda point: instrument.read(point, act.red).value
    return lambda point: float(instrument.read(point, act.red).shown == text)


def _of_the_display(case: Subject) -> Iterator[Shown]:
    """The right answer is what an instrument shows: ACT -> DISPLAY, or a number for ACT."""
    number = case.item.number
    text = number.quantity if number else case.item.key.claim
    words, _, shown = text.partition(ARROW)
    if number:
        shown = f"{number.value:.{min(max(number.decimals, 0), 9)}f} {number.unit}"
    act = parse_act(words)
    [display] = look_at([(case.circuit, act)])
    yield from _on(display, act, "the answer", shown)


def _with_another_fault(case: Subject) -> Iterator[Shown]:
    """Figures of options that a voltmeter to the frame would show: FAULT@NODE."""
    asked, moves = [], case.item.origin.positions
    for option in case.item.options:
        for figure in option.figures:
            fault, at, node = figure.name.rpartition("@")
            if at:
                frame = case.sound.reference
                act = Act(instrument="voltmeter", red=node, black=frame, moves=moves)
                what = f"option {option.claim}, {figure.name}"
                asked.append((what, fault, act, (figure.value,)))
    yield from _metered(case, asked)


def _of_refutations(case: Subject) -> Iterator[Shown]:
    """What a reading would have been with an option's fault, where that has no degrees."""
    asked, item = [], case.item
    claims = Benches(case.sound).at(item.origin.positions).claims
    for option in item.options:
        r, members = option.refuted_by, claims.get(option.claim, ())
        if r is not None and 0 <= r.reading < len(item.readings) and len(members) == 1:
            act = _act(item.readings[r.reading], item)
            asked.append((f"option {option.claim}", str(members[0]), act, (r.low, r.high)))
    yield from _metered(case, asked)


def _metered(
    case: Subject, asked: Sequence[tuple[str, str, Act, tuple[float, ...]]]
) -> Iterator[Shown]:
    """What a voltmeter shows: name, fault in the circuit, act, the figures stated.

    Where a fuse may open or hold the figures are bounds of both, which is left out.
    """
    circuits = [inject(case.sound, parse_fault(fault)) for _, fault, _, _ in asked]
    displays = look_at([(c, act) for c, (_, _, act, _) in zip(circuits, asked, strict=True)])
    for (what, _, act, values), display in zip(asked, displays, strict=True):
        if display.point is None or display.doubts:
            continue
        points = phases_of(display.point)
        for value in values:
            yield Shown(what, value, TENTH, "V", points, _reader(act, "0.0 V"))


def _across_loads(case: Subject) -> Iterator[Shown]:
    """Figures of options that are volts across a load: PART FAULT, or PART sound."""
    item = case.item
    told = [o.moves for o in item.proof.observed if o.moves is not None]
    states = tuple(dict.fromkeys([item.origin.positions, *told]))
    tour = Tour(Benches(case.sound), states)
    for option in item.options:
        moves = _state_of(option, item)
        for figure in option.figures if moves in states else ():
            part, _, fault = figure.name.partition(" ")
            if fault == "sound":
                point = tour.benches.at(moves).sound[0].point
            else:
                point = tour.ways(parse_fault(fault))[0][moves].point
            what = f"option {option.claim}, {figure.name}"
            yield Shown(what, figure.value, TENTH, "V", phases_of(point), _across(part))


def _state_of(option: Option, item: Item) -> Moves:
    r = option.refuted_by
    return item.origin.positions if r is None or r.moves is None else r.moves


def _across(part_id: str) -> Read:
    def read(point: OperatingPoint) -> float:
        part = point.circuit.part(part_id)
        flows = point.flows(part)
        some = flows[:1] if isinstance(part, CLICKERS) else flows
        return max((abs(flow.volts or 0.0) for flow in some), default=0.0)

    return read


def _of_the_sum(case: Subject) -> Iterator[Shown]:
    """The figure that a sum is held against, by the solver."""
    item = case.item
    quantity = item.number.quantity if item.number else item.key.claim.rpartition("=")[0]
    for figure in item.proof.figures:
        if figure.name == "by the solver" and isfinite(figure.value):
            digit = max(OF_A_SUM * abs(figure.value), 1e-5)
            yield Shown(
                f"the answer to {quantity}", figure.value, digit, figure.unit, case.stands[:1],
                lambda point: work_out(Bench(case.sound, point, item.readings), quantity).solver,
            )  # fmt: skip


FIGURES: dict[str, Callable[[Subject], Iterator[Shown]]] = {
    "predict-reading": _of_the_display,
    "fault-from-readings": _of_refutations,
    "fault-from-complaint": _across_loads,
    "certain-after-test": _with_another_fault,
    "compute": _of_the_sum,
}
"""Kind of item → its figures besides the readings it prints. To add one: a function, a line."""
