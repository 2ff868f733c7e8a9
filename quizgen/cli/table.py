"""Plain tables for a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from quizgen.base.legible import legible

WIDTH = 80
INDENT = "  "
NARROWEST = 16  # columns that a wrapped cell keeps in any case


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

    The last column is wrapped so that no line is wider than 80 columns.
    """
    cells = [tuple(heads), *(tuple(legible(cell) for cell in row) for row in rows)]
    last = len(heads) - 1
    widths = [max(len(row[i]) for row in cells) for i in range(last)]
    start = len(INDENT) + sum(w + 2 for w in widths)
    room = max(WIDTH - start, NARROWEST)
    lines = []
    for row in cells:
        fixed = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=False))
        ]
        wrapped = textwrap.wrap(row[last], room) or [""]
        if last in right:
            widest = max(len(r[last]) for r in cells)
            wrapped = [piece.rjust(min(widest, room)) for piece in wrapped]
        head = INDENT + "".join(cell + "  " for cell in fixed)
        lines.append((head + wrapped[0]).rstrip())
        lines += [" " * start + piece for piece in wrapped[1:]]
    return lines


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
