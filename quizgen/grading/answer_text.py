"""An answer as somebody types it: "b", "A C", "C A B D", "11,9 V".

Loose in what does not matter (case, blanks, commas, decimal comma, Ω or ohm), strict in what
does: an answer that could mean two things is refused, never guessed.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.forms.sheet import LETTERS
from quizgen.grading.responses import Response
from quizgen.items.item import Item, Number

NOTHING = frozenset({"", "-"})
NO_PLACE = "-"
_NUMBER = re.compile(r"([+-]?)\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*([^\d\s.,+-]*)")
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
_NAMES = tuple(
    (re.compile(rf"(?:{names})$", re.IGNORECASE), symbol)
    for names, symbol in (
        ("ohms?|ω", "Ω"), ("volts?|v", "V"), ("amp(?:ere)?s?|a", "A"), ("watts?|w", "W")
    )
)  # fmt: skip
_PREFIXES = {"µ": -6, "m": -3, "": 0, "k": 3, "M": 6}
_PREFIXED = ("V", "A", "Ω", "W")  # units that take a prefix; m and mm² do not
_DASHES = str.maketrans(dict.fromkeys("−–—\u2010\u2011", "-"))
LONGEST = 40  # characters


def read_answer(text: str, item: Item, number: int) -> Response:
    """What `text` answers to `item`, the question `number` of its form.

    Raises InputError with a clause that says what is wrong: more than one letter where one is
    asked for, a letter that is no option, an incomplete or doubled order, no number, another
    unit.
    """
    typed = plain(text)
    if typed in NOTHING:
        return Response(item=number)
    if len(typed) > LONGEST:
        raise InputError(f"{shown(typed)} is no answer")
    if item.number is not None:
        return Response(item=number, value=read_number(typed, item.number), state="answered")
    return Response(item=number, value=read_letters(typed, item), state="answered")


def answer_text(response: Response) -> str:
    """An answer as somebody would type it; "" for none.

    >>> answer_text(Response(item=1, value=("C", "", "A"), state="answered"))
    'C - A'
    """
    if isinstance(response.value, str):
        return response.value
    return " ".join(letter or NO_PLACE for letter in response.value)


def plain(text: str) -> str:
    """`text` without outer blanks, with every dash as "-" and full-width letters as usual ones."""
    return unicodedata.normalize("NFKC", text).translate(_DASHES).strip()


def read_letters(typed: str, item: Item) -> tuple[str, ...]:
    """The letters of an answer: one, several sorted, or all in their order. Raises InputError."""
    known = LETTERS[: len(item.options)]
    found = [c for c in typed.upper() if c not in " ,;.+&/>()[]\t"]
    order = item.response == "order"
    for letter in found:
        if letter not in known and not (order and letter == NO_PLACE):
            raise InputError(f"{shown(typed)}: the options are {known[0]} to {known[-1]}")
    letters = [letter for letter in found if letter != NO_PLACE]
    if not letters:
        raise InputError(f"{shown(typed)} is no answer; write {_wanted(item)}, or nothing")
    if len(set(letters)) < len(letters):
        raise InputError(f"{shown(typed)} has a letter twice")
    if item.response == "one" and len(letters) > 1:
        raise InputError(f"{shown(typed)}: this question takes one letter")
    if order and len(found) != len(known):
        raise InputError(f"{shown(typed)}: write {_wanted(item)}; {NO_PLACE} for an empty place")
    if order:
        return tuple("" if c == NO_PLACE else c for c in found)
    return tuple(sorted(letters))


def _wanted(item: Item) -> str:
    if item.number is not None:
        return f"a number{f' in {item.number.unit}' if item.number.unit else ''}"
    if item.response == "order":
        return f"all {len(item.options)} letters in order"
    return "letters" if item.response == "several" else "a letter"


def read_number(typed: str, number: Number) -> str:
    """A figure in the unit asked for, as digits with "." and perhaps "-", no zeros at its ends.

    Raises InputError for what is no number or in another unit.

    A figure in a prefixed unit is converted: "500 mA" of a question in ampere is "0.5".
    """
    match = _NUMBER.fullmatch(typed)
    if not match:
        unit = f" in {number.unit}" if number.unit else ""
        raise InputError(f"{shown(typed)} is no number; write a figure{unit}, or nothing")
    sign, digits, unit = match.groups()
    if _THOUSANDS.fullmatch(digits) and number.decimals != 3:
        raise InputError(
            f"{shown(typed)}: the comma may mark thousands or decimals; write it without"
        )
    value = Decimal(digits.replace(",", ".")).scaleb(_shift(typed, unit, number.unit))
    negative = sign == "-" and value != 0
    return f"{'-' if negative else ''}{value.normalize():f}"


def _shift(typed: str, unit: str, wanted: str) -> int:
    """Power of ten from `unit` to the one `wanted`; 0 where none was written."""
    written = unit.replace("\u03bc", "µ")
    for names, symbol in _NAMES:
        written = names.sub(symbol, written)
    if not written or written == wanted:
        return 0
    power, wanted_power = _power(written), _power(wanted)
    if power is None or wanted_power is None or written[-1] != wanted[-1]:
        ask = f"the question asks for {wanted}" if wanted else "the question asks for a bare number"
        raise InputError(f"{shown(typed)}: {ask}")
    return power - wanted_power


def _power(unit: str) -> int | None:
    """The power of ten of a unit's prefix; None for a unit that takes none."""
    if unit[-1:] not in _PREFIXED:
        return None
    return _PREFIXES.get(unit[:-1])
