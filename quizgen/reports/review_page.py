"""The review queue as a page for a browser, and as a table to fill in.

The page holds everything in one file and runs no script: whoever decides writes the decisions into
the table beside it, which `quizgen grade review --from` reads.
"""

from __future__ import annotations

import base64
import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from quizgen.base.errors import FileError, InputError, Place, QuizgenError
from quizgen.base.suggest import shown
from quizgen.base.writing import write_whole
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.settling import Doubt
from quizgen.publish.html import render
from quizgen.publish.page_options import PageOptions
from quizgen.reports.wording import heading_of

COLUMNS = ("id", "about", "reason", "likely", "decision", "why")
MOST_CHOICES = 8
Crops = Mapping[tuple[str, str], bytes]
LABELS = {
    "ignore": "set the page aside",
    "counts": "it counts",
    "none": "none of them counts",
}


@dataclass(frozen=True, kw_only=True)
class Told:
    """A doubt in words, with its pictures as addresses."""

    id: str
    about: str
    reason: str
    figures: str
    likely: str
    choices: tuple[str, ...]
    pictures: tuple[Markup, ...]
    decides: bool


@dataclass(frozen=True, kw_only=True)
class FilledIn:
    """A line of the table that somebody filled in. `line` is that of the file."""

    id: str
    decision: str
    why: str
    line: int


def about(doubt: Doubt, names: Mapping[str, str]) -> str:
    """Where it is and whom it concerns."""
    parts = [f"{doubt.source.file}, page {doubt.source.place}"]
    if doubt.student:
        parts.append(f"{doubt.student} {names.get(doubt.student, '')}".strip())
    if doubt.form:
        parts.append(f"form {doubt.form}" + (f", question {doubt.item}" if doubt.item else ""))
    return " · ".join(parts)


def choices_of(doubt: Doubt) -> tuple[str, ...]:
    """What may be decided, in words; nothing where an answer is written."""
    few = doubt.choices if len(doubt.choices) <= MOST_CHOICES else doubt.choices[-1:]
    told = tuple(f"{choice}: {LABELS[choice]}" if choice in LABELS else choice for choice in few)
    more = ("student and form, such as S-001 A",) if few != doubt.choices else ()
    return (*more, *told)


def review_html(problem_set: ProblemSet, doubts: Sequence[Doubt], crops: Crops, table: str) -> str:
    """The page. `table` is the name of the file to fill in."""
    names = {s.id: s.name for s in problem_set.students}
    values: dict[str, object] = {
        "heading": heading_of(problem_set),
        "doubts": [_told(doubt, names, crops) for doubt in doubts],
        "table": table,
    }
    return render("review.html.j2", values, PageOptions(), True)


def _told(doubt: Doubt, names: Mapping[str, str], crops: Crops) -> Told:
    pictures = [crops[piece] for piece in doubt.shown if piece in crops]
    return Told(
        id=doubt.id, about=about(doubt, names), reason=doubt.reason, figures=doubt.figures,
        likely=doubt.candidate, choices=choices_of(doubt), decides=doubt.decides,
        pictures=tuple(_address(png) for png in pictures),
    )  # fmt: skip


def _address(png: bytes) -> Markup:
    return Markup(f"data:image/png;base64,{base64.b64encode(png).decode()}")


def write_review(
    problem_set: ProblemSet, doubts: Sequence[Doubt], crops: Crops, path: Path
) -> tuple[Path, Path]:
    """Page and table, side by side. A table that is there keeps what was filled in.

    Raises OutsideError when they cannot be written, InputError when the table there is none.
    """
    table = path.with_suffix(".csv")
    filled = {row.id: row for row in read_decided(table)} if table.exists() else {}
    page = review_html(problem_set, doubts, crops, table.name)
    return (
        write_whole(path, page.encode()),
        write_whole(table, _table(problem_set, doubts, filled).encode("utf-8-sig")),
    )


def _table(problem_set: ProblemSet, doubts: Sequence[Doubt], filled: Mapping[str, FilledIn]) -> str:
    names = {s.id: s.name for s in problem_set.students}
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
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and cell != "-" else cell


def read_decided(path: Path) -> tuple[FilledIn, ...]:
    """The lines of a table that have a decision. Raises InputError for a file that is none."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: is not UTF-8 text; save it as CSV UTF-8") from None
    lines = text.splitlines()
    first = next((line for line in lines if line.strip()), "")
    rows = csv.reader(lines, delimiter=max(",;\t", key=first.count))
    try:
        numbered = [(rows.line_num, row) for row in rows if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise InputError(f"{path}, line {rows.line_num}: is no table ({error})") from None
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


def no_such_doubt(path: Path, row: FilledIn) -> QuizgenError:
    """What is wrong with a line whose id belongs to nothing."""
    return FileError(Place(path, row.line), f"{shown(row.id)} is no question of this set's sheets")
