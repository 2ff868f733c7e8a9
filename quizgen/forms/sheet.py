"""The answer sheet of a form: where on the paper everything stands.

One description for the page that is printed and for the scan that is read. All lengths are
millimetres from the top left corner of the upright page.

A row is one thing to fill in: the letters of a question, one place of an ordering, one digit of a
figure. Rows of a question stay together in a block; blocks fill the columns from the top.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass

from quizgen.base.errors import UnprovableError
from quizgen.items.item import Item

LETTERS = "ABCDEFGH"
DIGITS = "0123456789"
MINUS = "−"
WHOLE_DIGITS = 3

RADIUS = 2.1  # of a target
PITCH = 6.4  # from target to target, and from row to row
NUMBER_WIDTH = 10.0  # for the number of a question, left of its targets
GAPS = (3.4, 2.2, 1.0)  # between two blocks: the widest that gets all onto the page
MARKER = 12.0  # side of a corner marker
QUIET = 3.0  # white around it
EDGE = 9.0  # from the paper's edge to a marker
CODE = 26.0  # side of the QR code, its quiet zone included
HEAD = 58.0  # from the top edge to the first row
FOOT = 26.0  # from the last row to the bottom edge
COLUMN_GAPS = (9.0, 7.0, 5.0)  # with each of GAPS


@dataclass(frozen=True)
class Paper:
    """Width and height."""

    name: str
    width: float
    height: float


PAPERS = {  # ISO 216; ANSI/ASME Y14.1
    "a4": Paper("a4", 210.0, 297.0),
    "letter": Paper("letter", 215.9, 279.4),
}


@dataclass(frozen=True)
class Target:
    """A circle to fill: the middle of it, and what it stands for."""

    x: float
    y: float
    value: str


@dataclass(frozen=True)
class Row:
    """Targets of which one is filled, or with `many` any. `label` is printed in front of it."""

    item: int  # number of the question, from 1
    place: int  # which row of its question, from 0
    label: str
    targets: tuple[Target, ...]
    many: bool = False
    box: tuple[float, float] | None = None  # middle of a box to write a digit in


@dataclass(frozen=True)
class Marker:
    """A square pattern in a corner; `id` in the dictionary DICT_4X4_50 of OpenCV's aruco."""

    id: int
    x: float  # of its top left corner
    y: float


@dataclass(frozen=True)
class Sheet:
    """One page. `blocks` are numbers of questions with the place of their number."""

    paper: Paper
    markers: tuple[Marker, ...]
    code: tuple[float, float]  # top left of the QR code
    blocks: tuple[tuple[int, float, float], ...]
    rows: tuple[Row, ...]
    points: tuple[tuple[int, float, float, str], ...]  # question, place and text: sign or unit

    @property
    def targets(self) -> Iterator[tuple[Row, Target]]:
        """Every circle with its row."""
        for row in self.rows:
            for target in row.targets:
                yield row, target


def lay_out_sheet(items: Sequence[Item], paper: str = "a4") -> Sheet:
    """The sheet of a form. Raises UnprovableError when its questions do not fit on a page."""
    for gap, column_gap in zip(GAPS[:-1], COLUMN_GAPS[:-1], strict=True):
        with suppress(UnprovableError):
            return _laid_out(items, PAPERS[paper], gap, column_gap)
    return _laid_out(items, PAPERS[paper], GAPS[-1], COLUMN_GAPS[-1])


def _laid_out(items: Sequence[Item], page: Paper, gap: float, column_gap: float) -> Sheet:
    low, high = HEAD, page.height - FOOT
    x, y = EDGE + 4.0, low
    widest = 0.0
    blocks: list[tuple[int, float, float]] = []
    rows: list[Row] = []
    points: list[tuple[int, float, float, str]] = []
    for number, item in enumerate(items, 1):
        width, height = _extent(item)
        if y > low and y + height > high:
            x, y, widest = x + widest + column_gap, low, 0.0
        if x + width > page.width - EDGE or y + height > high:
            raise UnprovableError(
                f"question {number} does not fit on one answer sheet; ask for fewer questions, or "
                "fewer that are answered by a figure or an order"
            )
        blocks.append((number, x, y))
        rows += _rows(item, number, x + NUMBER_WIDTH, y)
        points += _signs(item, number, x + NUMBER_WIDTH, y)
        widest = max(widest, width)
        y += height + gap
    return Sheet(
        page, _markers(page), (page.width - EDGE - MARKER - QUIET - 6.0 - CODE, EDGE),
        tuple(blocks), tuple(rows), tuple(points),
    )  # fmt: skip


def _markers(page: Paper) -> tuple[Marker, ...]:
    """Clockwise from the top left; the numbers tell a sheet that lies upside down."""
    right, bottom = page.width - EDGE - MARKER, page.height - EDGE - MARKER
    corners = ((EDGE, EDGE), (right, EDGE), (right, bottom), (EDGE, bottom))
    return tuple(Marker(number, x, y) for number, (x, y) in enumerate(corners))


def digit_columns(item: Item) -> tuple[str, ...]:
    """The columns of a figure: "-", then digits "d", "." in their midst.

    A minus and three whole digits are always there, or the sheet would tell how large it is.
    """
    number = item.number
    assert number is not None
    largest = max(abs(v) for v in (number.value, number.high, *(w.value for w in number.wrong)))
    whole = max(WHOLE_DIGITS, len(str(int(largest))))
    return ("-", *["d"] * whole, *([".", *["d"] * number.decimals] if number.decimals else []))


def _extent(item: Item) -> tuple[float, float]:
    """Width and height of the block of a question, its number included."""
    options = len(item.options)
    if item.response == "number":
        columns = [c for c in digit_columns(item) if c != "."]
        return NUMBER_WIDTH + (len(columns) + 2.2) * PITCH, 11.4 * PITCH
    lines = options if item.response == "order" else 1
    lead = PITCH if item.response == "order" else 0.0
    return NUMBER_WIDTH + lead + options * PITCH, lines * PITCH


def _rows(item: Item, number: int, x: float, y: float) -> Iterator[Row]:
    if item.response == "number":
        yield from _digits(item, number, x, y)
        return
    letters = LETTERS[: len(item.options)]
    ordered = item.response == "order"
    for place in range(len(letters) if ordered else 1):
        middle = y + (place + 0.5) * PITCH
        left = x + (PITCH if ordered else 0.0)
        targets = (Target(left + (i + 0.5) * PITCH, middle, a) for i, a in enumerate(letters))
        label = f"{place + 1}." if ordered else ""
        yield Row(number, place, label, tuple(targets), many=item.response == "several")


def _digits(item: Item, number: int, x: float, y: float) -> Iterator[Row]:
    """A column of targets for each digit, a box above it to write the digit in."""
    for place, (sort, middle) in enumerate(_columns(item, x)):
        values = (MINUS,) if sort == "-" else tuple(DIGITS)
        targets = (Target(middle, y + (i + 1.9) * PITCH, v) for i, v in enumerate(values))
        yield Row(number, place, "", tuple(targets), box=(middle, y + 0.5 * PITCH))


def _columns(item: Item, x: float) -> Iterator[tuple[str, float]]:
    at = x
    for sort in digit_columns(item):
        if sort == ".":
            at += 0.4 * PITCH
            continue
        yield sort, at + 0.5 * PITCH
        at += PITCH


def _signs(item: Item, number: int, x: float, y: float) -> Iterator[tuple[int, float, float, str]]:
    """The point within a figure and the unit behind it."""
    if item.number is None:
        return
    at = x
    for sort in digit_columns(item):
        if sort == ".":
            yield number, at + 0.2 * PITCH, y + 0.88 * PITCH, "."
            at += 0.4 * PITCH
        else:
            at += PITCH
    yield number, at + 0.8 * PITCH, y + 0.6 * PITCH, item.number.unit
