"""Answers and marks as short texts.

An answer is "B", "A C", "C - B D" or "11.9"; "" is a blank one. A doubtful one begins with "?":
"? B | faint", or "? | two filled". A mark is its verdict, behind a partly right one its points:
"right", "partly 0.5".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import msgspec

from quizgen.grading.answer_text import NO_PLACE, answer_text
from quizgen.grading.responses import Letters, Response
from quizgen.grading.score import Mark, Verdict

DOUBT = "?"
WHY = " | "
REMEMBERED = 10_000  # a large class gives the same few answers over and over
_POINTS = {"right": 1.0}


def answers_text(responses: Sequence[Response]) -> str:
    """Responses in the order of their questions, as a JSON list."""
    return msgspec.json.encode([_answer_text(r) for r in responses]).decode()


def answers_of(text: str) -> tuple[Response, ...]:
    """The responses in such a text.

    >>> given = '["B", "? 11.9 | faint", ""]'
    >>> [(r.item, r.value, r.state) for r in answers_of(given)]
    [(1, ('B',), 'answered'), (2, '11.9', 'doubtful'), (3, '', 'blank')]
    """
    texts = msgspec.json.decode(text, type=list[str])
    return tuple(_answer(number, answer) for number, answer in enumerate(texts, 1))


def marks_text(marks: Iterable[Mark]) -> str:
    """Marks in the order of their questions, as a JSON list."""
    return msgspec.json.encode([_mark_text(mark) for mark in marks]).decode()


def marks_of(text: str) -> tuple[Mark, ...]:
    """The marks in such a text.

    >>> [(m.verdict, m.points) for m in marks_of('["right", "partly 0.5", "blank"]')]
    [('right', 1.0), ('partly', 0.5), ('blank', 0.0)]
    """
    texts = msgspec.json.decode(text, type=list[str])
    return tuple(_mark(number, mark) for number, mark in enumerate(texts, 1))


def _answer_text(response: Response) -> str:
    text = answer_text(response)
    if response.state == "doubtful":
        return f"{DOUBT} {text}".rstrip() + WHY + response.doubt
    return text


@lru_cache(REMEMBERED)
def _answer(number: int, text: str) -> Response:
    if not text.startswith(DOUBT):
        return Response(item=number, value=_value(text), state="answered" if text else "blank")
    text, _, doubt = text.removeprefix(DOUBT).partition(WHY)
    return Response(item=number, value=_value(text.strip()), state="doubtful", doubt=doubt)


def _value(text: str) -> Letters | str:
    if not text or any(c.isdigit() for c in text):
        return text
    return tuple("" if letter == NO_PLACE else letter for letter in text.split())


def _mark_text(mark: Mark) -> str:
    return f"{mark.verdict} {mark.points:g}" if mark.verdict == "partly" else mark.verdict


@lru_cache(REMEMBERED)
def _mark(number: int, text: str) -> Mark:
    verdict: Verdict
    verdict, _, points = text.partition(" ")  # type: ignore[assignment]
    return Mark(item=number, verdict=verdict, points=float(points or _POINTS.get(verdict, 0.0)))
