"""Results as one CSV table: a row for each student, points for each question."""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.base.cells import Cell, csv_text
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import form_of
from quizgen.reports.results import students_of
from quizgen.reports.wording import answer_words
from quizgen.store.contents import Graded

HEAD = ("id", "name", "form", "points", "out_of", "share", "undecided", "file")


def results_csv(
    problem_set: ProblemSet, everything: Sequence[Graded], *, decimal_comma: bool = False
) -> str:
    """The table; students without answers have a row with nothing in it.

    `answer 3` is what was given to question 3, `points 3` what it is worth; a withdrawn question
    has no points.
    """
    count = max(len(form.items) for form in problem_set.forms)
    numbers = range(1, count + 1)
    head: list[Cell] = [*HEAD, *(f"{what} {n}" for n in numbers for what in ("answer", "points"))]
    found = {g.given.student: g for g in everything}
    rows = [
        _row(problem_set, s.id, s.name, found.get(s.id))
        for s in students_of(problem_set, everything)
    ]
    full = [[*row, *[None] * (len(head) - len(row))] for row in rows]
    return csv_text([head, *full], decimal_comma=decimal_comma)


def _row(problem_set: ProblemSet, student: str, name: str, graded: Graded | None) -> list[Cell]:
    if graded is None:
        return [student, name]
    result = graded.result
    row: list[Cell] = [
        student, name, result.form, result.points, result.out_of, result.share, result.pending,
        graded.given.source.file,
    ]  # fmt: skip
    items = form_of(problem_set, result.form).items
    for item, response, mark in zip(items, graded.given.responses, result.marks, strict=True):
        row.append("" if mark.verdict == "doubtful" else answer_words(response.value, item))
        row.append(None if mark.verdict in ("withdrawn", "doubtful") else mark.points)
    return row
