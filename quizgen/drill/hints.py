"""Hints: what a good colleague would say before giving the answer away."""

from __future__ import annotations

import random

from quizgen.drill.question import LETTERS, Question
from quizgen.drill.words import say

KEPT_OPEN = 2  # choices that hints leave undecided


def hint(question: Question, number: int) -> str:
    """Hint `number` (from 1) to the question; "" when none is left. The same after a restart."""
    hints = _hints(question)
    return hints[number - 1] if 1 <= number <= len(hints) else ""


def _hints(question: Question) -> list[str]:
    match question.shown.response:
        case "one":
            return _ruled_out(question)
        case "several":
            return _decided(question)
        case "order":
            return _first_places(question)
        case _:
            return _on_the_way(question)


def _ruled_out(question: Question) -> list[str]:
    wrong = [i for i, reason in enumerate(question.key.choices) if not reason.is_key]
    _shuffle(question, wrong)
    count = len(question.shown.choices) - KEPT_OPEN
    return [
        say("hint_out", letter=LETTERS[i], reasons=" ".join(question.key.choices[i].reasons))
        for i in wrong[:count]
    ]


def _decided(question: Question) -> list[str]:
    places = list(range(len(question.shown.choices)))
    _shuffle(question, places)
    found = []
    for i in places[: len(places) - KEPT_OPEN]:
        reason = question.key.choices[i]
        key = "hint_in" if reason.is_key else "hint_out"
        found.append(say(key, letter=LETTERS[i], reasons=" ".join(reason.reasons)))
    return found


def _first_places(question: Question) -> list[str]:
    order = question.key.order[: len(question.key.order) - KEPT_OPEN]
    return [
        say("hint_order", place=place, letter=LETTERS[i], text=question.shown.choices[i])
        for place, i in enumerate(order, 1)
    ]


def _on_the_way(question: Question) -> list[str]:
    """A slip first, it says what not to do; then the way as far as it does not name the answer."""
    found = [
        say("hint_slip", text=slip.text, reasons=" ".join(slip.reasons))
        for slip in question.key.slips
        if question.key.text not in " ".join(slip.reasons)
    ][:1]
    for step in question.key.solution:
        if question.key.text in step:
            break
        found.append(step)
    return found


def _shuffle(question: Question, places: list[int]) -> None:
    random.Random(question.item).shuffle(places)
