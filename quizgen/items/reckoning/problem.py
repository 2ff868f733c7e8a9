"""The records of a sum: where it may be asked, what is asked, how it is worked out."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from quizgen.circuit.components import Part, Wire
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.faults import Fault
from quizgen.instruments.measurement import Measurement
from quizgen.items.item import Figure, Moves
from quizgen.solver import OperatingPoint

LEAST_CLAMPED_AMPS = 0.8  # less is too coarse in tenths; what agrees by luck may stay
SAME_CURRENT = 0.005  # two currents that differ by less, as a share, are one

Shown = tuple[float, ...]  # what the meters show, in the order of the leads


@dataclass(frozen=True, kw_only=True)
class Setting:
    """An operating point of the circuit, sound or with one poor joint that the stem tells of."""

    point: OperatingPoint
    moves: Moves
    fault: Fault | None = None
    claim: Claim | None = None

    @property
    def circuit(self) -> Circuit:
        return self.point.circuit

    def measured(self, instrument: str, red: str, black: str = "") -> Measurement:
        """A measurement in this state, nothing taken apart."""
        return Measurement(instrument=instrument, red=red, black=black, positions=self.moves)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One sum. `exact` is the solver's answer in the form's unit.

    `quantity` names it in a computer's notation: the form, a colon, what of. `given` are the
    figures from data sheets that the stem states; `words` fill its sentences.
    """

    quantity: str
    about: str  # id of the part that it is about
    leads: tuple[Measurement, ...]
    exact: float
    given: tuple[Figure, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    variant: str = ""  # of the form, where its sentences differ


@dataclass(frozen=True)
class Slip:
    """A wrong answer: the model behind it, what it comes to, how: a sum, or where it is `taken`."""

    misconception: str
    value: float
    working: str
    taken: bool = False


@dataclass(frozen=True)
class Reckoned:
    """The answer as worked out at school from the figures shown and given."""

    value: float
    working: str
    slips: tuple[Slip, ...]


@dataclass(frozen=True, kw_only=True)
class Form:
    """One form of sum. `tolerance` is the share by which an answer may be off; 0 for a choice
    from a series of standard values.

    `would` says what an answer implies: words that fill the sentence `would_NAME` of the form.
    """

    name: str
    unit: str
    tolerance: float
    find: Callable[[Setting, random.Random], Iterator[Asked]]
    reckon: Callable[[Asked, Shown], Reckoned]
    would: Callable[[Asked, Shown, float], dict[str, str]]
    decimals: int | None = None  # of the answer, where the meters have no more


def amps(point: OperatingPoint, part: Part) -> float:
    """Current of the first branch of a part, from its first node to its second."""
    return point.flows(part)[0].amps


def wires_at(circuit: Circuit, node: str) -> list[Wire]:
    """The wires that end at a node."""
    parts = (circuit.by_id[p] for p, _ in circuit.terminals_at[node])
    return [part for part in parts if isinstance(part, Wire)]


def wire_in_series(point: OperatingPoint, part: Part, current: float) -> Wire | None:
    """A wire at one of the part's terminals that carries just its current."""
    for node in dict.fromkeys(part.nodes):
        for wire in wires_at(point.circuit, node):
            if same(abs(amps(point, wire)), abs(current)):
                return wire
    return None


def same(one: float, other: float) -> bool:
    """Two currents as good as equal."""
    return abs(one - other) <= SAME_CURRENT * max(abs(one), abs(other))


def value_of(given: tuple[Figure, ...], name: str) -> float:
    """One of the figures that the stem states."""
    return next(figure.value for figure in given if figure.name == name)


def plain(value: float) -> str:
    """Three significant digits without trailing zeros or powers of ten.

    >>> plain(12.0), plain(0.02536), plain(1234.5)
    ('12', '0.0254', '1234')
    """
    if value == 0.0 or abs(value) >= 1000.0:
        return f"{value:.0f}"
    return f"{float(f'{value:.3g}'):.10f}".rstrip("0").rstrip(".")


def read(value: float) -> str:
    """A reading as the meter showed it, tenths at least, without its unit.

    >>> read(13.0), read(0.482)
    ('13.0', '0.482')
    """
    return f"{value:.1f}" if round(value, 1) == value else f"{value:g}"
