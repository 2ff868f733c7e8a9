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


def reading_table(readings: Sequence[ReadingText], told: str = "") -> ReadingTable | None:
    """The table of `readings`; None when there are none.

    A column in which every row is the same moves into one line above the table, and is left out
    altogether when the stem, `told`, has said it; so is a column that is empty throughout. Where
    the lead was stays in a table of one row, which would be a bare figure without it.
    """
    if not readings:
        return None
    shared, kept = [], []
    clamped = any("clamp" in reading.instrument for reading in readings)  # it has no leads
    for field, title, sentence in _FIELDS:
        values = [_words(field, str(getattr(reading, field))) for reading in readings]
        if not any(values):
            continue
        alike = len(set(values)) == 1
        if alike and (field not in _ALWAYS or (field == "red" and len(values) > 1)):
            if field == "state" and values[0].lower() in told.lower():
                continue
            form = "{}" if clamped and field == "red" else sentence
            shared.append(form.format(_inside(values[0])))
        else:
            kept.append(("Where" if clamped and field == "red" else title, values))
    line = ", ".join(shared)
    return ReadingTable(
        shared=line[:1].upper() + line[1:],
        columns=tuple(title for title, _ in kept),
        rows=tuple(zip(*(values for _, values in kept), strict=True)),
    )


def _words(field: str, text: str) -> str:
    """Names of instruments are words: "test lamp", not "test-lamp"."""
    return text.replace("-", " ") if field == "instrument" else text


def _inside(words: str) -> str:
    """`words` without the capital that begins a sentence; "S2" and "OL" keep theirs."""
    return words[:1].lower() + words[1:] if words[1:2].islower() else words
