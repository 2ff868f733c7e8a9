"""From marks to answers: letters, several letters, an order, a figure. Nothing is guessed.

An answer is in doubt when one of its rows is, and when its rows do not make an answer together:
an order with a place left out, a figure with a gap. Then its value is what it most likely says,
or nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from quizgen.base.errors import InputError
from quizgen.forms.sheet import MINUS, digit_columns
from quizgen.grading.answer_text import read_answer
from quizgen.grading.marks import RowMarks
from quizgen.grading.responses import Response
from quizgen.items.item import Item


def responses_of(rows: Sequence[RowMarks], items: Sequence[Item]) -> tuple[Response, ...]:
    """A response for each item, from the rows of its question."""
    by_item = {number: tuple(mine) for number, mine in groupby(rows, key=lambda row: row.item)}
    return tuple(
        response_of(by_item.get(number, ()), item, number) for number, item in enumerate(items, 1)
    )


def response_of(rows: Sequence[RowMarks], item: Item, number: int) -> Response:
    """The answer that the rows of one question give."""
    doubts = list(dict.fromkeys(_said(row, len(rows) > 1) for row in rows if row.doubt))
    text, problem = _text(rows, item)
    if problem and not doubts:
        doubts.append(problem)
    if doubts:
        return _doubtful(text if not problem else "", "; ".join(doubts), item, number)
    return read_answer(text, item, number)


def _said(row: RowMarks, several: bool) -> str:
    return f"row {row.place + 1}: {row.doubt}" if several else row.doubt


def _doubtful(text: str, doubt: str, item: Item, number: int) -> Response:
    try:
        likely = read_answer(text, item, number).value
    except InputError:
        likely = ""
    return Response(item=number, value=likely, state="doubtful", doubt=doubt)


def _text(rows: Sequence[RowMarks], item: Item) -> tuple[str, str]:
    """The answer as text, and what keeps it from being one."""
    if item.number is not None:
        return _figure(rows, item)
    if item.response == "order":
        return _order(rows)
    return " ".join(rows[0].answer) if rows else "", ""


def _order(rows: Sequence[RowMarks]) -> tuple[str, str]:
    letters = [row.answer[0] if len(row.answer) == 1 else "" for row in rows]
    if not any(letters):
        return "", ""
    text = " ".join(letter or "-" for letter in letters)
    for letter in letters:
        if letter and letters.count(letter) > 1:
            return text, f"{letter} is there twice"
    if empty := [str(place) for place, letter in enumerate(letters, 1) if not letter]:
        return text, f"the order has no letter at {' and '.join(empty)}"
    return text, ""


def _figure(rows: Sequence[RowMarks], item: Item) -> tuple[str, str]:
    columns = digit_columns(item)
    marked = iter(row.answer[0] if len(row.answer) == 1 else "" for row in rows)
    cells = [("." if column == "." else next(marked, "")) for column in columns]
    minus, digits = cells[0] == MINUS, cells[1:]
    if not minus and not any(cell not in ("", ".") for cell in digits):
        return "", ""
    point = digits.index(".") if "." in digits else len(digits)
    whole = "".join(digits[:point])
    gap = "" in _after_first(digits[:point]) or "" in digits[point:] or not whole
    text = ("-" if minus else "") + "".join(digits)
    return text, "the figure has a column left empty" if gap else ""


def _after_first(cells: Sequence[str]) -> Sequence[str]:
    """From the first digit on: columns in front of it may be empty."""
    first = next((i for i, cell in enumerate(cells) if cell), len(cells))
    return cells[first:]
