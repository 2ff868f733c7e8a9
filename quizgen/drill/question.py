"""A question of the drill: what the student sees, and apart from it what the answer is.

A weekly set has only the first half; what is not in the record cannot be shown too early.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.items.item import Response

LETTERS = "ABCDEFGHIJ"


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A table of readings; what all rows share is said once, in `shared`."""

    shared: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A wiring diagram: for a browser, for terminals of 80 and 120 columns, and in words.

    `signs` explain the drawing for terminals; `lists` name its parts and wires in full. `symbols`
    and `colours` (IEC 60757 codes) are those that occur in it.
    """

    svg: str
    spoken: str
    narrow: tuple[str, ...] = ()
    wide: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()
    lists: tuple[str, ...] = ()
    symbols: tuple[str, ...] = ()
    colours: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What a student sees. `choices` are texts, lettered in their order; none for a figure."""

    number: int
    machine: str
    stem: tuple[str, ...]
    question: str
    choices: tuple[str, ...] = ()
    response: Response = "one"
    unit: str = ""
    grid: Grid | None = None
    picture: Picture | None = None

    @property
    def letters(self) -> str:
        """The letters of the choices."""
        return LETTERS[: len(self.choices)]


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why a choice holds or fails, the figures that make it so, and the belief behind it."""

    is_key: bool
    reasons: tuple[str, ...]
    figures: str = ""
    misconception: str = ""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A wrong figure that a known mistaken idea arrives at."""

    value: float
    text: str  # with its unit
    reasons: tuple[str, ...]
    misconception: str


@dataclass(frozen=True, kw_only=True)
class Key:
    """The answer: reasons of each choice; the right order as indices; or a range of figures.

    `text` is the right answer in short ("B", "A C", "11.9 V"), `accepted` the range in words.
    """

    text: str
    choices: tuple[Reason, ...] = ()
    order: tuple[int, ...] = ()
    value: float = 0.0
    low: float = 0.0
    high: float = 0.0
    accepted: str = ""
    slips: tuple[Slip, ...] = ()
    solution: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Question:
    """A question that has been made for a skill; `sum` is the SHA-256 of all that it says."""

    topic: str
    level: str
    kind: str
    circuit: str
    item: str  # id
    shown: Shown
    key: Key
    sum: str = ""
