"""How wide text comes out in the shipped fonts, before the PDF engine sets it.

Widths are the advance widths of the font files; kerning, which makes a line a little narrower,
is left out, so that a guess errs on the wide side.
"""

from __future__ import annotations

from functools import cache, lru_cache

from fontTools.ttLib import TTFont

from quizgen.base.paths import data_folder
from quizgen.publish.typeset import typeset

POINT = 25.4 / 72  # mm
WIDEST = 1.0  # of the size; for a letter that no shipped font has
DIGITS = "0123456789"

_FILES = {
    False: ("AtkinsonHyperlegible-Regular.ttf", "DejaVuSans.ttf"),
    True: ("AtkinsonHyperlegible-Bold.ttf", "DejaVuSans-Bold.ttf"),
}


def text_width(text: str, points: float, *, bold: bool = False) -> float:
    """Millimetres that `text` takes in one line, set in `points`."""
    widths = _widths(bold)
    return sum(widths.get(ord(letter), WIDEST) for letter in typeset(text)) * points * POINT


def unset_letters(text: str) -> str:
    """The letters of `text` that no shipped font has, each once; a page shows boxes for them.

    >>> unset_letters("Zoë \u5c71"), unset_letters("Nalân")
    ('\u5c71', '')
    """
    known = _widths(True)  # names stand in bold
    drawn = (c for c in typeset(text) if c.isprintable() and ord(c) not in known)
    return "".join(dict.fromkeys(drawn))


def line_count(text: str, width: float, points: float, *, bold: bool = False) -> int:
    """Lines that `text` takes in a column `width` mm wide; at least one.

    >>> line_count("one two three four five six", 26, 10.5)
    2
    """
    count, used, room = 1, 0.0, max(width / (points * POINT), 1.0)
    space = _widths(bold)[ord(" ")]
    for wide in _word_widths(text, bold):
        if used and used + space + wide > room:
            count, used = count + 1, 0.0
        used += wide + (space if used else 0.0)
        while used > room:  # a word longer than the line is broken anywhere
            count, used = count + 1, used - room
    return count


@lru_cache(maxsize=4096)
def _word_widths(text: str, bold: bool) -> tuple[float, ...]:
    """Widths of the words of `text` as shares of the size."""
    widths = _widths(bold)
    return tuple(
        sum(widths.get(ord(letter), WIDEST) for letter in word) for word in typeset(text).split(" ")
    )


@cache
def _widths(bold: bool) -> dict[int, float]:
    """Code point → advance width as a share of the size; the first font that has it counts."""
    found: dict[int, float] = {}
    for name in reversed(_FILES[bold]):
        font = TTFont(data_folder("templates") / "print" / "fonts" / name, lazy=True)
        size, advances = font["head"].unitsPerEm, font["hmtx"].metrics
        found |= {code: advances[glyph][0] / size for code, glyph in font.getBestCmap().items()}
        font.close()
    widest = max(found[ord(digit)] for digit in DIGITS)  # page.css asks for tabular figures
    return found | dict.fromkeys(map(ord, DIGITS), widest)
