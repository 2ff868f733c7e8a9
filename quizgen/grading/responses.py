"""What a student answered, whatever it came from: a row of a CSV file, a drill, a scanned sheet.

Readers of those make these records; `grading.score` is the only one to judge them. They hold what
was given, never what would have been right.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan
from typing import Literal

Letters = tuple[str, ...]
State = Literal["answered", "blank", "doubtful"]
STATES: tuple[State, ...] = ("answered", "blank", "doubtful")


@dataclass(frozen=True, kw_only=True)
class Response:
    """The answer to one question.

    `item` is the number of the question on the form, from 1. `value` holds letters: one; those
    chosen, sorted; or all in the order given, with "" for a place left empty. Of a figure it
    holds the number as text, in the unit asked for, with "-" and "." ("-0.3"). It is "" where
    nothing was answered.

    `doubtful` is what nobody but a person should decide; then `value` is what it is most likely
    to be, or "", and `doubt` says why, as a clause. It scores nothing until it is decided.
    """

    item: int
    value: Letters | str = ""
    state: State = "blank"
    doubt: str = ""


def figure_of(value: Letters | str) -> float:
    """The figure that was answered; nan for letters, for nothing, and for what is no figure.

    >>> figure_of("-0.3"), figure_of(("A",))
    (-0.3, nan)
    """
    try:
        return float(value) if isinstance(value, str) else nan
    except ValueError:
        return nan


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where answers came from: the file's name without folders, and the page, sheet or row of it.

    `digest` is the SHA-256 of the file's bytes in hexadecimal, so that the same file is known
    again under another name. `place` counts from 1; 0 is the whole file.
    """

    file: str
    digest: str
    place: int = 0


@dataclass(frozen=True, kw_only=True)
class StudentResponses:
    """One student's answers to one form: a response for each of its questions, in their order."""

    student: str  # id
    form: str  # code
    source: Source
    responses: tuple[Response, ...]

    @property
    def doubtful(self) -> tuple[Response, ...]:
        """What is left for a person to decide."""
        return tuple(r for r in self.responses if r.state == "doubtful")
