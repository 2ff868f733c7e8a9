"""What the store holds, as records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import msgspec
from sqlalchemy import Connection, select

from quizgen.base.errors import InputError
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import Amendment
from quizgen.grading.responses import Source, StudentResponses
from quizgen.grading.score import Result, Rules
from quizgen.store import tables as t
from quizgen.store.database import Store
from quizgen.store.identity import check_digest
from quizgen.store.notation import answers_of, marks_of


@dataclass(frozen=True, kw_only=True)
class Graded:
    """What counts for a student: the answers and their marks; `at`, when the answers came in."""

    given: StudentResponses
    result: Result
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Event:
    """One line of the trail."""

    at: str
    who: str
    what: str
    student: str = ""
    question: str = ""
    before: str = ""
    after: str = ""
    why: str = ""


def graded(store: Store, token: str) -> tuple[Graded, ...]:
    """What counts for every student of a set, by student."""
    with store.reading() as connection:
        return tuple(graded_in(connection, token).values())


def stored_sets(store: Store) -> tuple[str, ...]:
    """The tokens of all sets that were graded, by name."""
    with store.reading() as connection:
        found = connection.execute(select(t.problem_set.c.name, t.problem_set.c.token))
        return tuple(token for _, token in sorted(tuple(row) for row in found))


def check_set(store: Store, problem_set: ProblemSet) -> None:
    """Raises InputError when what was graded under this set's name are other questions."""
    with store.reading() as connection:
        held = connection.scalar(
            select(t.problem_set.c.digest).where(t.problem_set.c.token == problem_set.token)
        )
    if held is not None:
        check_digest(problem_set, held)


def stored_set(store: Store, token: str) -> ProblemSet:
    """A set as it was when its first answers came. Raises InputError for one that is not there."""
    with store.reading() as connection:
        found = set_in(connection, token)
    if found is None:
        raise InputError(f"the store has no set {token}; known: {', '.join(stored_sets(store))}")
    return found


def amendments(store: Store, token: str) -> tuple[Amendment, ...]:
    """The changes of a set's keys, in the order they were made."""
    with store.reading() as connection:
        return tuple(amendments_in(connection, token))


def rules_of(store: Store, token: str) -> Rules:
    """How the set is scored."""
    with store.reading() as connection:
        part = connection.scalar(
            select(t.problem_set.c.part_credit).where(t.problem_set.c.token == token)
        )
    return Rules() if part is None else Rules(part_credit=bool(part))


def trail(store: Store, token: str) -> tuple[Event, ...]:
    """Every change, the first one first."""
    columns = [c for c in t.event.c if c.name not in ("id", "token")]
    with store.reading() as connection:
        found = connection.execute(
            select(*columns).where(t.event.c.token == token).order_by(t.event.c.id)
        )
        return tuple(Event(**row) for row in found.mappings())


def set_in(connection: Connection, token: str) -> ProblemSet | None:
    """The set as it is kept, inside a transaction; None for one that is not there."""
    document = connection.scalar(
        select(t.problem_set.c.document).where(t.problem_set.c.token == token)
    )
    return None if document is None else msgspec.json.decode(document, type=ProblemSet)


def graded_in(connection: Connection, token: str) -> dict[str, Graded]:
    """What counts for every student of a set inside a transaction, by student's id."""
    found = connection.execute(
        select(t.submission, t.result.c.marks)
        .join(t.result, t.result.c.submission == t.submission.c.id)
        .where(t.result.c.token == token)
    )
    # sorted here: databases differ in what they take for the order of letters
    return {row.student: _graded_of(row) for row in sorted(found, key=lambda row: row.student)}


def _graded_of(row: Any) -> Graded:
    source = Source(file=row.file, digest=row.file_digest, place=row.place)
    given = StudentResponses(
        student=row.student, form=row.form, source=source, responses=answers_of(row.answers)
    )
    result = Result(student=row.student, form=row.form, marks=marks_of(row.marks))
    return Graded(given=given, result=result, at=row.at)


def amendments_in(connection: Connection, token: str) -> list[Amendment]:
    """The changes of a set's keys inside a transaction, in the order they were made."""
    found = connection.execute(
        select(t.amendment).where(t.amendment.c.token == token).order_by(t.amendment.c.id)
    )
    return [
        Amendment(
            form=row.form, number=row.number, change=row.change,
            texts=tuple(msgspec.json.decode(row.texts, type=list[str])), why=row.why, who=row.who,
        )
        for row in found
    ]  # fmt: skip
