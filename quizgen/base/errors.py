"""The one family of errors.

Library code raises; only the command line prints, one line each, and exits with
the error's code:

====  =============================================================
code  meaning
====  =============================================================
2     the input is wrong: a file, an option, a name
3     the input is right but the work cannot be done (a blueprint that
      cannot be met, a circuit that cannot be solved)
4     something outside failed: a missing program or font, a full disk
====  =============================================================
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the command line imports this module to print its help, and pathlib is slow
    from pathlib import Path


class QuizgenError(Exception):
    """Base of every error a user can meet. The message is one line: what, where, what to do."""

    exit_code = 3


class InputError(QuizgenError):
    """Something the user wrote is wrong."""

    exit_code = 2


class OutsideError(QuizgenError):
    """A program, font, folder or disk that the work needs failed."""

    exit_code = 4


class CircuitError(QuizgenError):
    """A circuit that no physics can satisfy, such as two unequal ideal sources in parallel."""


class UnprovableError(QuizgenError):
    """No question with exactly one defensible answer could be made from this input."""


@dataclass(frozen=True)
class Place:
    """Where in a file a value was written. `line` counts from 1."""

    file: Path | str
    line: int
    field: str = ""

    def __str__(self) -> str:
        field = f", {self.field}" if self.field else ""
        return f"{self.file}, line {self.line}{field}"


class FileError(InputError):
    """A data file is wrong at a known place."""

    def __init__(self, place: Place, problem: str) -> None:
        super().__init__(f"{place}: {problem}")
        self.place = place
        self.problem = problem

    def __reduce__(self) -> tuple[type[FileError], tuple[Place, str]]:
        """How it is made again where another process has sent it."""
        return FileError, (self.place, self.problem)
