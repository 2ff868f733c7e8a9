"""CSV that a spreadsheet shows and never runs.

A cell that begins with = + - @, a tab or a line end is a formula, or the start of one, to many
spreadsheets; from a student's name it could send the whole table somewhere. Such text gets an
apostrophe in front, which spreadsheets take for "this is text". Numbers of our own stay numbers,
negative ones too. (OWASP, CSV injection, from memory.)
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
Cell = str | int | float | None


def safe_cell(cell: Cell) -> str:
    """A cell as text that no spreadsheet runs.

    >>> safe_cell("=1+1"), safe_cell(-0.5), safe_cell("-0.5"), safe_cell(None)
    ("'=1+1", '-0.5', "'-0.5", '')
    """
    if cell is None:
        return ""
    if isinstance(cell, int | float):
        return f"{cell:.6f}".rstrip("0").rstrip(".") if isinstance(cell, float) else str(cell)
    # what stands behind blanks is run by some as well
    return f"'{cell}" if cell.lstrip(" \u00a0").startswith(RUNS) or cell.startswith(RUNS) else cell


def csv_text(rows: Iterable[Sequence[Cell]], *, decimal_comma: bool = False) -> str:
    """Rows as CSV by RFC 4180, UTF-8 without a mark, every cell safe.

    With `decimal_comma` as spreadsheets of many countries expect it: semicolons between cells,
    commas in numbers.

    >>> csv_text([["a", 0.5]], decimal_comma=True)
    'a;0,5\\r\\n'
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n", delimiter=";" if decimal_comma else ",")
    for row in rows:
        writer.writerow([cell if type(cell) is int else _shown(cell, decimal_comma)
                         for cell in row])  # fmt: skip
    return text.getvalue()


def _shown(cell: Cell, decimal_comma: bool) -> str:
    shown = safe_cell(cell)
    return shown.replace(".", ",") if decimal_comma and isinstance(cell, float) else shown
