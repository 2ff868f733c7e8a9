"""Whether an answer holds, and which beliefs it shows."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.drill.answers import indices
from quizgen.drill.question import Question, Slip

NEAR = 1e-9  # relative; a figure typed exactly at the limit counts


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """`right`; of the choices the ones to be explained, by index; of a figure the slip it is.

    `misconceptions` are the names of the beliefs that lead to this answer.
    """

    right: bool
    explained: tuple[int, ...] = ()
    slip: Slip | None = None
    misconceptions: tuple[str, ...] = ()


def judge(question: Question, answer: str) -> Verdict:
    """The verdict on an answer as `read_answer` writes it."""
    if question.shown.response == "number":
        return _figure(question, float(answer))
    picked = indices(answer)
    if question.shown.response == "order":
        return _ordering(question, picked)
    reasons = question.key.choices
    wrong = tuple(
        i for i, reason in enumerate(reasons) if reason.is_key != (i in picked)
    )  # chosen and not true, or true and left out
    right = not wrong
    if question.shown.response == "one":
        return Verdict(
            right=right, explained=picked,
            misconceptions=() if right else _beliefs(question, picked),
        )  # fmt: skip
    return Verdict(
        right=right, explained=picked if right else wrong, misconceptions=_beliefs(question, wrong)
    )


def _ordering(question: Question, picked: tuple[int, ...]) -> Verdict:
    first = [given for given, due in zip(picked, question.key.order, strict=False) if given != due][
        :1
    ]
    return Verdict(
        right=not first, explained=tuple(first), misconceptions=_beliefs(question, tuple(first))
    )


def _beliefs(question: Question, chosen: tuple[int, ...]) -> tuple[str, ...]:
    names = (question.key.choices[i].misconception for i in chosen)
    return tuple(dict.fromkeys(name for name in names if name))


def _figure(question: Question, value: float) -> Verdict:
    key = question.key
    slack = NEAR * max(abs(key.low), abs(key.high))
    if key.low - slack <= value <= key.high + slack:
        return Verdict(right=True)
    reach = (key.high - key.low) / 2
    near = [slip for slip in key.slips if abs(value - slip.value) <= _reach(key.value, reach, slip)]
    slip = min(near, key=lambda slip: abs(value - slip.value), default=None)
    return Verdict(right=False, slip=slip, misconceptions=(slip.misconception,) if slip else ())


def _reach(right: float, reach: float, slip: Slip) -> float:
    """How near to a slip counts as made: the same share that is taken as right of the answer."""
    return reach * max(abs(slip.value / right), 1e-3) if right else reach
