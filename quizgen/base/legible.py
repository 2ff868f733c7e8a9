"""Text from strangers, made fit for a line of the terminal and for a page.

A name may hold what moves the cursor, colours the screen (ECMA-48 escape sequences) or turns the
direction of all that follows (Unicode Standard Annex 9). The two joiners of Unicode stay: they are
part of how names in Persian or of the languages of India are spelt.
"""

from __future__ import annotations

import unicodedata

JOINERS = "\u200c\u200d"


def legible(text: str) -> str:
    """`text` on one line, with "?" for each character that is no letter, sign or blank.

    >>> legible("Ada\\x1b[31m Krol\\n")
    'Ada?[31m Krol '
    """
    if text.isprintable():
        return text
    return "".join(_shown(c) for c in text)


def spelt(name: str) -> str:
    """`name` with single blanks and without marks of direction, which copying brings along.

    >>> spelt("\\u202aAda  Krol\\u202c\\u200e")
    'Ada Krol'
    """
    kept = (c for c in name if c in JOINERS or unicodedata.category(c) != "Cf")
    return " ".join("".join(kept).split())


def _shown(char: str) -> str:
    if char.isprintable() or char in JOINERS:
        return char
    return " " if char.isspace() else "?"
