"""A problem set verified item by item; see `quizgen.items.verify`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from quizgen.forms.problem_set import ProblemSet
from quizgen.items.verify import Verifier


@dataclass(frozen=True)
class Finding:
    """Something wrong: with which item of which form, and what. `number` counts from 1."""

    form: str
    number: int
    item: str
    problem: str

    def __str__(self) -> str:
        return f"form {self.form}, problem {self.number} ({self.item}): {self.problem}"


def verify_problem_set(
    problem_set: ProblemSet, progress: Callable[[str], None] = lambda text: None
) -> tuple[Finding, ...]:
    """What is wrong with a problem set, in its order; empty if every item is right.

    `progress` is called with a short text before each item.
    """
    verifier = Verifier()
    found = []
    for form in problem_set.forms:
        for number, item in enumerate(form.items, 1):
            progress(f"form {form.code}, problem {number}")
            found += [
                Finding(form.code, number, item.id, problem) for problem in verifier.verify(item)
            ]
    return tuple(found)
