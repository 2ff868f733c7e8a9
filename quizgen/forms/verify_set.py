"""A problem set verified item by item; see `quizgen.items.verify`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from quizgen.forms.problem_set import ProblemSet
from quizgen.items.verify import Verifier
from quizgen.items.verify.second_opinion import Opinion, second_opinion


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


def ask_ngspice(
    problem_set: ProblemSet, program: str, progress: Callable[[str], None] = lambda text: None
) -> tuple[tuple[Finding, ...], Opinion]:
    """What ngspice, called `program`, finds wrong with the figures printed, and how near it is.

    `progress` as for `verify_problem_set`. Raises OutsideError when it cannot be run.
    """
    numbered = [
        (form.code, number, item)
        for form in problem_set.forms
        for number, item in enumerate(form.items, 1)
    ]
    opinion = second_opinion(
        [item for _, _, item in numbered],
        program,
        lambda i: progress(f"ngspice: form {numbered[i][0]}, problem {numbered[i][1]}"),
    )
    found = [
        Finding(code, number, item.id, problem)
        for (code, number, item), problems in zip(numbered, opinion.findings, strict=True)
        for problem in problems
    ]
    return tuple(found), opinion
