"""Published figures: each row is taken by one check, and each is taken.

`values.csv` has the rows that are checked, with source and how they are known: read at the
source, read on a page that quotes it, or from memory. `not_used.csv` has those that apply to
nothing here, with the reason.
"""

from __future__ import annotations

import ast
import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class Row:
    """One published figure."""

    id: str
    topic: str
    quantity: str
    value: str
    unit: str
    conditions: str
    source: str
    how_known: str

    @property
    def number(self) -> float:
        """The value as a number. Raises ValueError where it is words."""
        return float(self.value)

    @property
    def key(self) -> str:
        """What follows the last dash of the id."""
        return self.id.rpartition("-")[2]


@cache
def rows() -> dict[str, Row]:
    """Row id → row, in the order of the file."""
    with (FOLDER / "values.csv").open(encoding="utf-8", newline="") as file:
        return {line["id"]: Row(**line) for line in csv.DictReader(file)}


@cache
def reasons() -> dict[str, str]:
    """Row id → why no check uses it."""
    with (FOLDER / "not_used.csv").open(encoding="utf-8", newline="") as file:
        return {line["id"]: line["why_not"] for line in csv.DictReader(file)}


def take(*starts: str) -> list[Row]:
    """The rows whose ids begin with one of `starts`, each of which finds some."""
    found = [row for row in rows().values() if row.id.startswith(starts)]
    assert all(any(row.id.startswith(start) for row in found) for start in starts), starts
    return found


def take_one(row_id: str) -> Row:
    """The row of that id."""
    return rows()[row_id]


def taken() -> Iterator[tuple[str, str]]:
    """(row id, file and line) of every call of `take` and `take_one` in this folder's tests."""
    for path in sorted(FOLDER.glob("test_*.py")):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name):
                continue
            words = tuple(a.value for a in call.args if isinstance(a, ast.Constant))
            place = f"{path.name}:{call.lineno}"
            if call.func.id == "take_one":
                yield words[0], place
            elif call.func.id == "take":
                yield from ((row.id, place) for row in take(*words))
