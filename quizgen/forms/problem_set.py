"""A problem set as a record and as a file: forms of items, with all that made them.

The file holds the keys. It is the instructor's; nothing meant for students is made from it
except through `quizgen.publish`, which takes only what a student may see.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import msgspec

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole
from quizgen.forms.roster import Student
from quizgen.forms.slots import Slot
from quizgen.items.item import Item

FILE_FORMAT = 2


@dataclass(frozen=True, kw_only=True)
class Form:
    """One version of the set. `code` is A, B, C ..., or a number for a form per student."""

    code: str
    items: tuple[Item, ...]
    student: str = ""


@dataclass(frozen=True, kw_only=True)
class ProblemSet:
    """What one plan builds. `token` is a public name that tells nothing about the keys.

    `slots` says what each place of a form is about, the same in all forms. `students` are the
    class, each with the form that is theirs.
    """

    format: int
    name: str
    token: str
    title: str
    week: str
    scenario: str
    circuits: tuple[str, ...]
    slots: tuple[Slot, ...]
    forms: tuple[Form, ...]
    students: tuple[Student, ...] = ()


def write_problem_set(problem_set: ProblemSet, path: Path) -> Path:
    """Write the set as JSON and return `path`. Raises OutsideError when that fails."""
    text = msgspec.json.format(msgspec.json.encode(problem_set), indent=1)
    return write_whole(path, text + b"\n")


def read_problem_set(path: Path) -> ProblemSet:
    """The set in a JSON file. Raises InputError that says where the file is not one."""
    try:
        found = msgspec.json.decode(path.read_bytes(), type=ProblemSet)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: is not a problem set: {error}") from None
    if found.format != FILE_FORMAT:
        raise InputError(f"{path}: has format {found.format}; this version reads {FILE_FORMAT}")
    return found
