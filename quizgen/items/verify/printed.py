"""The readings that an item prints, as an instrument on its circuit shows them.

A figure carries the solved points that it is read from, so that it can be read again from
points that somebody else has solved. Figures besides the readings: `kind_figures`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.faults import inject, parse_fault
from quizgen.items.act import Act
from quizgen.items.item import Item, Reading
from quizgen.items.verify.bench import CLICKERS, CLICKS
from quizgen.items.verify.instruments import INSTRUMENTS, Display, look_at
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import observe_load

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


def readings_of(case: Subject) -> Iterator[Shown]:
    """The readings that an item prints. May raise InputError or CircuitError.

    One that nobody may take has no figure; the verifier says that it may not be taken.
    """
    readings = case.item.readings
    acts = [act_of(reading, case.item) for reading in readings]
    displays = look_at([(case.circuit, act) for act in acts])
    for number, (reading, act, display) in enumerate(zip(readings, acts, displays, strict=True), 1):
        yield from on_display(display, act, f"reading {number}", reading.shown)


def act_of(reading: Reading, item: Item) -> Act:
    """What somebody does who takes the reading."""
    return Act(
        instrument=reading.instrument, red=reading.red_node, black=reading.black_node,
        moves=item.origin.positions if reading.moves is None else reading.moves,
        apart=reading.apart, removed=reading.removed, unplugged=reading.unplugged,
    )  # fmt: skip


def on_display(display: Display, act: Act, what: str, text: str) -> Iterator[Shown]:
    """The figure on a display that is said to show `text`."""
    if display.point is not None:
        value, digit, unit = display_of(text)
        yield Shown(what, value, digit, unit, phases_of(display.point), reader(act, text))


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


def reader(act: Act, text: str = "0 V") -> Read:
    """The figure behind a display like `text`; of words, 1 where they are shown, else 0."""
    instrument = INSTRUMENTS[act.instrument]
    if act.instrument == "fused-jumper" and "jumper" not in text:
        return lambda point: float(_as_told(point, text))
    if text == "OL" or DISPLAY.match(text):
        return lambda point: instrument.read(point, act.red).value
    return lambda point: float(instrument.read(point, act.red).shown == text)


def _as_told(point: OperatingPoint, text: str) -> bool:
    """Loads and relays do what is said of them: "M1 turns, K1 clicks"."""
    for words in text.split(", "):
        name, _, told = words.partition(" ")
        part = point.circuit.part(name)
        if isinstance(part, CLICKERS):
            same = (point.state(part) == "pulled") == (told == CLICKS)
        else:
            same = observe_load(point, part).level == told
        if not same:
            return False
    return True
