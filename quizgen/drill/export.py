"""A student's practice as a table: what an instructor is given.

One row for each question that was left: when (ISO 8601, UTC), on what, what was answered, whether
it was right, with how many hints, in how many seconds, and the names of the wrong ideas that the
answer shows (`templates/wording/misconceptions.yaml`). `right` is empty where it was skipped.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import UTC
from typing import Any

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


def as_csv(lines: Sequence[Line]) -> str:
    """The rows as RFC 4180 text: true and false in words, misconceptions with spaces between."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in rows_of(lines):
        right = "" if row["right"] is None else str(row["right"]).lower()
        writer.writerow(row | {"right": right, "misconceptions": " ".join(row["misconceptions"])})
    return text.getvalue()
