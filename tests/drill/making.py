"""Somebody who makes questions at once, for tests: small ones that are made up."""

from __future__ import annotations

import dataclasses
from collections import deque
from collections.abc import Callable

from quizgen.cli.drill_messages import FIRST, Reply, Wanted
from quizgen.drill.question import Question
from tests.drill.asked import ALL

LEVELS = ("read", "predict", "interpret", "choose", "justify")
CATALOGUE = dict.fromkeys(("lamps", "shared-feed", "switches"), LEVELS)


def made(wanted: Wanted) -> Question:
    """A question for the request, a sort of its own for each number."""
    question = ALL[wanted.number % len(ALL)]
    shown = dataclasses.replace(question.shown, number=wanted.number)
    return dataclasses.replace(
        question, topic=wanted.topic, level=wanted.level, shown=shown, sum=f"sum {wanted.number}"
    )


class QuickMaking:
    """Answers every request at once; `make` may be put in place of `made`. `seen` are requests."""

    def __init__(self, make: Callable[[Wanted], Question | None] = made, circuit: str = "") -> None:
        self.make = make
        self.circuit = circuit
        self.seen: list[Wanted] = []
        self.closed = False
        self._replies: deque[Reply] = deque()

    def ask(self, wanted: Wanted) -> None:
        """Make it at once."""
        self.seen.append(wanted)
        if not wanted.topic:
            self._replies.append(Reply(catalogue=CATALOGUE))
            return
        if wanted.topic == FIRST:
            wanted = dataclasses.replace(wanted, topic=next(iter(CATALOGUE)))
        try:
            question = self.make(wanted)
        except ArithmeticError as error:
            self._replies.append(Reply(number=wanted.number, error=str(error)))
            return
        self._replies.append(
            Reply(number=wanted.number, question=question, barren=question is None)
        )

    def fetch(self, seconds: float) -> Reply | None:
        """The oldest reply."""
        return self._replies.popleft() if self._replies else None

    def close(self) -> None:
        """Note that it was let go."""
        self.closed = True
