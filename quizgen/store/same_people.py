"""Which of our students somebody on a school's lists is.

By the lists' id if they came with it before. Else by the lists' id or the school's own number
(`identifier`) if the store has a student under it: somebody whose answers were graded before the
lists came. A shared id is not enough, since two instructors may both have a student 7: the names
have to have a word in common, or somebody has to say so. Who is new goes by the school's number,
which people know and write, and else by the lists' id.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Any

import msgspec
from sqlalchemy import Connection, select

from quizgen.base.errors import FileError, InputError
from quizgen.base.suggest import shown, suggest
from quizgen.forms.roster import Student
from quizgen.forms.school_list import ListedStudent
from quizgen.store import tables as t


@dataclass(frozen=True, kw_only=True)
class Confirmed:
    """Ids under which lists and store mean one person (`same`), or two (`apart`)."""

    same: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()


class _Roll(msgspec.Struct):
    """Of a set's document, its students."""

    students: tuple[Student, ...] = ()


def students_by_sourced_id(
    connection: Connection, people: Sequence[ListedStudent], known: Mapping[str, str],
    confirmed: Confirmed,
) -> dict[str, str]:  # fmt: skip
    """Our id of each of `people` by the lists' id; `known` are those of earlier lists.

    Raises FileError for somebody who shares an id with a student of another name, InputError for
    an id confirmed that nobody on the lists has.
    """
    _check(confirmed, people)
    found = {p.sourced_id: known[p.sourced_id] for p in people if p.sourced_id in known}
    taken = set(found.values())
    unknown = [p for p in people if p.sourced_id not in found]
    names = _names(connection, {i for p in unknown for i in (p.sourced_id, p.number) if i})
    for person in unknown:
        ids = [i for i in (person.sourced_id, person.number) if i and i not in taken]
        ours = next((i for i in ids if i in names and _is(person, i, names[i], confirmed)), None)
        if ours is None:
            ours = next(i for i in _own(person) if i not in names and i not in taken)
        found[person.sourced_id] = ours
        taken.add(ours)
    return found


def _check(confirmed: Confirmed, people: Sequence[ListedStudent]) -> None:
    there = {i for person in people for i in (person.sourced_id, person.number)}
    for option, ids in (("--same", confirmed.same), ("--apart", confirmed.apart)):
        for id_ in sorted(ids - there):
            hint = suggest(id_, sorted(there))
            raise InputError(f"{option} {shown(id_)}: nobody on the lists has this id{hint}")
    if both := confirmed.same & confirmed.apart:
        raise InputError(f"{min(both)}: --same or --apart, not both")


def _is(person: ListedStudent, id_: str, names: Collection[str], confirmed: Confirmed) -> bool:
    """Whether the store's student `id_`, who is called so, is this person."""
    if id_ in confirmed.same or id_ in confirmed.apart:
        return id_ in confirmed.same
    if not any(names) or any(_words(name) & _words(person.name) for name in names):
        return True
    raise FileError(
        person.where,
        f"{id_} is {' or '.join(sorted(names))} in the store and {person.name} here; say --same "
        f"{id_} if they are one person, --apart {id_} if they are two",
    )


def _own(person: ListedStudent) -> Iterator[str]:
    """Ids for somebody new, the best first."""
    yield from (i for i in (person.number, person.sourced_id) if i)
    yield from (f"{person.sourced_id}-{turn}" for turn in count(2))


def _words(name: str) -> set[str]:
    return set(re.findall(r"\w+", name.casefold()))


def _names(connection: Connection, ids: Collection[str]) -> dict[str, set[str]]:
    """Of those ids that the store knows, the names that they go by."""
    found: dict[str, set[str]] = {}
    for table in (t.enrolment, t.result):
        for student in connection.scalars(select(table.c.student).distinct()):
            if student in ids:
                found.setdefault(student, set())
    for student, name in connection.execute(select(t.enrolment.c.student, t.enrolment.c.name)):
        if student in found and name:
            found[student].add(name)
    for token in _tokens(connection, {student for student, names in found.items() if not names}):
        here = t.problem_set.c.token == token
        document = connection.scalar(select(t.problem_set.c.document).where(here))
        for student in msgspec.json.decode(document or "{}", type=_Roll).students:
            if student.id in found:
                found[student.id].add(student.name)
    return found


def _tokens(connection: Connection, students: Collection[str]) -> list[str]:
    """Sets that one of the students was graded in."""
    rows: Any = connection.execute(select(t.result.c.token, t.result.c.student))
    return sorted({token for token, student in rows if student in students})
