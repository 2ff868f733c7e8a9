"""Readings as a table in which nothing is said twice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from quizgen.publish.view import ReadingTable


class ReadingText(Protocol):
    """A reading as text: what was held where, in which state, and what was seen."""

    @property
    def instrument(self) -> str: ...
    @property
    def red(self) -> str: ...
    @property
    def black(self) -> str: ...
    @property
    def state(self) -> str: ...
    @property
    def shown(self) -> str: ...


_FIELDS = (
    ("instrument", "Instrument", "{}"),
    ("state", "Machine", "{}"),
    ("black", "Black lead on", "black lead on {}"),
    ("red", "Red lead on", "red lead on {}"),
    ("shown", "Shows", "{}"),
)
_ALWAYS = ("red", "shown")  # the two columns a reader looks for


def reading_table(readings: Sequence[ReadingText]) -> ReadingTable | None:
    """The table of `readings`; None when there are none.

    A column in which every row is the same moves into one line above the table; a column
    that is empty throughout is left out.
    """
    if not readings:
        return None
    shared, kept = [], []
    for field, title, sentence in _FIELDS:
        values = [str(getattr(reading, field)) for reading in readings]
        if not any(values):
            continue
        if field not in _ALWAYS and len(set(values)) == 1:
            shared.append(sentence.format(values[0]))
        else:
            kept.append((title, values))
    line = ", ".join(shared)
    return ReadingTable(
        shared=line[:1].upper() + line[1:],
        columns=tuple(title for title, _ in kept),
        rows=tuple(zip(*(values for _, values in kept), strict=True)),
    )
