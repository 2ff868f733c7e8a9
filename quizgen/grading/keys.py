"""What is right: the printed key of every question, and what an instructor changed about it.

A changed key never overwrites the printed one. Each change is a record of its own, with who and
why; the last one about a question counts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.forms.sheet import LETTERS
from quizgen.grading.answer_text import plain, read_letters, read_number
from quizgen.grading.responses import Letters
from quizgen.items.item import Item, Response

Change = Literal["key", "withdraw", "restore"]
Range = tuple[float, float]
Question = tuple[str, int]
"""Form and number."""

_RANGE = re.compile(r"(.+?)(?:\.\.\.?|\bto\b)(.+)")
# what the safety kind calls an act that can hurt somebody or blow a fuse
UNSAFE = frozenset(
    {"live-ohmmeter", "live-continuity", "jumper-across-load", "ammeter-across-supply",
     "unfused-jumper"}
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Key:
    """The right answers to one question.

    `accepted` are letters that are right, alternatives side by side; `ranges` what a figure may
    be, both ends included. A question that is `withdrawn` counts for nobody.
    """

    form: str
    number: int
    item: str  # id
    response: Response
    options: int
    accepted: tuple[Letters, ...] = ()
    ranges: tuple[Range, ...] = ()
    withdrawn: bool = False


@dataclass(frozen=True, kw_only=True)
class Amendment:
    """One change of a key. `texts` are the answers to accept, as `check_amendment` reads them."""

    form: str
    number: int
    change: Change
    texts: tuple[str, ...] = ()
    why: str
    who: str


Keys = Mapping[Question, Key]


def printed_key(form: str, number: int, item: Item) -> Key:
    """The key as the set was built."""
    accepted: tuple[Letters, ...] = ()
    ranges: tuple[Range, ...] = ()
    if item.number is not None:
        ranges = ((item.number.low, item.number.high),)
    elif item.response == "order":
        accepted = (tuple(LETTERS[i] for i in item.order),)
    else:
        pairs = zip(LETTERS, item.options, strict=False)
        accepted = (tuple(letter for letter, option in pairs if option.is_key),)
    return Key(
        form=form, number=number, item=item.id, response=item.response,
        options=len(item.options), accepted=accepted, ranges=ranges,
    )  # fmt: skip


def keys_of(problem_set: ProblemSet, amendments: Iterable[Amendment] = ()) -> Keys:
    """The key of every question of every form, with `amendments` in the order they were made."""
    keys = {
        (form.code, number): printed_key(form.code, number, item)
        for form in problem_set.forms
        for number, item in enumerate(form.items, 1)
    }
    printed = dict(keys)
    for amendment in amendments:
        question = amendment.form, amendment.number
        item = item_at(problem_set, question)
        keys[question] = _amended(printed[question], item, amendment)
    return keys


def item_at(problem_set: ProblemSet, question: Question) -> Item:
    """The item behind a question. Raises InputError for one that the set does not have."""
    code, number = question
    form = form_of(problem_set, code)
    if not 1 <= number <= len(form.items):
        raise InputError(f"form {form.code} has questions 1 to {len(form.items)}, not {number}")
    return form.items[number - 1]


def form_of(problem_set: ProblemSet, code: str) -> Form:
    """The form with a code, whatever its case. Raises InputError where there is none."""
    for form in problem_set.forms:
        if form.code.casefold() == code.casefold():
            return form
    raise InputError(f"no form {shown(code)}{suggest(code, [f.code for f in problem_set.forms])}")


def read_question(problem_set: ProblemSet, text: str) -> Question:
    """The question that "A/3" names. Raises InputError."""
    code, slash, number = (piece.strip() for piece in text.partition("/"))
    if not slash or not number.isdecimal():
        raise InputError(f"{shown(text)}: write form and number, such as A/3")
    form = form_of(problem_set, code)
    item_at(problem_set, (form.code, int(number)))
    return form.code, int(number)


def check_amendment(problem_set: ProblemSet, amendment: Amendment) -> None:
    """Raises InputError for a key that does not fit its question, or that makes an unsafe act
    right: such a question can be withdrawn, nothing else."""
    item = item_at(problem_set, (amendment.form, amendment.number))
    key = _amended(printed_key(amendment.form, amendment.number, item), item, amendment)
    for letter in {letter for letters in key.accepted for letter in letters}:
        option = item.options[LETTERS.index(letter)]
        if amendment.change == "key" and option.misconception in UNSAFE:
            raise InputError(
                f"option {letter} of {amendment.form}/{amendment.number} is an act that can hurt "
                "somebody and is never a right answer; withdraw the question instead"
            )
    for what, text in (("why", amendment.why), ("who", amendment.who)):
        if not text.strip():
            raise InputError(f"a change of a key needs --{what}")


def _amended(printed: Key, item: Item, amendment: Amendment) -> Key:
    if amendment.change == "restore":
        return printed
    if amendment.change == "withdraw":
        return replace(printed, withdrawn=True)
    if not amendment.texts:
        raise InputError("a changed key needs at least one answer")
    if item.number is not None:
        return replace(printed, ranges=tuple(_range(text, item) for text in amendment.texts))
    return replace(printed, accepted=_accepted(amendment.texts, item))


def _accepted(texts: Sequence[str], item: Item) -> tuple[Letters, ...]:
    found = tuple(dict.fromkeys(read_letters(plain(text), item) for text in texts))
    if any("" in letters for letters in found):
        raise InputError("an order that is to be the key has no empty places")
    return found


def _range(text: str, item: Item) -> Range:
    """ "11.5 to 12.1 V" as a range; a single figure keeps the width of the printed one."""
    number = item.number
    assert number is not None
    typed = plain(text)
    match = _RANGE.fullmatch(typed)
    if match:
        low, high = (float(read_number(plain(end), number)) for end in match.groups())
        if low > high:
            raise InputError(f"{shown(typed)}: the first figure is the larger one")
        return low, high
    value, half = float(read_number(typed, number)), (number.high - number.low) / 2
    return value - half, value + half
