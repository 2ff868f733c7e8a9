"""What a student typed, read as an answer.

An answer is written as in a file that is handed in: letters with spaces between them ("B", "A C"),
or a figure in the unit asked for, with "-" and "." ("-0.3").
"""

from __future__ import annotations

import re
import unicodedata

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown as quoted
from quizgen.drill.question import Shown

MOST_DIGITS = 12  # of a figure that somebody means
_FIGURE = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*([a-zµΩ²%]*)", re.IGNORECASE)
_PREFIX = {"m": 1e-3, "": 1.0, "k": 1e3, "µ": 1e-6}  # of the International System of Units
_NAMES = {
    "ohm": "Ω", "ohms": "Ω", "volt": "V", "volts": "V", "v": "V", "amp": "A", "amps": "A",
    "ampere": "A", "amperes": "A", "a": "A", "watt": "W", "watts": "W", "w": "W", "ω": "Ω",
}  # fmt: skip


def read_answer(asked: Shown, typed: str) -> str:
    """`typed` as an answer to `asked`. Raises InputError that says what was expected."""
    text = unicodedata.normalize("NFKC", typed).strip()
    if asked.response == "number":
        return _figure(asked, text)
    picked = _letters(asked, text)
    if asked.response == "one" and len(picked) != 1:
        raise InputError(f"one letter is asked for, {_span(asked)}")
    if len(set(picked)) < len(picked):
        raise InputError("a letter stands there twice")
    if asked.response == "order":
        if len(picked) < len(asked.choices):
            left = ", ".join(c for c in asked.letters if c not in picked)
            raise InputError(f"all {len(asked.choices)} are to be put in order; {left} missing")
        return " ".join(picked)
    return " ".join(sorted(picked))


def indices(answer: str) -> tuple[int, ...]:
    """Which choices an answer of letters names, from 0.

    >>> indices("A C")
    (0, 2)
    """
    return tuple(ord(letter) - ord("A") for letter in answer.split())


def _letters(asked: Shown, text: str) -> list[str]:
    """Letters, or numbers from 1, run together or apart."""
    bare = re.sub(r"[\s,;.)>→\-]+|\band\b", " ", text.upper().replace(" AND ", " ")).strip()
    picked = []
    for word in bare.split():
        pieces = [word] if word.isdecimal() and int(word) in range(1, 11) else list(word)
        for piece in pieces:
            place = int(piece) - 1 if piece.isdecimal() else asked.letters.find(piece)
            if not 0 <= place < len(asked.choices):
                raise InputError(f"{quoted(text)} is not among the answers, {_span(asked)}")
            picked.append(asked.letters[place])
    if not picked:
        raise InputError(f"nothing was chosen; {_span(asked)}")
    return picked


def _span(asked: Shown) -> str:
    return f"{asked.letters[0]} to {asked.letters[-1]}"


def _figure(asked: Shown, text: str) -> str:
    found = _FIGURE.fullmatch(text.replace("−", "-").replace("–", "-"))
    if found is None or len(found[1]) > MOST_DIGITS:
        unit = f" in {asked.unit}" if asked.unit else ""
        raise InputError(f"{quoted(text)} is no figure; a figure{unit} is asked for, such as 1.5")
    digits = found[1].replace(",", ".")
    scale = _scale(asked.unit, found[2])
    if scale is None:
        raise InputError(f"{quoted(found[2])} is another unit; {asked.unit} is asked for")
    if scale == 1.0:
        return _plain(digits)
    return f"{float(digits) * scale:.10g}"


def _plain(digits: str) -> str:
    """The same figure as one would print it: no "+", a digit on both sides of the point."""
    sign = "-" if digits.startswith("-") else ""
    whole, point, rest = digits.lstrip("+-").partition(".")
    return f"{sign}{whole or '0'}{point if rest else ''}{rest}"


def _scale(asked: str, typed: str) -> float | None:
    """What a figure in the unit `typed` is multiplied by; None for a unit of another thing."""
    if not typed:
        return 1.0
    (wanted, want), (given, have) = _base(asked), _base(typed)
    return have / want if wanted == given else None


def _base(unit: str) -> tuple[str, float]:
    """The unit without its prefix, and what the prefix stands for: "mA" is A and 0.001."""
    name = _NAMES.get(unit.lower(), unit)
    if name in _NAMES.values() or len(name) < 2:
        return name, 1.0
    rest = _NAMES.get(name[1:].lower(), name[1:])
    if name[0] in _PREFIX and rest in _NAMES.values():
        return rest, _PREFIX[name[0]]
    return name, 1.0
