"""The figures of a class report: how the class did, question by question, mistaken idea by idea.

Students with doubtful marks are left out of all figures until those are decided; withdrawn
questions are left out for everybody. Where a set has several forms, the questions in one place of
the forms are alike in topic, kind and level but not the same: they are taken together for the
class as a whole, and apart for each form.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from quizgen.base.proportion import wilson
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import Keys, item_at
from quizgen.grading.responses import Response
from quizgen.grading.slips import chances_of, slips_of
from quizgen.reports.question_figures import QuestionFigures, points_of, question_figures
from quizgen.reports.statistics import (
    alpha,
    alpha_interval,
    correlation_interval,
    standard_error,
)
from quizgen.store.contents import Graded

Interval = tuple[float, float]
SMALL = 30  # students; below that no label is put on a question
RETAUGHT = 3  # mistaken ideas that the report puts first


@dataclass(frozen=True, kw_only=True)
class Reliability:
    """Alpha (KR-20 where all points are 0 or 1) with its 95 % interval; nan where there is none.

    `error` is the standard error of measurement in points; `questions` those that were counted.
    """

    form: str  # "" for all forms together
    students: int
    questions: int
    alpha: float
    interval: Interval
    error: float


@dataclass(frozen=True, kw_only=True)
class Belief:
    """A mistaken idea: how often it was shown of how often it could have been, and by how many.

    `questions` are those that it was shown in, as form and number.
    """

    name: str  # as in templates/wording/misconceptions.yaml
    shown: int
    chances: int
    students: int
    interval: Interval
    questions: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class ClassFigures:
    """All of it. `shares` are points as a share of what counted, one for each student."""

    students: int
    left_out: tuple[str, ...]  # with doubtful marks
    missing: tuple[str, ...]  # without answers
    shares: tuple[float, ...]
    reliabilities: tuple[Reliability, ...]
    places: tuple[QuestionFigures, ...]  # forms together; empty where there is one form
    questions: tuple[QuestionFigures, ...]
    beliefs: tuple[Belief, ...]

    @property
    def small(self) -> bool:
        """Whether there are too few students for labels."""
        return self.students < SMALL

    @property
    def chance_correlation(self) -> float:
        """How far from 0 a correlation that is 0 may come out, in 95 of 100 classes this size."""
        return correlation_interval(0.0, self.students)[1]


def class_figures(
    problem_set: ProblemSet, keys: Keys, everything: Sequence[Graded]
) -> ClassFigures:
    """The figures of a set's results."""
    complete = [g for g in everything if not g.result.pending]
    there = {g.given.student for g in everything}
    by_form: dict[str, list[Graded]] = defaultdict(list)
    for graded in complete:
        by_form[graded.given.form].append(graded)
    questions = tuple(
        figures
        for form in sorted(by_form)
        for figures in question_figures(problem_set, keys, by_form[form], form)
    )
    several = len(problem_set.forms) > 1 and bool(complete)
    places = tuple(question_figures(problem_set, keys, complete, "")) if several else ()
    groups = {"": complete} if complete else {}
    if len(by_form) > 1:
        groups |= {form: by_form[form] for form in sorted(by_form)}
    return ClassFigures(
        students=len(complete),
        left_out=tuple(g.given.student for g in everything if g.result.pending),
        missing=tuple(s.id for s in problem_set.students if s.id not in there),
        shares=tuple(g.result.share for g in complete),
        reliabilities=tuple(_reliability(form, group) for form, group in groups.items()),
        places=places,
        questions=questions,
        beliefs=_beliefs(problem_set, keys, complete),
    )


def _reliability(form: str, group: Sequence[Graded]) -> Reliability:
    points = points_of(group)
    counted = points[:, ~np.isnan(points).any(axis=0)]
    students, questions = counted.shape
    value = alpha(counted) if students > 1 else float("nan")
    return Reliability(
        form=form, students=students, questions=questions, alpha=value,
        interval=alpha_interval(value, students, questions),
        error=standard_error(counted.sum(axis=1), value),
    )  # fmt: skip


def _beliefs(problem_set: ProblemSet, keys: Keys, group: Sequence[Graded]) -> tuple[Belief, ...]:
    """Mistaken ideas, the surest common ones first: by the lower end of the share's interval."""
    shown: Counter[str] = Counter()
    who: dict[str, set[str]] = defaultdict(set)
    where: dict[str, set[tuple[str, int]]] = defaultdict(set)
    answers: Counter[tuple[str, int]] = Counter()

    @cache  # a large class gives the same few answers over and over
    def ideas(question: tuple[str, int], response: Response) -> frozenset[str]:
        slips = slips_of(item_at(problem_set, question), keys[question], response)
        return frozenset(slip.misconception for slip in slips) - {""}

    for graded in group:
        for response in graded.given.responses:
            question = graded.given.form, response.item
            answers[question] += 1
            for name in ideas(question, response):
                shown[name] += 1
                who[name].add(graded.given.student)
                where[name].add(question)
    chances = chances_of(problem_set, keys, answers)
    found = [
        Belief(
            name=name, shown=count, chances=chances[name], students=len(who[name]),
            interval=wilson(count, chances[name]), questions=tuple(sorted(where[name])),
        )
        for name, count in shown.items()
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda b: (-b.interval[0], -b.shown, b.name)))
