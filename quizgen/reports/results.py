"""All that reports about one set start from, read from the store in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.forms.problem_set import ProblemSet
from quizgen.forms.roster import Student
from quizgen.grading.keys import Amendment, Keys, keys_of
from quizgen.store.contents import Graded, amendments, check_set, graded
from quizgen.store.database import Store


@dataclass(frozen=True, kw_only=True)
class Results:
    """A set, its keys as they are now with the changes that made them so, and what counts."""

    problem_set: ProblemSet
    amendments: tuple[Amendment, ...]
    keys: Keys
    graded: tuple[Graded, ...]


def students_of(problem_set: ProblemSet, everything: Sequence[Graded]) -> tuple[Student, ...]:
    """The roster, and behind it whoever was graded and stands on it no more."""
    known = {student.id for student in problem_set.students}
    gone = [g.given for g in everything if g.given.student not in known]
    return (*problem_set.students, *(Student(id=g.student, name="", form=g.form) for g in gone))


def load_results(store: Store, problem_set: ProblemSet) -> Results:
    """The results of a set.

    Raises InputError when what was graded are other questions, OutsideError when the database
    fails.
    """
    check_set(store, problem_set)
    changes = amendments(store, problem_set.token)
    return Results(
        problem_set=problem_set, amendments=changes, keys=keys_of(problem_set, changes),
        graded=graded(store, problem_set.token),
    )  # fmt: skip
