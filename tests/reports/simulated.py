"""Simulated classes: students with an ability, answering by the Rasch model. Not real people."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import exp

from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.forms.roster import Student
from quizgen.grading.keys import keys_of
from quizgen.grading.responses import Response, Source, StudentResponses
from quizgen.grading.score import Rules, score
from quizgen.store.contents import Graded
from tests.grading import graded


def questions(count: int, form: str) -> tuple[graded.Item, ...]:
    """Questions of one letter, key B, wrong ideas stops-early and load-blamed."""
    return tuple(graded.one(f"{form}{n}") for n in range(1, count + 1))


def big_set(students: int, count: int = 10, codes: str = "A") -> ProblemSet:
    """A set of `count` questions for so many students, forms in turn."""
    people = [
        Student(id=f"S-{n:05}", name=f"Student {n}", form=codes[n % len(codes)])
        for n in range(1, students + 1)
    ]
    base = graded.the_set(questions(count, codes[0]), people)
    forms = tuple(Form(code=code, items=questions(count, code)) for code in codes)
    return ProblemSet(**{**vars(base), "forms": forms})


def answers(
    problem_set: ProblemSet, seed: int = 1, favourite: str = "A", spread: float = 1.0,
    idle: Sequence[int] = (),
) -> list[StudentResponses]:  # fmt: skip
    """What simulated students answer; who does not know picks `favourite` or C, two to one.

    Nobody picks C on the questions `idle`.
    """
    rng = random.Random(seed)
    found = []
    for student in problem_set.students:
        ability = rng.gauss(0.4, spread)
        letters = []
        count = len(problem_set.forms[0].items)
        for number in range(1, count + 1):
            ease = 1.5 - 3 * (number - 1) / max(count - 1, 1)
            knows = rng.random() < 1 / (1 + exp(-ability - ease))
            wrong = favourite if number in idle or rng.random() < 2 / 3 else "C"
            letters.append("B" if knows else wrong)
        found.append(responses(student.id, student.form, letters))
    return found


def responses(student: str, form: str, letters: Sequence[str]) -> StudentResponses:
    """Answers of one letter each; "" is blank."""
    return StudentResponses(
        student=student, form=form, source=Source(file="simulated.csv", digest="5"),
        responses=tuple(
            Response(item=n, value=(letter,) if letter else "",
                     state="answered" if letter else "blank")
            for n, letter in enumerate(letters, 1)
        ),
    )  # fmt: skip


def scored(problem_set: ProblemSet, given: Sequence[StudentResponses]) -> list[Graded]:
    """The same with marks."""
    keys = keys_of(problem_set)
    return [Graded(given=g, result=score(g, keys, Rules())) for g in given]
