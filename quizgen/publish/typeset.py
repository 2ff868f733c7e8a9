"""Small typographic corrections that every printed sentence gets.

A number keeps its unit and a part word keeps its number on one line, apostrophes and
quotation marks are curled, and characters that no page can show are dropped.
"""

from __future__ import annotations

import re
import unicodedata

NO_BREAK = "\u00a0"

_UNIT = re.compile(
    r"(?<=\d) (?=(?:[mkM]?[VAΩW]|mm²|mm|cm|m|min|s|h|°C|%|Ah|V/A)(?![\w]))", re.UNICODE
)
_NAMED = re.compile(
    r"\b(terminal|pin|cavity|wire|relay|fuse|breaker|switch|lamp|motor|pump|connector|splice"
    r"|ground|form|page|week|problem|option) (?=[A-Z]{0,3}\d{1,3}[a-z']?\b|[A-F]\b)",
    re.IGNORECASE,
)


def typeset(text: str) -> str:
    """`text` as it should stand on paper.

    >>> typeset("K1's contact drops 0.4 V").replace(NO_BREAK, "~")
    'K1’s contact drops 0.4~V'
    >>> typeset("from relay K1 to the pump").replace(NO_BREAK, "~")
    'from relay~K1 to the pump'
    """
    text = "".join(c for c in text if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    text = _UNIT.sub(NO_BREAK, text)
    text = _NAMED.sub(lambda found: found.group(1) + NO_BREAK, text)
    text = re.sub(r"(?<=\w)'(?=[a-z])", "’", text)
    return re.sub(r'"([^"\n]*)"', r"“\1”", text)
