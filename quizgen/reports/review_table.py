"""The review queue as a table to fill in, and the table as it comes back."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.cells import safe_cell
from quizgen.base.errors import FileError, Place
from quizgen.base.table_rows import table_rows
from quizgen.grading.settling import Doubt
from quizgen.reports.review_words import about

COLUMNS = ("id", "about", "reason", "likely", "decision", "why")


@dataclass(frozen=True, kw_only=True)
class FilledIn:
    """A line of the table that somebody filled in. `line` is that of the file."""

    id: str
    decision: str
    why: str
    line: int


def table_text(
    doubts: Sequence[Doubt], names: Mapping[str, str], filled: Mapping[str, FilledIn]
) -> str:
    """The table with a line for each doubt, and in it what is `filled` in already, by id."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(COLUMNS)
    for doubt in doubts:
        done = filled.get(doubt.id)
        cells = (about(doubt, names), doubt.reason, doubt.candidate)
        decided = (done.decision, done.why) if done else ("", "")
        rows.writerow((doubt.id, *map(_harmless, (*cells, *decided))))
    return text.getvalue()


def _harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula; "-" alone is an answer."""
    return cell if cell == "-" else safe_cell(cell)


def read_decided(path: Path) -> tuple[FilledIn, ...]:
    """The lines of a table that have a decision. Raises InputError or FileError."""
    numbered = [(line, row) for line, row in table_rows(path) if any(c.strip() for c in row)]
    heads = [cell.strip().casefold() for cell in numbered[0][1]] if numbered else []
    if not {"id", "decision"} <= {*heads}:
        raise FileError(Place(path, 1), "expected a line with the columns id, decision and why")
    found = [
        FilledIn(
            id=_cell(heads, row, "id"), decision=_cell(heads, row, "decision").removeprefix("'"),
            why=_cell(heads, row, "why").removeprefix("'"), line=line,
        )
        for line, row in numbered[1:]
    ]  # fmt: skip
    return tuple(row for row in found if row.decision)


def _cell(heads: Sequence[str], row: Sequence[str], name: str) -> str:
    at = heads.index(name) if name in heads else len(row)
    return row[at].strip() if at < len(row) else ""
