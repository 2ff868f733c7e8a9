"""What a screen says, and how it is laid out as lines of a terminal.

A page is a row of blocks. In plain style the same blocks become lines that a screen reader reads
in order: labels before values, no boxes, tables row by row, diagrams in words when asked for.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from quizgen.drill.question import Grid, Picture
from quizgen.drill.words import say

NARROW, WIDE = 80, 120  # columns that diagrams are drawn for
WIDEST_TEXT = 96  # columns; longer lines are hard to follow
FEWEST = 40
GAP = 2
NARROWEST_COLUMN = 16  # of a table, to be read as one
UNDER = " " * 5  # where the text of an entry with a letter begins
BOLD, BOLD_OFF = "\x1b[1m", "\x1b[0m"


@dataclass(frozen=True)
class Title:
    """A heading."""

    text: str


@dataclass(frozen=True)
class Para:
    """A paragraph; `follows` sets it without an empty line above, under an entry's text."""

    text: str
    follows: bool = False


@dataclass(frozen=True)
class Path:
    """Where a file is, on a line of its own and never broken, so that it can be copied."""

    text: str


@dataclass(frozen=True)
class Drawn:
    """Lines as they are, about what is drawn; `spoken` for those who cannot see it."""

    lines: tuple[str, ...]
    spoken: str = ""


@dataclass(frozen=True)
class Names:
    """Short texts in as many columns as fit, read downwards."""

    names: tuple[str, ...]


@dataclass(frozen=True)
class Entry:
    """A text with a label, such as a choice and its letter."""

    label: str
    text: str


@dataclass(frozen=True)
class Rows:
    """A table: heads and rows; the widest column wraps where there is not room for all."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Title | Para | Path | Names | Drawn | Entry | Rows | Grid | Picture
Page = tuple[Block, ...]


@dataclass(frozen=True)
class Style:
    """Columns of the terminal; plain for screen readers; bold where the terminal may.

    `commands`: the terminal understands control sequences.
    """

    columns: int = NARROW
    plain: bool = False
    bold: bool = False
    commands: bool = False

    @property
    def text_columns(self) -> int:
        """Columns that text is wrapped at."""
        return max(min(self.columns, WIDEST_TEXT), FEWEST)


def lines_of(page: Iterable[Block], style: Style) -> list[str]:
    """The lines of a page, none ending in a blank."""
    found: list[str] = []
    before: Block | None = None
    for block in page:
        lines = _plain(block, style) if style.plain else _set(block, style)
        if lines and found and not _joined(before, block):
            found.append("")
        found += lines
        before = block if lines else before
    return [line.rstrip() for line in found]


def _joined(before: Block | None, block: Block) -> bool:
    """True if no empty line belongs between two blocks."""
    if isinstance(block, Entry):
        return isinstance(before, Entry)
    if isinstance(block, Path):
        return isinstance(before, Para)
    return isinstance(block, Para) and block.follows


def _set(block: Block, style: Style) -> list[str]:
    width = style.text_columns
    match block:
        case Title(text):
            return _bold(textwrap.wrap(text, width), style)
        case Para(text):
            return _hung(UNDER if block.follows else "", text, width)
        case Entry(label, text):
            return _hung(f"  {label}  ", text, width)
        case Rows(columns, rows):
            return _table(columns, rows, width)
        case Grid():
            shared = textwrap.wrap(block.shared, width) if block.shared else []
            return [*shared, *_table(block.columns, block.rows, width)]
    return _drawn(block, style) if isinstance(block, Picture) else _as_is(block, width)


def _as_is(block: Path | Names | Drawn, width: int) -> list[str]:
    if isinstance(block, Path):
        return [block.text]
    if isinstance(block, Drawn):
        return list(block.lines)
    wide = max(map(len, block.names), default=1) + 2 * GAP
    deep = -(-len(block.names) // max(width // wide, 1))
    return ["".join(name.ljust(wide) for name in block.names[row::deep]) for row in range(deep)]


def _drawn(picture: Picture, style: Style) -> list[str]:
    """The drawing that fits the terminal; where there is none, how to get at it."""
    for lines in (picture.wide, picture.narrow):
        if lines and max(map(len, lines)) <= style.columns:
            return list(lines)
    return textwrap.wrap(say("no_drawing"), style.text_columns)


def _table(columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], width: int) -> list[str]:
    """Columns as wide as their widest cell; the widest column wraps where all do not fit."""
    cells = [columns, *rows]
    widths = [max(len(row[i]) for row in cells) for i in range(len(columns))]
    over = 2 + sum(widths) + GAP * (len(widths) - 1) - width
    if over > 0:
        widest = widths.index(max(widths))
        widths[widest] -= over
        if widths[widest] < NARROWEST_COLUMN:
            return [line for row in rows for line in _row_in_words(columns, row, width)]
    return [line for row in cells for line in _row(row, widths)]


def _row(row: tuple[str, ...], widths: list[int]) -> list[str]:
    cells = [
        textwrap.wrap(cell, w, break_on_hyphens=False) or [""]
        for cell, w in zip(row, widths, strict=True)
    ]
    deep = max(map(len, cells))
    return [
        "  "
        + (" " * GAP).join(
            (cell[n] if n < len(cell) else "").ljust(w)
            for cell, w in zip(cells, widths, strict=True)
        )
        for n in range(deep)
    ]


def _row_in_words(columns: tuple[str, ...], row: tuple[str, ...], width: int) -> list[str]:
    """A row too wide for the terminal: each cell behind its head."""
    told = "; ".join(f"{head}: {cell}" for head, cell in zip(columns, row, strict=True) if cell)
    return _hung("  - ", told, width)


def _plain(block: Block, style: Style) -> list[str]:
    width = style.text_columns
    match block:
        case Title(text) | Para(text):
            lines = [text]
        case Entry(label, text):
            lines = [f"{label.strip()}: {text}" if any(map(str.isalnum, label)) else text]
        case Rows(columns, rows):
            lines = _linear(columns, rows, "")
        case Grid():
            shared = f"Readings. {block.shared}".rstrip()
            lines = [shared, *_linear(block.columns, block.rows, "Reading")]
        case Names(names):
            lines = [" ".join(name.split()) for name in names]
        case Picture():
            lines = [say("diagram_on_request")]
        case Drawn():
            lines = block.spoken.splitlines()
        case Path():
            return [block.text]
    return [piece for line in lines for piece in textwrap.wrap(line, width, break_on_hyphens=False)]


def _linear(columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], name: str) -> list[str]:
    """Each row as a sentence, heads before cells."""
    found = []
    for number, row in enumerate(rows, 1):
        pairs = [f"{head}: {cell}" for head, cell in zip(columns, row, strict=True) if cell]
        start = f"{name} {number}. " if name else ""
        found.append(start + ". ".join(pairs) + ".")
    return found


def _hung(head: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=head, subsequent_indent=" " * len(head),
        break_on_hyphens=False,
    ) or ([head] if head.strip() else [])  # fmt: skip


def _bold(lines: list[str], style: Style) -> list[str]:
    return [f"{BOLD}{line}{BOLD_OFF}" for line in lines] if style.bold else lines
