"""How much of a page the text of a problem takes, estimated before it is set.

The estimate decides whether a diagram fits on one page with its text. It counts lines with an
average letter width and errs on the high side; a wrong guess costs a half-empty page, no more.
"""

from __future__ import annotations

from math import ceil
from textwrap import wrap

from quizgen.publish.view import Problem, ReadingTable

LETTER = 1.72  # mm a letter of 10.5 pt takes on average, spaces included
LINE = 5.3  # mm from line to line
ROW = 7.1  # mm from row to row of a readings table
FRAME = 19.5  # mm: heading, rules and margins of a problem, margins of its figure
STEM_WIDTH, LEFT_WIDTH, RIGHT_WIDTH, FULL_WIDTH = 150.0, 75.0, 82.0, 174.0  # mm, page.css


def lines(text: str, width: float) -> int:
    """Lines that `text` takes in a column `width` mm wide.

    >>> lines("one two three four five six", 20)
    3
    """
    return len(wrap(text, max(1, int(width / LETTER)))) or 1


def text_height(problem: Problem) -> float:
    """Millimetres of an A4 page that everything but the figure takes, on one page with it."""
    stem = sum(lines(text, STEM_WIDTH) * LINE + 1.9 for text in problem.stem)
    question = lines(problem.question, 0.95 * RIGHT_WIDTH) * LINE + 1.6
    options = sum(lines(choice.text, RIGHT_WIDTH) * LINE + 1.5 for choice in problem.choices)
    shared = lines(problem.readings.shared, FULL_WIDTH) * LINE + 2.0 if problem.readings else 0.0
    table = _table_height(problem.readings) if problem.readings else 0.0
    return FRAME + stem + shared + max(table, question + options)


def _table_height(table: ReadingTable) -> float:
    share = LEFT_WIDTH / len(table.columns)
    return ROW + sum(
        ROW + (max(lines(cell, max(share, 20.0)) for cell in row) - 1) * LINE for row in table.rows
    )


def least_scale(smallest_points: float, readable_points: float = 7.0) -> float:
    """How far a figure may shrink before its smallest letters get too small to read.

    >>> least_scale(14.0)
    0.5
    """
    return min(1.0, ceil(1000 * readable_points / smallest_points) / 1000)
