"""Answers that a student handed in from the drill, as responses.

The file comes from a student's own computer, so nothing in it is believed: it has to belong to
this set, its student and form to exist, and each answer to be one that the question allows.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.forms.handed_in import HandedIn, read_handed_in
from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.grading.answer_text import read_answer
from quizgen.grading.responses import Response, Source, StudentResponses


def read_drill_answers(path: Path, problem_set: ProblemSet) -> StudentResponses:
    """The answers in the file `path`.

    Raises InputError when the file is none, was edited, belongs to another set or to a student or
    form that this set does not have, or holds an answer that its question does not allow.
    """
    handed_in = read_handed_in(path)
    if handed_in.token != problem_set.token:
        raise InputError(f"{path}: answers another set than {problem_set.name}")
    form = _form(path, handed_in, problem_set)
    more = [number for number in handed_in.answers if not 1 <= number <= len(form.items)]
    if more:
        raise InputError(f"{path}: form {form.code} has no question {more[0]}")
    responses = tuple(
        _response(path, form, number, handed_in.answers.get(number, ""))
        for number in range(1, len(form.items) + 1)
    )
    source = Source(file=path.name, digest=hashlib.sha256(path.read_bytes()).hexdigest())
    return StudentResponses(
        student=handed_in.student, form=form.code, source=source, responses=responses
    )


def _form(path: Path, handed_in: HandedIn, problem_set: ProblemSet) -> Form:
    """The form that was answered, when it may be this student's."""
    students = {s.id: s for s in problem_set.students}
    if handed_in.student not in students:
        raise InputError(
            f"{path}: no student {shown(handed_in.student)}{suggest(handed_in.student, students)}"
        )
    forms = {f.code: f for f in problem_set.forms}
    if handed_in.form not in forms:
        raise InputError(f"{path}: no form {shown(handed_in.form)}{suggest(handed_in.form, forms)}")
    form = forms[handed_in.form]
    if form.student and students[handed_in.student].form != form.code:
        raise InputError(
            f"{path}: form {form.code} belongs to another student than {handed_in.student}"
        )
    return form


def _response(path: Path, form: Form, number: int, answer: str) -> Response:
    try:
        return read_answer(answer, form.items[number - 1], number)
    except InputError as error:
        raise InputError(f"{path}: question {number}: {error}") from None
