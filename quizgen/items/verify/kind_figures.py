"""The figures that items rest on besides the readings they print, by kind of question.

Those that an instrument would show on the circuit of the item, or on it with a fault that an
option claims. How they are named is written down in the verifier of each kind.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from math import inf, isfinite

from quizgen.circuit import components as c
from quizgen.faults import inject, parse_fault
from quizgen.items.act import Act, parse_act
from quizgen.items.item import Figure, Item, Moves, Option
from quizgen.items.verify.bench import CLICKERS, Benches
from quizgen.items.verify.instruments import INSTRUMENTS, look_at
from quizgen.items.verify.printed import (
    Shown,
    Subject,
    act_of,
    display_of,
    on_display,
    phases_of,
    reader,
)
from quizgen.items.verify.sum_records import Bench
from quizgen.items.verify.sums import work_out
from quizgen.items.verify.tour import Tour
from quizgen.items.verify.tries import by_now
from quizgen.solver import OperatingPoint, solve_cases

TENTH = 0.1  # volts: the last digit of a voltmeter
MILLI = 1e-3  # ampere: currents are stated to a tenth of that
OF_A_SUM = 1e-4  # share: a figure of a sum is stated with four digits or more
ARROW = " -> "
NO_FIGURE = -1.0  # how OL is written as a number
BEFORE_OR_NOW = re.compile(r"volts across (\S+) (before|now)")
THROUGH = re.compile(r"current through (\S+)")
ONE_BRANCH = (
    c.Wire, c.Fuse, c.FusibleLink, c.Breaker, c.Ground, c.Lamp, c.LedLamp, c.Motor, c.Heater,
    c.Solenoid, c.Horn, c.Resistor, c.Gauge, c.Battery,
)  # fmt: skip


def _of_the_display(case: Subject) -> Iterator[Shown]:
    """The right answer is what an instrument shows: ACT -> DISPLAY, or a number for ACT."""
    number = case.item.number
    text = number.quantity if number else case.item.key.claim
    words, _, shown = text.partition(ARROW)
    if number:
        shown = f"{number.value:.{min(max(number.decimals, 0), 9)}f} {number.unit}"
    act = parse_act(words)
    [display] = look_at([(case.circuit, act)])
    yield from on_display(display, act, "the answer", shown)


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


def _with_another_fault_tried(case: Subject) -> Iterator[Shown]:
    """The same of any other test, the first that is printed: FAULT -> DISPLAY."""
    yield from _with_another_fault(case)
    figures = [(o, f) for o in case.item.options for f in o.figures if ARROW in f.name]
    if not figures or not case.item.readings:
        return
    act = act_of(case.item.readings[0], case.item)
    faults = [parse_fault(f.name.partition(ARROW)[0]) for _, f in figures]
    circuits = [inject(case.sound, fault) for fault in faults]
    stands = solve_cases(circuits, [(i, act.moves) for i in range(len(circuits))])
    now = [by_now(stands.point(i)) for i in range(len(circuits))]
    displays = look_at([(circuit, act) for circuit in now])
    for (option, f), display in zip(figures, displays, strict=True):
        if display.point is not None and not display.doubts:
            value = inf if f.value == NO_FIGURE else f.value
            yield Shown(
                f"option {option.claim}, {f.name}", value, _last_digit(f), f.unit,
                phases_of(display.point), partial(_behind, act=act),
            )  # fmt: skip


def _behind(point: OperatingPoint, act: Act) -> float:
    """The figure behind whatever an instrument shows."""
    return INSTRUMENTS[act.instrument].read(point, act.red).value


def _last_digit(figure: Figure) -> float:
    """Of an ohmmeter what is on its display; of the others that of the record."""
    if figure.unit == "ohm":
        return display_of(figure.name.partition(ARROW)[2])[1]
    return TENTH if figure.unit == "V" else 2.0 * MILLI


def _of_refutations(case: Subject) -> Iterator[Shown]:
    """What a reading would have been with an option's fault, where that has no degrees."""
    asked, item = [], case.item
    claims = Benches(case.sound).at(item.origin.positions).claims
    for option in item.options:
        r, members = option.refuted_by, claims.get(option.claim, ())
        if r is not None and 0 <= r.reading < len(item.readings) and len(members) == 1:
            act = act_of(item.readings[r.reading], item)
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
            yield Shown(what, value, TENTH, "V", points, reader(act))


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
            yield _across(f"option {option.claim}", figure, part, phases_of(point))


def _across(what: str, figure: Figure, part_id: str, points: tuple[OperatingPoint, ...]) -> Shown:
    """Volts across a load or the coil of a relay; of several branches the most."""

    def read(point: OperatingPoint) -> float:
        part = point.circuit.part(part_id)
        volts = point.across(part)
        some = volts[:1] if isinstance(part, CLICKERS) else volts
        return max(map(abs, some), default=0.0)

    return Shown(f"{what}, {figure.name}", figure.value, TENTH, "V", points, read)


def _state_of(option: Option, item: Item) -> Moves:
    r = option.refuted_by
    return item.origin.positions if r is None or r.moves is None else r.moves


def _all_figures(item: Item) -> Iterator[tuple[str, Figure]]:
    """Where each figure of the proof and the options stands, and the figure."""
    yield from (("the proof", figure) for figure in item.proof.figures)
    for option in item.options:
        yield from ((f"option {option.claim}", figure) for figure in option.figures)


def _across_named_loads(case: Subject) -> Iterator[Shown]:
    """Volts across a load of the circuit as the item gives it: PART."""
    for what, figure in _all_figures(case.item):
        if figure.name in case.circuit.by_id:
            yield _across(what, figure, figure.name, case.stands)


def _before_and_now(case: Subject) -> Iterator[Shown]:
    """Volts across a load of the sound circuit, or with the fault in it."""
    sound = solve_cases([case.sound], [(0, case.item.origin.positions)]).point(0)
    for what, figure in _all_figures(case.item):
        found = BEFORE_OR_NOW.fullmatch(figure.name)
        if found and isinstance(case.sound.by_id.get(found[1]), ONE_BRANCH):
            points = phases_of(sound) if found[2] == "before" else case.stands
            yield _across(what, figure, found[1], points)


def _through_parts(case: Subject) -> Iterator[Shown]:
    """Ampere through a part of one branch, nothing being opened for it."""
    for what, figure in _all_figures(case.item):
        found = THROUGH.fullmatch(figure.name)
        part = case.circuit.by_id.get(found[1]) if found else None
        if isinstance(part, ONE_BRANCH):
            yield Shown(
                f"{what}, {figure.name}", figure.value, MILLI, "A", case.stands,
                partial(_amps, part_id=part.id),
            )  # fmt: skip


def _amps(point: OperatingPoint, part_id: str) -> float:
    return abs(point.flows(point.circuit.part(part_id))[0].amps)


def _of_the_checks(case: Subject) -> Iterator[Shown]:
    """What an option's check shows: FAULT: DISPLAY, "with the fault: " or "sound: "."""
    asked = []
    for option in case.item.options:
        if not option.figures:
            continue
        act = parse_act(option.claim.partition(ARROW)[0])
        for figure in option.figures:
            fault, _, text = figure.name.rpartition(": ")
            circuit = {"sound": case.sound, "with the fault": case.circuit}.get(fault)
            if circuit is None:
                circuit = inject(case.sound, parse_fault(fault))
            taken = replace(act, moves=case.item.origin.positions)
            asked.append((f"option {option.claim}, {figure.name}", circuit, taken, text))
    displays = look_at([(circuit, taken) for _, circuit, taken, _ in asked])
    for (what, _, taken, text), display in zip(asked, displays, strict=True):
        if not display.doubts:
            yield from on_display(display, taken, what, text)


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
    "certain-after-test": _with_another_fault_tried,
    "compute": _of_the_sum,
    "predict-operation": _across_named_loads,
    "shared-path": _before_and_now,
    "trace-path": _through_parts,
    "safe-procedure": _of_the_checks,
    "which-instrument": _of_the_checks,
}
"""Kind of item → its figures besides the readings it prints. To add one: a function, a line."""
