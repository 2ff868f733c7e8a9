"""A student's practice as a table: what an instructor is given.

One row for each question that was left: when (ISO 8601, UTC), on what, what was answered, whether
it was right, with how many hints, in how many seconds, and the names of the wrong ideas that the
answer shows (`templates/wording/misconceptions.yaml`). `right` is empty where it was skipped.

Hunts are given as they were logged, act by act; a log that somebody has edited is named as such.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC
from pathlib import Path
from typing import Any

from quizgen.base.cells import Cell, csv_text
from quizgen.base.errors import FileError
from quizgen.drill.action_log import read_actions
from quizgen.drill.home import HUNTS
from quizgen.drill.record import Line

FILE_FORMAT = 1
COLUMNS = (
    "number", "at", "topic", "level", "kind", "circuit", "item", "answer", "right", "hints",
    "seconds", "misconceptions",
)  # fmt: skip


def rows_of(lines: Sequence[Line]) -> list[dict[str, Any]]:
    """A row for each line, as JSON holds it."""
    return [
        {
            "number": line.number,
            "at": line.at.astimezone(UTC).isoformat(timespec="seconds"),
            "topic": line.skill.topic,
            "level": line.skill.level,
            "kind": line.kind,
            "circuit": line.circuit,
            "item": line.item,
            "answer": line.given,
            "right": line.right,
            "hints": line.hints,
            "seconds": round(line.seconds, 1),
            "misconceptions": list(line.misconceptions),
        }
        for line in lines
    ]


def hunts_of(folder: Path) -> list[dict[str, Any]]:
    """The hunts of a student's folder: of each the name of its log, and every act in order."""
    found: list[dict[str, Any]] = []
    for path in sorted((folder / HUNTS).glob("*.jsonl")):
        try:
            found.append({"log": path.name, "acts": list(read_actions(path))})
        except FileError as error:
            found.append({"log": path.name, "altered": error.problem})
    return found


def as_csv(lines: Sequence[Line]) -> str:
    """The rows as RFC 4180 text: true and false in words, misconceptions with spaces between.

    What a student typed is no formula to the spreadsheet of who opens it.
    """
    rows: list[Sequence[Cell]] = [COLUMNS]
    for row in rows_of(lines):
        right = "" if row["right"] is None else str(row["right"]).lower()
        told = {"right": right, "misconceptions": " ".join(row["misconceptions"])}
        told["seconds"] = str(row["seconds"])
        rows.append([(row | told)[column] for column in COLUMNS])
    return csv_text(rows)
