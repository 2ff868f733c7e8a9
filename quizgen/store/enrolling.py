"""A school's lists go into the store: classes, their students, who has joined and who has left.

Classes and students are known by the lists' ids, so a changed name is a changed name and nobody
new. The lists of a class are complete: who came from the lists and is on them no more has left.
Nobody is taken out, and nobody leaves who never came from the lists. The same lists twice change
nothing.

A class that nobody has listed yet and that has the same name, and no other course or term, is the
class of the lists: somebody gave it sets before the lists came.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec
from sqlalchemy import Connection, Table, insert, select, update

from quizgen.forms.school_list import ListedClass
from quizgen.store import tables as t
from quizgen.store.classes import SchoolClass, make_class
from quizgen.store.database import Store
from quizgen.store.gradebook import now
from quizgen.store.same_people import Confirmed, students_by_sourced_id
from quizgen.store.school_tables import listed_class, listed_place, listed_student

Row = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Change:
    """How many were added, changed and ended."""

    added: int = 0
    changed: int = 0
    ended: int = 0


@dataclass(frozen=True, kw_only=True)
class Enrolled:
    """What the lists changed.

    `known` of the students that were added had results or a class before. `rosters` are the classes
    with the students who are in them, id → name.
    """

    classes: Change
    students: Change
    places: Change
    known: int
    rosters: tuple[tuple[SchoolClass, dict[str, str]], ...]


def enrol(
    store: Store, classes: Sequence[ListedClass], *, today: str, confirmed: Confirmed
) -> Enrolled:
    """Take in the classes of the lists, in one transaction; `today` is ISO 8601.

    Raises FileError where a student may or may not be one whom the store knows (`confirmed` says
    who is), OutsideError when the database fails.
    """
    with store.writing() as connection:
        desk = _Desk(connection, today, classes, confirmed)
        rosters = tuple(roster for listed in classes if (roster := desk.take(listed)))
        desk.rename()
    count = desk.count
    return Enrolled(
        classes=Change(added=count["class+"], changed=count["class~"], ended=count["class-"]),
        students=Change(added=count["student+"], changed=count["student~"]),
        places=Change(added=count["place+"], ended=count["place-"]),
        known=count["known"], rosters=rosters,
    )  # fmt: skip


class _Desk:
    """One transaction, and what it has changed so far."""

    def __init__(
        self, connection: Connection, today: str, classes: Sequence[ListedClass],
        confirmed: Confirmed,
    ) -> None:  # fmt: skip
        self.connection, self.today, self.at = connection, today, now()
        self.count: Counter[str] = Counter()
        self.ids = {c.sourced_id for c in classes}
        self.listed = {row["sourced_id"]: row for row in _rows(connection, listed_class)}
        self.named = {
            row["id"]: SchoolClass(name=row["name"], course=row["course"], term=row["term"])
            for row in _rows(connection, t.school_class)
        }
        self.unlisted = self._unlisted()
        self.students = self._known_students(classes, confirmed)

    def _known_students(
        self, classes: Sequence[ListedClass], confirmed: Confirmed
    ) -> dict[str, str]:
        """Our id of everybody on the lists but those who had left before they ever came here."""
        held = {r["sourced_id"]: r["student"] for r in _rows(self.connection, listed_student)}
        here = {s.sourced_id for c in classes for s in c.students if not (s.left or c.gone)}
        everybody = {s.sourced_id: s for c in classes for s in c.students}
        people = tuple(s for i, s in everybody.items() if i in here or i in held)
        found = students_by_sourced_id(self.connection, people, held, confirmed)
        fresh = [i for i in found if i not in held]
        _add(self.connection, listed_student,
             [{"sourced_id": i, "student": found[i], "at": self.at} for i in fresh])  # fmt: skip
        self.names = {found[i]: everybody[i].name for i in found}
        known = set(self.connection.scalars(select(t.enrolment.c.student))) | set(
            self.connection.scalars(select(t.result.c.student))
        )
        self.count["known"] = sum(found[i] in known for i in fresh)
        self.count["student+"] = len(fresh)
        return found

    def take(self, listed: ListedClass) -> tuple[SchoolClass, dict[str, str]] | None:
        """One class; None for one that had ended before it ever came here."""
        held = self.listed.get(listed.sourced_id)
        if held is None and listed.gone:
            return None
        named = SchoolClass(name=listed.name, course=listed.course, term=listed.term)
        class_id = held["class_id"] if held else self._same_class(named)
        class_id = class_id or make_class(self.connection, named)
        renamed = self._name(class_id, named)
        sessions = [[s.id, s.start, s.end] for s in listed.sessions]
        row = {
            "class_id": class_id, "school": listed.school, "teacher": listed.teacher,
            "sessions": msgspec.json.encode(sessions).decode(),
        }  # fmt: skip
        changed = held is not None and any(held[column] != row[column] for column in row)
        if held is None:
            fresh = {"sourced_id": listed.sourced_id, **row, "at": self.at}
            _add(self.connection, listed_class, [fresh])
            self.listed[listed.sourced_id] = fresh
        elif changed or renamed:
            here = listed_class.c.sourced_id == listed.sourced_id
            self.connection.execute(update(listed_class).where(here).values(**row, at=self.at))
        here_now = {self.students[s.sourced_id] for s in listed.students
                    if not (s.left or listed.gone)}  # fmt: skip
        left = self._places(class_id, here_now)
        self.count["class+"] += held is None
        self.count["class-"] += listed.gone and left > 0
        self.count["class~"] += held is not None and (changed or renamed)
        return named, {student: self.names[student] for student in sorted(here_now)}

    def _unlisted(self) -> dict[str, list[str]]:
        """Name → the classes of that name which these lists do not give an id of their own."""
        theirs = {r["class_id"] for i, r in self.listed.items() if i in self.ids}
        found: dict[str, list[str]] = {}
        for class_id, named in self.named.items():
            if class_id not in theirs:
                found.setdefault(named.name, []).append(class_id)
        return found

    def _same_class(self, named: SchoolClass) -> str:
        """The class of the store that this one is although it came with another id, or none."""
        free = self.unlisted.get(named.name, [])
        exact = [i for i in free if self.named[i] == named]
        listed = {r["class_id"] for r in self.listed.values()} if free else set()
        loose = [
            i for i in free
            if i not in listed and self.named[i].course in ("", named.course)
            and self.named[i].term in ("", named.term)
        ]  # fmt: skip
        found = exact or loose
        if len(found) != 1:
            return ""
        free.remove(found[0])
        return found[0]

    def _name(self, class_id: str, named: SchoolClass) -> bool:
        """Call the class so; whether it was called otherwise."""
        before = self.named.get(class_id, named)
        self.named[class_id] = named
        if before == named:
            return False
        here = t.school_class.c.id == class_id
        self.connection.execute(
            update(t.school_class).where(here)
            .values(name=named.name, course=named.course, term=named.term)
        )  # fmt: skip
        return True

    def _places(self, class_id: str, here_now: set[str]) -> int:
        """Who has joined and who has left; how many left."""
        mine = listed_place.c.class_id == class_id
        held = {
            row["student"]: row["left_on"] for row in _rows(self.connection, listed_place, mine)
        }
        enrolled = set(self.connection.scalars(
            select(t.enrolment.c.student).where(t.enrolment.c.class_id == class_id)
        ))  # fmt: skip
        joined, back = sorted(here_now - set(held)), [s for s in here_now if held.get(s)]
        left = [s for s, day in held.items() if not day and s not in here_now]
        _add(self.connection, listed_place, [
            {"class_id": class_id, "student": s, "left_on": "", "at": self.at} for s in joined
        ])  # fmt: skip
        _add(self.connection, t.enrolment, [
            {"class_id": class_id, "student": s, "name": self.names[s]}
            for s in joined if s not in enrolled
        ])  # fmt: skip
        for day, students in (("", back), (self.today, left)):
            for student in students:
                self.connection.execute(
                    update(listed_place).where(mine, listed_place.c.student == student)
                    .values(left_on=day, at=self.at)
                )  # fmt: skip
        self.count["place+"] += len(joined) + len(back)
        self.count["place-"] += len(left)
        return len(left)

    def rename(self) -> None:
        """Students are called as the lists call them, in all their classes."""
        held = self.connection.execute(select(t.enrolment.c.student, t.enrolment.c.name))
        other = {s for s, name in held if s in self.names and name != self.names[s]}
        for student in sorted(other):
            here = t.enrolment.c.student == student
            name = self.names[student]
            self.connection.execute(update(t.enrolment).where(here).values(name=name))
        self.count["student~"] = len(other)


def _rows(connection: Connection, table: Table, *where: Any) -> list[Row]:
    return [dict(row) for row in connection.execute(select(table).where(*where)).mappings()]


def _add(connection: Connection, table: Table, rows: Iterable[Row]) -> None:
    if fresh := list(rows):
        connection.execute(insert(table), fresh)
