"""A problem set as a record and as a file: forms of items, with all that made them.

The file holds the keys. It is the instructor's; nothing meant for students is made from it
except through `quizgen.publish`, which takes only what a student may see.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from quizgen.base.record_file import check_format, check_name, read_record, write_record
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

    @property
    def student_names(self) -> dict[str, str]:
        """Student's id → name, in the order of the class."""
        return {s.id: s.name for s in self.students}


def write_problem_set(problem_set: ProblemSet, path: Path) -> Path:
    """Write the set as JSON and return `path`. Raises OutsideError when that fails."""
    return write_record(problem_set, path)


def read_problem_set(path: Path) -> ProblemSet:
    """The set in a JSON file. Raises InputError that says where the file is not one."""
    found = read_record(path, ProblemSet, "is not a problem set")
    check_format(path, found.format, FILE_FORMAT)
    check_name(path, found.name)
    return found
