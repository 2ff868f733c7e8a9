"""An item: the question as printed, its key, and the proof that the key is the only answer.

Everything is text and numbers, so an item goes to JSON and back without loss, and somebody
with the circuit template and a solver of their own can check it (`quizgen.items.verify`).

Four ways to answer (`Item.response`): tick *one* option, tick *several*, put the options in
*order*, write a *number*.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Value = str | bool | int | float
Moves = tuple[tuple[str, str], ...]
Response = Literal["one", "several", "order", "number"]

LEVELS = ("read", "predict", "interpret", "choose", "justify")
"""What an item asks of a student, the easier first: read the diagram, predict a reading or an
operation, interpret what was found, choose the next test, justify what is certain."""


@dataclass(frozen=True, kw_only=True)
class Origin:
    """How the circuit of an item is made again: template, parameters, controls, the fault.

    `fault` is "" for an item about a sound circuit.
    """

    template: str
    parameters: tuple[tuple[str, Value], ...]
    positions: Moves  # controls moved, in this order
    fault: str


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What the stem says somebody saw or heard: a load's level, or a relay's click.

    `moves` is the state in which; None stands for the item's own, `Origin.positions`.
    """

    part: str
    level: str
    moves: Moves | None = None


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading: where the leads were (nodes), the machine's state, what was shown.

    `moves` as in `Observed`; `apart`, `removed` and `unplugged` are what was taken apart for it
    (connectors; fuses, relays and lamps; loads and batteries). `volts` is the figure behind
    `shown` in the unit of the instrument, as rounded there: volts of a voltmeter, ohm of an
    ohmmeter (inf for OL is written −1), ampere of an ammeter, share of rated voltage of a test
    lamp. A clamp goes around the wire `red_node`.
    """

    instrument: str
    red_node: str
    black_node: str
    red: str  # as printed
    black: str
    state: str
    shown: str
    volts: float
    moves: Moves | None = None
    apart: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Refutation:
    """What rules a claim out. `reading` indexes the item's readings.

    `low` and `high` bound what the claim would show there, at whatever severity. With
    `reading` −1 it is an observation of `part`: `found` was seen or heard, `instead` expected;
    `moves` is the state it was seen in, as in `Observed`. With −2 no single reading does it:
    each severity is refuted by one or another.
    """

    claim: str
    reading: int
    low: float
    high: float
    found: str  # the reading, or the level observed
    part: str = ""
    instead: str = ""
    moves: Moves | None = None


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A number that a verdict rests on: what it is, how much, in which unit."""

    name: str
    value: float
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class Option:
    """One option. `claim` is what it says in the notation of its kind, fit for a computer.

    Of a fault: the notation of faults, severity left open. The notation of every other kind
    stands in its module and in the verifier's module for it. `figures` are the numbers that
    make the option right or wrong. Of an ordering `is_key` says nothing.
    """

    claim: str
    text: str
    is_key: bool
    rationale: tuple[str, ...]
    misconception: str = ""
    refuted_by: Refutation | None = None
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, kw_only=True)
class WrongNumber:
    """A wrong answer to a numerical question that a known wrong model arrives at."""

    value: float
    misconception: str
    rationale: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Number:
    """The answer that is written as a number. Right is what lies in [low, high].

    `quantity` is what is asked for, in the notation of the kind; `decimals` are asked for.
    """

    quantity: str
    value: float
    low: float
    high: float
    unit: str
    decimals: int
    wrong: tuple[WrongNumber, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Proof:
    """Every claim of the circuit: the key's holds, all others are refuted.

    `claims` and `faults` count what was considered; `same_part` are claims about the key's
    own part that the readings cannot tell from it, which therefore are no rival options.
    Kinds that do not ask for a fault leave the counts 0 and give their `figures`.
    """

    claims: int = 0
    faults: int = 0
    margin_volts: float = 0.0
    observed: tuple[Observed, ...] = ()
    refutations: tuple[Refutation, ...] = ()
    same_part: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Item:
    """A question with one defensible answer.

    `told` are faults that the stem tells openly (a question of prediction). `order` are the
    indices of the options in the right order; `solution` is the worked way to the answer of an
    item whose options do not carry it all (an ordering, a number). Options `in_natural_order`
    (figures by size) are never shuffled. `topics` are those of the circuit, `subjects` all that
    the item is about (`quizgen.items.topics`).
    """

    id: str
    kind: str
    level: str
    topics: tuple[str, ...]
    family: str
    key_kind: str  # kind of the part that the question is about; "" for none
    machine: str
    stem: tuple[str, ...]
    readings: tuple[Reading, ...]
    question: str
    options: tuple[Option, ...]
    origin: Origin
    proof: Proof
    response: Response = "one"
    order: tuple[int, ...] = ()
    number: Number | None = None
    solution: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    in_natural_order: bool = False
    subjects: tuple[str, ...] = ()

    @property
    def key(self) -> Option:
        """The right option of an item with one."""
        return next(o for o in self.options if o.is_key)

    @property
    def key_claims(self) -> tuple[str, ...]:
        """What the right answer says, whatever the way to answer."""
        if self.number is not None:
            return (self.number.quantity,)
        if self.response == "order":
            return tuple(self.options[i].claim for i in self.order)
        return tuple(o.claim for o in self.options if o.is_key)
