"""What the school's lists say about our classes: which one is meant, who teaches it, its ids."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import msgspec
from sqlalchemy import Connection, select

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.store import tables as t
from quizgen.store.classes import SchoolClass, school_classes
from quizgen.store.database import Store
from quizgen.store.school_tables import listed_class, listed_student


@dataclass(frozen=True, kw_only=True)
class SchoolIds:
    """The school's ids for where a set was given; `students` are ours → the school's."""

    school: str
    klass: str
    session: str
    students: Mapping[str, str] = field(default_factory=dict)


def meant_class(store: Store, said: SchoolClass) -> SchoolClass:
    """The class that somebody means who may have left out course or term.

    A class that is not there is a new one. Raises InputError where several could be meant.
    """
    every = school_classes(store)
    if said in every:
        return said
    found = [
        c for c in every
        if c.name == said.name and said.course in ("", c.course) and said.term in ("", c.term)
    ]  # fmt: skip
    if len(found) > 1:
        names = "; ".join(", ".join(filter(None, (c.term, c.course))) or "no term" for c in found)
        raise InputError(
            f"{len(found)} classes are called {shown(said.name)}; say --term or --course: {names}"
        )
    return found[0] if found else said


def teacher(store: Store, school_class: SchoolClass) -> str:
    """Who teaches the class by the school's lists; "" where they do not say."""
    c = t.school_class.c
    here = (c.name == school_class.name, c.course == school_class.course,
            c.term == school_class.term)  # fmt: skip
    with store.reading() as connection:
        found = connection.execute(
            select(listed_class.c.at, listed_class.c.teacher)
            .join(t.school_class, c.id == listed_class.c.class_id)
            .where(*here)
        ).all()
    return str(max(found)[1]) if found else ""


def school_ids(store: Store, token: str) -> SchoolIds | None:
    """The school's ids for a set and its students; None where its class is on no list.

    Of a class's terms the one that the day of the set falls into, or else the last that had begun.
    """
    lesson = t.lesson.c
    with store.reading() as connection:
        rows = connection.execute(
            select(lesson.day, listed_class)
            .join(listed_class, listed_class.c.class_id == lesson.class_id)
            .where(lesson.token == token)
        ).all()
        if not rows:
            return None
        row = max(rows, key=lambda row: (row.at, row.sourced_id))
        return SchoolIds(
            school=row.school, klass=row.sourced_id, session=_session(row.sessions, row.day),
            students=_students(connection),
        )  # fmt: skip


def _session(sessions: str, day: str) -> str:
    every = sorted(msgspec.json.decode(sessions, type=list[tuple[str, str, str]]),
                   key=lambda session: session[1])  # fmt: skip
    begun = [id_ for id_, start, _ in every if start <= day]
    return begun[-1] if begun else every[0][0]


def _students(connection: Connection) -> dict[str, str]:
    """Whom the lists gave two ids goes by the later one."""
    columns = (listed_student.c.at, listed_student.c.sourced_id, listed_student.c.student)
    return {student: id_ for _, id_, student in sorted(connection.execute(select(*columns)).all())}
