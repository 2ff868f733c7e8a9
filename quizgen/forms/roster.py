"""The class: who gets which form.

A roster is a CSV file with the columns `id` and `name`, in any order, with any others beside
them, separated by commas, semicolons or tabs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.legible import legible, spelt
from quizgen.base.suggest import shown, suggest
from quizgen.base.table_rows import table_rows

MOST_STUDENTS = 2000
LONGEST = 80


@dataclass(frozen=True, kw_only=True)
class Student:
    """One student and the form that is theirs."""

    id: str
    name: str
    form: str = ""


def read_roster(path: Path) -> tuple[Student, ...]:
    """The students of a roster file, in its order. Raises InputError or FileError."""
    numbered = [(n, row) for n, row in table_rows(path) if any(cell.strip() for cell in row)]
    if not numbered:
        raise InputError(f"{path}: is empty; expected a line with id and name, then students")
    columns = _columns(path, *numbered[0])
    return tuple(_students(path, columns, numbered[1:]))


def _columns(path: Path, line: int, header: Sequence[str]) -> dict[str, int]:
    names = [cell.strip().casefold() for cell in header]
    if "sourcedid" in names:
        raise FileError(
            Place(path, line),
            'lists a whole school; "quizgen coverage enrol LISTS --rosters FOLDER" writes a roster '
            "of each class",
        )
    for wanted in ("id", "name"):
        if names.count(wanted) != 1:
            raise FileError(
                Place(path, line), f"expected one column {wanted}{suggest(wanted, names)}"
            )
    return {name: names.index(name) for name in ("id", "name")}


def _students(
    path: Path, columns: dict[str, int], rows: Sequence[tuple[int, list[str]]]
) -> Iterator[Student]:
    seen: set[str] = set()
    for line, row in rows[: MOST_STUDENTS + 1]:
        cells = [*row, *[""] * (max(columns.values()) + 1 - len(row))]
        id_, name = cells[columns["id"]].strip(), spelt(cells[columns["name"]])
        if not id_ or not id_.isascii() or not id_.isprintable() or " " in id_:
            raise FileError(
                Place(path, line), f"{shown(id_)} is no id; letters, digits and hyphens, no blanks"
            )
        if id_ in seen:
            raise FileError(Place(path, line), f"the id {shown(id_)} is there twice")
        if not name or len(name) > LONGEST or legible(name) != name:
            raise FileError(
                Place(path, line), f"{shown(name)} is no name of 1 to {LONGEST} characters"
            )
        seen.add(id_)
        yield Student(id=id_, name=name)
    if len(rows) > MOST_STUDENTS:
        raise InputError(f"{path}: more than {MOST_STUDENTS} students")


def seated(students: Sequence[Student], codes: Sequence[str]) -> tuple[Student, ...]:
    """Students with their forms, given out in turn so that neighbours have different ones."""
    return tuple(
        Student(id=s.id, name=s.name, form=codes[i % len(codes)]) for i, s in enumerate(students)
    )
