"""An answer sheet as a drawing: what `forms.sheet` describes, in ink.

Black on white only. The letters inside the targets are grey and thin, so that they do not count
as a mark when the page is read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

from quizgen.forms.sheet import CODE, EDGE, MARKER, PITCH, QUIET, RADIUS, Row, Sheet
from quizgen.forms.sheet_code import SheetCode
from quizgen.publish.metrics import POINT, text_width
from quizgen.publish.view import Heading

FONT = "Atkinson Hyperlegible, DejaVu Sans"
FAINT = "#8a8f96"
NAME_SIZE, SMALLEST_NAME = 4.4, 3.0  # mm: a long name is set smaller before it is cut short
BITS = 6  # of a marker and its black border, each way
DIGIT_BOX = 5.4
HOW = (
    "Fill the circle of your answer. To change it, erase it well; if you cannot, cross out the row",
    "and write your answer beside it. Write a figure into the boxes and fill a circle below each.",
)


@dataclass(frozen=True, kw_only=True)
class Bearer:
    """Whose sheet it is. `id` is "" on a sheet without a name."""

    form: str
    token: str
    id: str = ""
    name: str = ""

    @property
    def code(self) -> str:
        """What the QR code says: set, form, student; nothing about keys."""
        return SheetCode(self.token, self.form, self.id).text


@dataclass(frozen=True)
class NameTag:
    """The name that is set over the drawing, in mm: the page's text engine joins and turns the
    letters of every script, a drawing's sets them one by one. `height` is that of its line.
    """

    text: str
    size: float
    left: float = EDGE + MARKER + QUIET + 2.0
    top: float = 31.6
    width: float = 0.0
    height: float = 6.0


def name_tag(sheet: Sheet, bearer: Bearer) -> NameTag:
    """Where the bearer's name stands; set smaller, then cut short, where it is long."""
    room = sheet.code[0] - 3.0 - 31.0 - NameTag.left
    text, size = _fitted(bearer.name, room)
    return NameTag(text, size, width=room)


def sheet_svg(sheet: Sheet, heading: Heading, bearer: Bearer) -> str:
    """The page as SVG in millimetres, without the name."""
    width, height = sheet.paper.width, sheet.paper.height
    body = [
        *_markers(sheet),
        *_code(sheet, bearer),
        *_head(sheet, heading, bearer),
        *_blocks(sheet),
        *_foot(sheet, heading, bearer),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{"".join(body)}</svg>'
    )


def _markers(sheet: Sheet) -> Iterator[str]:
    import cv2  # noqa: PLC0415  slow to load, and only sheets need it

    patterns = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    step = MARKER / BITS
    for marker in sheet.markers:
        bits = cv2.aruco.generateImageMarker(patterns, marker.id, BITS)
        dark = [(r, c) for r in range(BITS) for c in range(BITS) if bits[r, c] < 128]
        squares = [_square(marker.x + c * step, marker.y + r * step, step) for r, c in dark]
        yield f'<path d="{"".join(squares)}" fill="#000000"/>'


def _code(sheet: Sheet, bearer: Bearer) -> Iterator[str]:
    import segno  # noqa: PLC0415

    matrix = segno.make(bearer.code, error="m", micro=False, boost_error=False).matrix
    quiet = 4  # modules of white around a QR code, ISO/IEC 18004
    step = CODE / (len(matrix) + 2 * quiet)
    left, top = sheet.code
    squares = [
        _square(left + (c + quiet) * step, top + (r + quiet) * step, step)
        for r, row in enumerate(matrix)
        for c, dark in enumerate(row)
        if dark
    ]
    yield f'<path d="{"".join(squares)}" fill="#000000"/>'


def _head(sheet: Sheet, heading: Heading, bearer: Bearer) -> Iterator[str]:
    left = NameTag.left
    right = sheet.code[0] - 3.0
    yield _text(left, 13.5, 5.2, _short(heading.title, 34), bold=True)
    line = " · ".join(t for t in (heading.week, heading.course) if t)
    yield _text(left, 19.0, 3.1, _short(line, 62))
    yield _text(left, 24.0, 3.1, _short(heading.college, 62))
    yield (
        f'<rect x="{right - 27:.2f}" y="27.5" width="27" height="9.5" fill="none" '
        'stroke="#000000" stroke-width="0.5"/>'
    )
    yield _text(right - 13.5, 34.3, 5.4, f"Form {bearer.form}", bold=True, middle=True)
    yield _text(left, 30.2, 2.7, "Name", grey=True)
    yield _line(left, 37.6, right - 31.0)
    yield _text(left, 43.0, 2.7, "Number", grey=True)
    yield _text(left + 14.0, 43.2, 3.6, bearer.id)
    for i, line in enumerate(HOW):
        yield _text(left, 48.6 + 4.0 * i, 2.8, line)
    x = sheet.code[0] + CODE / 2
    for i, filled in enumerate((True, False)):
        yield _circle(x - 2 + 12 * i, 48.2, "#000000" if filled else "none")
    yield _text(x - 2, 53.2, 2.6, "filled", middle=True)
    yield _text(x + 10, 53.2, 2.6, "empty", middle=True)


def _blocks(sheet: Sheet) -> Iterator[str]:
    for number, x, y in sheet.blocks:
        yield _text(x + 6.4, y + 0.5 * PITCH + 1.35, 3.9, str(number), bold=True, end=True)
    for row in sheet.rows:
        yield from _row(row)
    for _, x, y, text in sheet.points:
        yield _text(x, y, 4.2, text, bold=True, middle=True)


def _row(row: Row) -> Iterator[str]:
    first = row.targets[0]
    if row.label:
        yield _text(first.x - 0.5 * PITCH - 0.6, first.y + 1.05, 3.0, row.label, end=True)
    if row.box:
        x, y = row.box
        half = DIGIT_BOX / 2
        yield (
            f'<rect x="{x - half:.2f}" y="{y - half:.2f}" width="{DIGIT_BOX}" '
            f'height="{DIGIT_BOX}" fill="none" stroke="#000000" stroke-width="0.3"/>'
        )
    for target in row.targets:
        yield _circle(target.x, target.y)
        yield _text(target.x, target.y + 0.92, 2.5, target.value, grey=True, middle=True)


def _foot(sheet: Sheet, heading: Heading, bearer: Bearer) -> Iterator[str]:
    y = sheet.paper.height - EDGE - 2.0
    yield _text(sheet.paper.width / 2, y, 2.9, bearer.code, grey=True, middle=True)


def _square(x: float, y: float, side: float) -> str:
    return f"M{x:.3f} {y:.3f}h{side:.3f}v{side:.3f}h-{side:.3f}z"


def _circle(x: float, y: float, fill: str = "none") -> str:
    return (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{RADIUS}" fill="{fill}" stroke="#000000" '
        'stroke-width="0.25"/>'
    )


def _line(x: float, y: float, to: float) -> str:
    return f'<path d="M{x:.2f} {y:.2f}H{to:.2f}" stroke="#000000" stroke-width="0.25"/>'


def _fitted(name: str, room: float) -> tuple[str, float]:
    """A name and its size, so that it takes at most `room` (mm)."""
    size, cut = NAME_SIZE, name
    if (wide := text_width(name, 1 / POINT, bold=True)) * size > room:
        size = max(room / wide, SMALLEST_NAME)
    while text_width(cut, size / POINT, bold=True) > room + 1e-9:
        cut = _short(name, len(cut) - 1)
    return cut, size


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _text(
    x: float, y: float, size: float, text: str,
    *, bold: bool = False, grey: bool = False, middle: bool = False, end: bool = False,
) -> str:  # fmt: skip
    anchor = "middle" if middle else "end" if end else "start"
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-family="{FONT}" font-size="{size}" '
        f'font-weight="{"bold" if bold else "normal"}" text-anchor="{anchor}" '
        f'fill="{FAINT if grey else "#000000"}">{escape(text)}</text>'
    )
