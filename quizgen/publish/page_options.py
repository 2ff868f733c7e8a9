"""What an instructor can choose about the look of the pages."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.base.errors import InputError


@dataclass(frozen=True)
class Size:
    """Millimetres on paper."""

    width: float
    height: float


SIZES = {  # ISO 216; ANSI/ASME Y14.1 for letter
    "a4": Size(210, 297),
    "a3": Size(297, 420),
    "letter": Size(215.9, 279.4),
}

SPACING, LEAST_SPACING, MOST_SPACING = 1.42, 1.2, 2.0


@dataclass(frozen=True, kw_only=True)
class PageOptions:
    """Page size, print size and colour of a workbook or key.

    `large_print` sets the text in 18 pt, the size that the guidelines for large print start
    at (from memory: American Printing House and Clear Print, 16 to 18 pt).
    `black_and_white` turns every colour into the grey of the same lightness, for printers
    that would do it badly; letters carry every meaning either way.
    `line_spacing` is the distance from line to line as a share of the letters' size.
    Raises InputError for a page size that is not in `SIZES` and a spacing out of range.
    """

    size: str = "a4"
    large_print: bool = False
    black_and_white: bool = False
    line_spacing: float = SPACING

    def __post_init__(self) -> None:
        if self.size.lower() not in SIZES:
            known = " ".join(SIZES)
            raise InputError(f"page size {self.size!r}: choose one of {known}")
        if not LEAST_SPACING <= self.line_spacing <= MOST_SPACING:
            raise InputError(
                f"line spacing {self.line_spacing:g}: choose {LEAST_SPACING:g} to {MOST_SPACING:g}"
            )

    @property
    def css_size(self) -> str:
        """Width and height for CSS."""
        page = SIZES[self.size.lower()]
        return f"{page.width}mm {page.height}mm"

    @property
    def css_sideways(self) -> str:
        """The same sheet turned."""
        return " ".join(reversed(self.css_size.split()))

    @property
    def room(self) -> Size:
        """What lies between the margins of page.css, in mm."""
        page = SIZES[self.size.lower()]
        if self.large_print:
            return Size(page.width - 30, page.height - 35)
        return Size(page.width - 32, page.height - 31)

    @property
    def room_sideways(self) -> Size:
        """The same of a sheet of large print that is turned."""
        page = SIZES[self.size.lower()]
        return Size(page.height - 30, page.width - 35)
