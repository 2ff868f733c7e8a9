"""Classes, terms and instructors: whose set it is, and in which week.

A set belongs to one class. Who has two classes gives each its own set, by a plan of its own name:
the questions may be the same in kind, the results are not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

import msgspec
from sqlalchemy import Connection, delete, func, insert, select

from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import keys_of
from quizgen.store import tables as t
from quizgen.store.contents import amendments_in, graded_in, set_in
from quizgen.store.database import Store
from quizgen.store.gradebook import event_row, hold, now, storable
from quizgen.store.school_tables import listed_class, listed_place
from quizgen.store.tallies import Tally, keep_tally, read_tally, tally_of

UNASSIGNED = ""
"""The id of the class of sets that nobody gave to a class."""


@dataclass(frozen=True, kw_only=True)
class SchoolClass:
    """So many people in one course and one term."""

    name: str
    course: str = ""
    term: str = ""

    @property
    def id(self) -> str:
        """SHA-256 of the names, so that the same class is the same in every store."""
        text = msgspec.json.encode([self.name, self.course, self.term])
        return hashlib.sha256(text).hexdigest()


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """A set in its week. `day` is ISO 8601, `name` that of the set."""

    token: str
    name: str
    instructor: str
    day: str
    tally: Tally


@dataclass(frozen=True, kw_only=True)
class Taught:
    """A class, its students by id with their names, and its sets in the order of their days.

    `left` are those who are on the school's lists no more; of them only those are among `students`
    who had answered before.
    """

    school_class: SchoolClass
    students: dict[str, str] = field(default_factory=dict)
    lessons: tuple[Lesson, ...] = ()
    left: frozenset[str] = frozenset()


def assign(
    store: Store, problem_set: ProblemSet, school_class: SchoolClass, *, instructor: str, day: str
) -> bool:
    """Say whose set it is; False when that was known. A set that had another class moves.

    The set's students are entered into the class. Raises InputError when the store holds other
    questions under the set's name, OutsideError when the database fails.
    """
    named = SchoolClass(
        name=storable(school_class.name), course=storable(school_class.course),
        term=storable(school_class.term),
    )  # fmt: skip
    here = t.lesson.c.token == problem_set.token
    with store.writing() as connection:
        hold(connection, problem_set)
        class_id = hold_class(connection, named)
        told = {"class_id": class_id, "instructor": storable(instructor), "day": day}
        _enrol(connection, class_id, problem_set.student_names)
        _need_tally(connection, problem_set)
        held = connection.execute(select(*(t.lesson.c[c] for c in told)).where(here)).first()
        if held is not None and held._asdict() == told:
            return False
        connection.execute(delete(t.lesson).where(here))
        connection.execute(insert(t.lesson).values(token=problem_set.token, at=now(), **told))
        before = "" if held is None else f"{held.class_id[:12]} {held.instructor} {held.day}"
        connection.execute(insert(t.event).values(event_row(
            problem_set.token, now(), instructor, "assigned", before=before,
            after=f"{named.name} {named.term} {day}",
        )))  # fmt: skip
    return True


def hold_class(connection: Connection, school_class: SchoolClass) -> str:
    """The id of the class of these names in the store, where it is made if it is not there."""
    c = t.school_class.c
    named = (c.name == school_class.name, c.course == school_class.course,
             c.term == school_class.term)  # fmt: skip
    # two of one name: the lists of the school renamed one; sets belong to the one that is listed
    listed = select(listed_class.c.class_id)
    if found := sorted(connection.execute(select(~c.id.in_(listed), c.id).where(*named)).all()):
        return str(found[0].id)
    return make_class(connection, school_class)


def make_class(connection: Connection, school_class: SchoolClass) -> str:
    """A new class; its id in the store."""
    c = t.school_class.c
    id_, turn = school_class.id, 0
    while connection.scalar(select(c.id).where(c.id == id_)) is not None:
        turn += 1  # the class that was called so is called otherwise now
        id_ = hashlib.sha256(f"{school_class.id} {turn}".encode()).hexdigest()
    connection.execute(insert(t.school_class).values(
        id=id_, name=school_class.name, course=school_class.course, term=school_class.term,
    ))  # fmt: skip
    return id_


def _enrol(connection: Connection, class_id: str, students: dict[str, str]) -> None:
    """Nobody is ever taken out: who left has results all the same."""
    here = t.enrolment.c.class_id == class_id
    held = set(connection.scalars(select(t.enrolment.c.student).where(here)))
    fresh = [{"class_id": class_id, "student": student, "name": storable(name)}
             for student, name in students.items() if student not in held]  # fmt: skip
    if fresh:
        connection.execute(insert(t.enrolment), fresh)


def _need_tally(connection: Connection, problem_set: ProblemSet) -> None:
    here = t.tally.c.token == problem_set.token
    if connection.scalar(select(t.tally.c.token).where(here)) is None:
        keys = keys_of(problem_set, amendments_in(connection, problem_set.token))
        graded = graded_in(connection, problem_set.token).values()
        keep_tally(connection, problem_set, keys, graded)


def school_classes(store: Store) -> tuple[SchoolClass, ...]:
    """All classes, by term, course and name."""
    columns = (t.school_class.c.name, t.school_class.c.course, t.school_class.c.term)
    with store.reading() as connection:
        found = [SchoolClass(**row) for row in connection.execute(select(*columns)).mappings()]
    return tuple(sorted(found, key=_by_name))


def _by_name(school_class: SchoolClass) -> tuple[str, str, str]:
    return school_class.term, school_class.course, school_class.name


def instructors(store: Store) -> tuple[str, ...]:
    """All who teach a set, by name."""
    with store.reading() as connection:
        return tuple(sorted(set(connection.scalars(select(t.lesson.c.instructor)))))


def taught(
    store: Store, wanted: Callable[[SchoolClass], bool] = lambda _: True
) -> Iterator[Taught]:
    """The classes that are `wanted`, one by one: a large store is never in memory as a whole.

    Sets without a class come last, as one class without a name; their day is the one they came
    into the store.
    """
    with store.reading() as connection:
        people, left = _enrolled(connection), _left(connection)
        known = {
            row["id"]: SchoolClass(name=row["name"], course=row["course"], term=row["term"])
            for row in connection.execute(select(t.school_class)).mappings()
        }
        for class_id in sorted(known, key=lambda class_id: _by_name(known[class_id])):
            if not wanted(known[class_id]):
                continue
            lessons = tuple(_lessons(connection, class_id))
            gone = left.get(class_id, frozenset())
            nothing = gone.difference(*(lesson.tally.students for lesson in lessons))
            mine = {s: name for s, name in people.get(class_id, {}).items() if s not in nothing}
            yield Taught(school_class=known[class_id], students=mine, lessons=lessons, left=gone)
        nobody = SchoolClass(name="")
        if wanted(nobody) and (rest := tuple(_lessons(connection, UNASSIGNED))):
            yield Taught(school_class=nobody, lessons=rest)


def _enrolled(connection: Connection) -> dict[str, dict[str, str]]:
    """Class → student → name."""
    rows = connection.execute(select(t.enrolment))
    ordered = sorted((row.class_id, row.student, row.name) for row in rows)
    return {
        class_id: {student: name for _, student, name in group}
        for class_id, group in groupby(ordered, key=lambda row: row[0])
    }


def _left(connection: Connection) -> dict[str, frozenset[str]]:
    """Class → who has left it."""
    columns = (listed_place.c.class_id, listed_place.c.student)
    rows = connection.execute(select(*columns).where(listed_place.c.left_on != ""))
    ordered = sorted((row.class_id, row.student) for row in rows)
    return {
        class_id: frozenset(student for _, student in group)
        for class_id, group in groupby(ordered, key=lambda row: row[0])
    }


def _lessons(connection: Connection, class_id: str) -> Iterator[Lesson]:
    """The sets of a class by day, or those of no class."""
    mine = t.lesson.c.class_id == class_id if class_id else t.lesson.c.class_id.is_(None)
    # behind the document lies added_at: to read it SQLite walks over all of the document
    day = t.lesson.c.day if class_id else func.substr(t.problem_set.c.added_at, 1, 10)
    rows = connection.execute(
        select(
            t.problem_set.c.token, t.problem_set.c.name, t.lesson.c.instructor, day.label("day"),
            t.tally.c.content,
        )
        .join_from(t.problem_set, t.lesson, t.lesson.c.token == t.problem_set.c.token, isouter=True)
        .join(t.tally, t.tally.c.token == t.problem_set.c.token, isouter=True)
        .where(mine)
    )  # fmt: skip
    found = [
        Lesson(
            token=row.token, name=row.name, instructor=row.instructor or "",
            day=row.day,
            tally=read_tally(row.content) if row.content else _worked_out(connection, row.token),
        )
        for row in rows.all()
    ]  # fmt: skip
    yield from sorted(found, key=lambda lesson: (lesson.day, lesson.name, lesson.token))


def _worked_out(connection: Connection, token: str) -> Tally:
    """The tally of a set that an older program graded; who may only read cannot keep it."""
    problem_set = set_in(connection, token)
    assert problem_set is not None  # the caller has found it in the same transaction
    keys = keys_of(problem_set, amendments_in(connection, token))
    return tally_of(problem_set, keys, graded_in(connection, token).values())
