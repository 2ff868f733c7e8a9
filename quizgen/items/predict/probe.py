"""A probe: an instrument held somewhere, what it shows, and what wrong models expect of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from quizgen.items.act import Act


@dataclass(frozen=True)
class Line:
    """A sentence to be: its name in the file of sentences, and the words that go into it."""

    name: str
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Wrong:
    """What a wrong model expects: the figure, and what would have to be true for it."""

    value: float
    misconception: str
    line: Line


@dataclass(frozen=True)
class Probe:
    """`value` is in the unit of the instrument: volts, ampere, ohm, share of rated voltage.

    `given` are acts whose readings the stem has to tell. `why` explains the right value.
    `sort` says what makes the probe worth asking, so that items may vary.
    """

    act: Act
    value: float
    sort: str
    why: tuple[Line, ...]
    wrong: tuple[Wrong, ...]
    given: tuple[Act, ...] = ()
    says: tuple[Line, ...] = ()  # more that the stem has to tell
