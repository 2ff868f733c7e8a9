"""How much of a page the text of a problem takes, worked out before it is set.

The answer decides where a diagram stands. Lengths are those of templates/print/page.css, which
names this module; a test compares them with pages that the PDF engine has set.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from quizgen.publish.metrics import POINT, line_count, text_width
from quizgen.publish.page_options import SPACING
from quizgen.publish.view import Problem, ReadingTable

BODY, TABLE_HEAD = 10.5, 9.24  # pt: text, heads of a readings table
REM = BODY * POINT  # mm
SHORT, BETWEEN = 30.0, 4.0  # mm; options this short stand side by side, so far apart
LETTER_WIDTH = 9.0  # mm that an option's letter takes
CELL = 6.0  # mm right of a cell of readings
SPARE = 1.5  # mm, for what is rounded


@dataclass(frozen=True)
class Leading:
    """Distance from line to line as a share of the size, as page.css has it."""

    share: float = SPACING

    @property
    def line(self) -> float:
        """Millimetres from line to line."""
        return self.share * REM


def known_height(problem: Problem, width: float, leading: Leading) -> float:
    """Millimetres that stem and readings take in a column of `width` mm."""
    stem = sum(line_count(text, width, BODY) * leading.line + 0.5 * REM for text in problem.stem)
    return stem + (_table_height(problem.readings, width, leading) if problem.readings else 0.0)


def asked_height(problem: Problem, width: float, leading: Leading) -> float:
    """Millimetres that question and options take in a column of `width` mm."""
    question = line_count(problem.question, width, BODY, bold=True) * leading.line + 1.6
    if problem.response == "number":
        return question + leading.line + 3.5 + SPARE
    line = 12.5 if problem.response == "order" else 0.0
    if side_by_side(problem, width):
        return question + leading.line + 2.5 + line + SPARE
    inner = width - LETTER_WIDTH
    options = sum(
        line_count(choice.text, inner, BODY) * leading.line + 1.5 for choice in problem.choices
    )
    return question + options + line + SPARE


def side_by_side(problem: Problem, width: float) -> bool:
    """Whether the options stand in one row of a column of `width` mm: all are that short."""
    room = width / max(len(problem.choices), 1) - LETTER_WIDTH - BETWEEN
    return all(text_width(choice.text, BODY) <= min(room, SHORT) for choice in problem.choices)


def _table_height(table: ReadingTable, width: float, leading: Leading) -> float:
    shared = line_count(f"{table.shared}:", width, BODY) * leading.line + 1.0
    columns = _columns(table, width)
    head = max(
        line_count(title, room, TABLE_HEAD, bold=True)
        for title, room in zip(table.columns, columns, strict=True)
    )
    rows = sum(
        max(line_count(cell, room, BODY) for cell, room in zip(row, columns, strict=True))
        * leading.line
        + 1.9
        for row in table.rows
    )
    around = 1.0 + 3.5 + 0.7  # margins of the block, rules of the table
    return (
        (shared if table.shared else 0.0) + head * leading.share * TABLE_HEAD * POINT + 2 + rows
    ) + around


def _columns(table: ReadingTable, width: float) -> list[float]:
    """Room for text in each column: all that its longest cell needs, or its share of `width`."""
    wanted = [
        max(
            text_width(title, TABLE_HEAD, bold=True),
            *(text_width(row[i], BODY, bold=i == len(row) - 1) for row in table.rows),
        )
        for i, title in enumerate(table.columns)
    ]
    room = width - CELL * len(wanted)
    fixed = wanted[-1]  # what was read never wraps
    share = min(1.0, (room - fixed) / max(sum(wanted[:-1]), 1.0))
    words = [_longest_word(title) for title in table.columns]
    shared = [max(w * share, word) for w, word in zip(wanted[:-1], words, strict=False)]
    return [*shared, fixed]


def _longest_word(title: str) -> float:
    return max(text_width(word, TABLE_HEAD, bold=True) for word in title.split())


def least_scale(smallest_points: float, readable_points: float = 7.0) -> float:
    """How far a figure may shrink before its smallest letters get too small to read.

    >>> least_scale(14.0)
    0.5
    """
    return min(1.0, ceil(1000 * readable_points / smallest_points) / 1000)
