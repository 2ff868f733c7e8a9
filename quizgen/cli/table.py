"""Plain tables for a terminal of 80 columns."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

from quizgen.base.legible import legible

WIDTH = 80
INDENT = "  "
NARROWEST = 16  # columns that a wrapped cell keeps in any case
CUT = "..."  # in any terminal's code


def rounded(value: float | None, decimals: int = 3) -> str:
    """A figure for reading; "floats" where there is none, never "-0.000".

    >>> rounded(-0.0001), rounded(None), rounded(12.64449, 2)
    ('0.000', 'floats', '12.64')
    """
    if value is None:
        return "floats"
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int] = ()
) -> list[str]:
    """Lines of a table, two columns in; `right` columns are set to the right.

    The last column is wrapped so that no line is wider than 80 columns; a column of long texts
    before it is cut short where that is not enough.
    """
    cells = [tuple(heads), *(tuple(legible(cell) for cell in row) for row in rows)]
    last = len(heads) - 1
    most = max(columns_of(row[last]) for row in cells)
    widths = _fitting([max(columns_of(row[i]) for row in cells) for i in range(last)], right, most)
    start = len(INDENT) + sum(w + 2 for w in widths)
    room = max(WIDTH - start, NARROWEST)
    lines = []
    for row in cells:
        fixed = [
            _padded(c, w, i in right) for i, (c, w) in enumerate(zip(row, widths, strict=False))
        ]
        wrapped = textwrap.wrap(row[last], room) or [""]
        if last in right:
            wrapped = [_padded(piece, min(most, room), True) for piece in wrapped]
        head = INDENT + "".join(cell + "  " for cell in fixed)
        lines.append((head + wrapped[0]).rstrip())
        lines += [" " * start + piece for piece in wrapped[1:]]
    return lines


def columns_of(text: str) -> int:
    """Columns of a terminal that `text` takes: two for wide letters, none for accents and joiners
    (Unicode Standard Annex 11).

    >>> columns_of("abc"), columns_of("\u5c71"), columns_of("e\u0301")
    (3, 2, 1)
    """
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.category(c) in ("Mn", "Me", "Cf")
        else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )  # fmt: skip


def _fitting(widths: list[int], right: Sequence[int], last: int) -> list[int]:
    """`widths` with the widest column of texts narrowed, where the last one had no room."""
    over = len(INDENT) + sum(w + 2 for w in widths) + min(last, NARROWEST) - WIDTH
    texts = [i for i in range(len(widths)) if i not in right]
    if over > 0 and texts:
        widest = max(texts, key=lambda i: widths[i])
        widths[widest] = max(widths[widest] - over, min(widths[widest], NARROWEST))
    return widths


def _padded(cell: str, width: int, to_right: bool) -> str:
    """`cell` in `width` columns, cut short where it is longer."""
    if columns_of(cell) > width:
        while columns_of(cell) > width - len(CUT):
            cell = cell[:-1]
        cell = cell.rstrip() + CUT
    blanks = " " * (width - columns_of(cell))
    return blanks + cell if to_right else cell + blanks


def side_by_side(heads: Sequence[str], rows: Sequence[Sequence[str]], right: int) -> list[str]:
    """A long table of narrow rows in as many columns as fit, read downwards.

    The cell `right` of each row is set to the right.
    """
    if not rows:
        return []
    widths = [max(len(r[i]) for r in (heads, *rows)) for i in range(len(heads))]
    block = sum(widths) + 2 * (len(widths) - 1)
    across = max(1, min((WIDTH - len(INDENT) + 4) // (block + 4), len(rows)))
    deep = -(-len(rows) // across)
    columns = [rows[i : i + deep] for i in range(0, len(rows), deep)]

    def shown(row: Sequence[str]) -> str:
        cells = [
            c.rjust(w) if i == right else c.ljust(w)
            for i, (c, w) in enumerate(zip(row, widths, strict=True))
        ]
        return "  ".join(cells)

    lines = [INDENT + "    ".join(shown(heads) for _ in columns)]
    for i in range(deep):
        lines.append(INDENT + "    ".join(shown(c[i]) for c in columns if i < len(c)))
    return [line.rstrip() for line in lines]


def labelled(label: str, text: str, width: int = 10) -> list[str]:
    """`label` and a text behind it that wraps under itself; nothing when the text is empty."""
    if not text:
        return []
    return textwrap.wrap(
        legible(text),
        WIDTH,
        initial_indent=label.ljust(width) + " ",
        subsequent_indent=" " * (width + 1),
        break_on_hyphens=False,
    )


def wrapped(text: str) -> list[str]:
    """`text` in lines of 80 columns, two columns in."""
    return textwrap.wrap(
        legible(text),
        WIDTH,
        initial_indent=INDENT,
        subsequent_indent=INDENT,
        break_on_hyphens=False,
    )
