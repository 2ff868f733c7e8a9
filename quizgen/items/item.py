"""An item: the question as printed, its key, and the proof that the key is the only answer.

Everything is text and numbers, so an item goes to JSON and back without loss, and somebody
with the circuit template and a solver of their own can check it (`quizgen.items.verify`).
"""

from __future__ import annotations

from dataclasses import dataclass

Value = str | bool | int | float


@dataclass(frozen=True, kw_only=True)
class Origin:
    """How the circuit of an item is made again: template, parameters, controls, the fault."""

    template: str
    parameters: tuple[tuple[str, Value], ...]
    positions: tuple[tuple[str, str], ...]  # controls moved, in this order
    fault: str


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What the stem says somebody saw or heard: a load's level, or a relay's click."""

    part: str
    level: str


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading: where the leads were (nodes), the machine's state, what was shown."""

    instrument: str
    red_node: str
    black_node: str
    red: str  # as printed
    black: str
    state: str
    shown: str
    volts: float  # the figure behind `shown`, as rounded there


@dataclass(frozen=True, kw_only=True)
class Refutation:
    """What rules a claim out. `reading` indexes the item's readings.

    `low` and `high` bound what the claim would show there, at whatever severity. With
    `reading` −1 it is an observation of `part`: `found` was seen or heard, `instead` expected.
    With −2 no single reading does it: each severity is refuted by one or another.
    """

    claim: str
    reading: int
    low: float
    high: float
    found: str  # the reading, or the level observed
    part: str = ""
    instead: str = ""


@dataclass(frozen=True, kw_only=True)
class Option:
    """One option. `claim` is what it says in the notation of faults, severity left open."""

    claim: str
    text: str
    is_key: bool
    rationale: tuple[str, ...]
    misconception: str = ""
    refuted_by: Refutation | None = None


@dataclass(frozen=True, kw_only=True)
class Proof:
    """Every claim of the circuit: the key's holds, all others are refuted.

    `claims` and `faults` count what was considered; `same_part` are claims about the key's
    own part that the readings cannot tell from it, which therefore are no rival options.
    """

    claims: int
    faults: int
    margin_volts: float
    observed: tuple[Observed, ...]
    refutations: tuple[Refutation, ...]
    same_part: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Item:
    """A question with one defensible answer."""

    id: str
    kind: str
    level: str
    topics: tuple[str, ...]
    family: str
    key_kind: str  # kind of the part at fault
    machine: str
    stem: tuple[str, ...]
    readings: tuple[Reading, ...]
    question: str
    options: tuple[Option, ...]
    origin: Origin
    proof: Proof

    @property
    def key(self) -> Option:
        """The right option."""
        return next(o for o in self.options if o.is_key)
