"""What a wrong answer says about the one who gave it.

A slip is one thing to talk about: a wrong option that was chosen, a right one that was left out, a
figure that a known mistaken idea arrives at. It carries the reason that stands in the answer key.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from quizgen.forms.problem_set import ProblemSet
from quizgen.forms.sheet import LETTERS
from quizgen.grading.keys import Key, Keys, Question, item_at
from quizgen.grading.responses import Letters, Response, figure_of
from quizgen.items.item import Item, Number, WrongNumber

LEAST_REACH = 1e-3  # of the right figure's range, for mistakes that arrive near 0


@dataclass(frozen=True, kw_only=True)
class Slip:
    """`letter` of the option ("" of a figure), the mistaken idea ("" for none), the reasons.

    `missed` is a right option that was not chosen.
    """

    misconception: str
    reasons: tuple[str, ...]
    letter: str = ""
    missed: bool = False


def slips_of(item: Item, key: Key, response: Response) -> tuple[Slip, ...]:
    """What is wrong with an answer, part by part.

    Nothing of a right, blank or doubtful answer or a withdrawn question, and nothing of an order,
    whose options say nothing one by one.
    """
    if key.withdrawn or response.state != "answered":
        return ()
    value = response.value
    if isinstance(value, str):
        return _figure(item, key, figure_of(value)) if item.number else ()
    if item.response == "order" or value in key.accepted:
        return ()
    return tuple(_chosen(item, key, value))


def could_show(item: Item, key: Key) -> frozenset[str]:
    """The mistaken ideas that an answer to the question could show."""
    if key.withdrawn:
        return frozenset()
    right = {letter for letters in key.accepted for letter in letters}
    pairs = zip(LETTERS, item.options, strict=False)
    names = {option.misconception for letter, option in pairs if letter not in right}
    names |= {wrong.misconception for wrong in item.number.wrong} if item.number else set()
    return frozenset(names - {""})


def chances_of(
    problem_set: ProblemSet, keys: Keys, answers: Mapping[Question, int]
) -> Counter[str]:
    """Mistaken idea → how many could have shown it of so many `answers` to each question."""
    chances: Counter[str] = Counter()
    for question, count in answers.items():
        for name in could_show(item_at(problem_set, question), keys[question]):
            chances[name] += count
    return chances


def _chosen(item: Item, key: Key, value: Letters) -> Iterator[Slip]:
    """Wrong options chosen, then right ones left out, by the accepted answer that is nearest."""
    right = max(key.accepted, key=lambda letters: len({*letters} & {*value}), default=())
    for letter in value:
        option = item.options[LETTERS.index(letter)]
        if letter not in right:
            yield Slip(letter=letter, misconception=option.misconception, reasons=option.rationale)
    for letter in right if item.response == "several" else ():
        if letter not in value:
            reasons = item.options[LETTERS.index(letter)].rationale
            yield Slip(letter=letter, misconception="", reasons=reasons, missed=True)


def _figure(item: Item, key: Key, value: float) -> tuple[Slip, ...]:
    number = item.number
    assert number is not None
    if any(low <= value <= high for low, high in key.ranges):
        return ()
    near = [w for w in number.wrong if abs(value - w.value) <= _reach(number, w)]
    if not near:
        return ()
    wrong = min(near, key=lambda w: abs(value - w.value))
    return (Slip(misconception=wrong.misconception, reasons=wrong.rationale),)


def _reach(number: Number, wrong: WrongNumber) -> float:
    """How near to a known mistake counts as made: the same share as is right of the answer."""
    half = (number.high - number.low) / 2
    share = abs(wrong.value / number.value) if number.value else 1.0
    return half * max(share, LEAST_REACH) + 10.0**-number.decimals / 2
