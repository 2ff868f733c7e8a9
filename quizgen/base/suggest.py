"""Words for "that is not one of these": show what was found, offer what was meant."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from quizgen.base.legible import legible

SHOWN = 60  # characters of a wrong value that an error message repeats
LISTED = 24  # known words that an error message lists


def shown(value: object) -> str:
    """`value` in quotes, on one line and never long.

    >>> shown("relai")
    "'relai'"
    >>> shown(2.5)
    '2.5'
    """
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        return "a huge number"
    return text if len(text) <= SHOWN else f"{text[: SHOWN - 4]}...{text[0]}"


def suggest(word: str, known: Iterable[str]) -> str:
    """A hint to put behind an unknown word: the nearest known one, or all of them.

    >>> suggest("colr", ["colour", "mm2", "metres"])
    '; did you mean colour?'
    >>> suggest("zzz", ["colour", "mm2"])
    '; known: colour, mm2'

    Names may come out of somebody's file, so long ones are cut and nothing else than text is told.
    """
    names = [_brief(name) for name in known]
    if not names:
        return "; there are none"
    # 0.6 still catches one wrong letter in three
    near = get_close_matches(word[:SHOWN].lower(), [n.lower() for n in names], n=1, cutoff=0.6)
    if near:
        return f"; did you mean {next(n for n in names if n.lower() == near[0])}?"
    more = ", ..." if len(names) > LISTED else ""
    return f"; known: {', '.join(names[:LISTED])}{more}"


def _brief(name: str) -> str:
    return legible(name if len(name) <= SHOWN else f"{name[: SHOWN - 3]}...")
