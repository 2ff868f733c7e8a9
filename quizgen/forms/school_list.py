"""A school's own lists: classes with their terms, teachers and students, as OneRoster gives them.

A class's name is its title; where two classes of the lists have title, course and term in common,
the class code (or else the id) stands behind it. Its term is the term's title; where a class goes
over several, the title of what they are parts of. Its teacher is the only one, or the only one who
is marked as primary. Everything a row refers to has to be there: `bulk` sets are complete.

The standard's words: role of an enrolment, `primary`, status `tobedeleted`. The end day of an
enrolment is its first day outside the class (from memory); one that ends with the class's last term
or later says nothing about its student.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from quizgen.base.cells import safe_cell
from quizgen.base.errors import InputError
from quizgen.base.errors import Place as Where
from quizgen.base.legible import legible, spelt
from quizgen.base.suggest import shown, suggest
from quizgen.forms.oneroster_files import Row, Tables, read_tables
from quizgen.forms.roster import LONGEST

STATUSES = ("", "active", "tobedeleted")
GONE = "tobedeleted"
ROLES = ("student", "teacher", "administrator", "proctor", "aide", "guardian", "parent", "relative")
EXTENSION = "ext:"
LONGEST_ID = 255


@dataclass(frozen=True, kw_only=True)
class Session:
    """A term: its id and its first and last day, ISO 8601."""

    id: str
    start: str
    end: str


@dataclass(frozen=True, kw_only=True)
class ListedStudent:
    """A student of a class; `number` is the school's own number ("" for none or no usable one)."""

    sourced_id: str
    number: str
    name: str
    left: bool
    where: Where


@dataclass(frozen=True, kw_only=True)
class ListedClass:
    """A class of the lists; `gone` where the school has taken it off."""

    sourced_id: str
    name: str
    course: str
    term: str
    school: str
    sessions: tuple[Session, ...]
    teacher: str
    gone: bool
    students: tuple[ListedStudent, ...]


def read_school_list(source: Path, today: date) -> tuple[ListedClass, ...]:
    """The classes of a folder or archive, in the order of their file.

    Raises InputError, most often a FileError with table and line, for whatever is not as the
    standard says or refers to what is not there.
    """
    tables = read_tables(source)
    index = {name: _by_id(tables[name]) for name in
             ("orgs", "academicSessions", "courses", "classes", "users")}  # fmt: skip
    for rows in (*index.values(), _by_id(tables["enrollments"])):
        for row in rows.values():
            _among(row, "status", STATUSES)
    people = _enrolled(tables, index)
    numbers = Counter(row["identifier"].casefold() for row in tables["users"])
    found = [
        _class_of(row, index, people.get(row["sourcedId"], ()), numbers, today)
        for row in tables["classes"]
    ]
    if not found:
        raise InputError(f"{source}: the lists have no class")
    return _told_apart(found, index["classes"])


def _by_id(rows: Sequence[Row]) -> dict[str, Row]:
    found: dict[str, Row] = {}
    for row in rows:
        id_ = row["sourcedId"]
        if not is_id(id_):
            raise row.wrong("sourcedId", f"{shown(id_)} is no id; letters, digits, no blanks")
        if id_ in found:
            first = found[id_].place.line
            raise row.wrong("sourcedId", f"{shown(id_)} is in line {first} already")
        found[id_] = row
    return found


def is_id(text: str) -> bool:
    """Whether a text may stand for a student on sheets and in exports.

    >>> is_id("S-014"), is_id("S 14"), is_id("=1"), is_id("")
    (True, False, False, False)
    """
    plain = text.isascii() and text.isprintable() and " " not in text
    return plain and 0 < len(text) <= LONGEST_ID and safe_cell(text) == text


def _among(row: Row, column: str, known: Sequence[str]) -> str:
    value = row[column]
    if value not in known:
        hint = suggest(value, [k for k in known if k])
        raise row.wrong(column, f"{shown(value)} is no {column}{hint}")
    return value


def _meant(row: Row, column: str, value: str, table: Mapping[str, Row], name: str) -> Row:
    """The row that another refers to."""
    if value not in table:
        raise row.wrong(
            column,
            f"{shown(value)} is not in {name}.csv; export the lists again, all tables at once",
        )
    return table[value]


def _enrolled(tables: Tables, index: Mapping[str, Mapping[str, Row]]) -> dict[str, list[Row]]:
    """Class → its enrolments."""
    found: dict[str, list[Row]] = defaultdict(list)
    for row in tables["enrollments"]:
        _meant(row, "userSourcedId", row["userSourcedId"], index["users"], "users")
        _meant(row, "classSourcedId", row["classSourcedId"], index["classes"], "classes")
        if not row["role"].startswith(EXTENSION):
            _among(row, "role", ROLES)
        found[row["classSourcedId"]].append(row)
    return found


def _class_of(
    row: Row, index: Mapping[str, Mapping[str, Row]], people: Sequence[Row],
    numbers: Counter[str], today: date,
) -> ListedClass:  # fmt: skip
    course = _meant(row, "courseSourcedId", row["courseSourcedId"], index["courses"], "courses")
    school = _meant(row, "schoolSourcedId", row["schoolSourcedId"], index["orgs"], "orgs")
    terms = [
        _meant(row, "termSourcedIds", id_.strip(), index["academicSessions"], "academicSessions")
        for id_ in row["termSourcedIds"].split(",")
    ]
    sessions = tuple(sorted((_session(term) for term in terms), key=lambda s: (s.start, s.id)))
    end = max(session.end for session in sessions)
    return ListedClass(
        sourced_id=row["sourcedId"], name=_name(row, "title"), course=_name(course, "title"),
        term=_term(terms, index["academicSessions"]), school=school["sourcedId"],
        sessions=sessions, teacher=_teacher(people, index["users"]),
        gone=row["status"] == GONE,
        students=tuple(_students(people, index["users"], numbers, end, today)),
    )  # fmt: skip


def _session(row: Row) -> Session:
    start, end = (_day(row, column) for column in ("startDate", "endDate"))
    return Session(id=row["sourcedId"], start=start, end=end)


def _day(row: Row, column: str) -> str:
    try:
        return date.fromisoformat(row[column]).isoformat()
    except ValueError:
        raise row.wrong(column, f"{shown(row[column])} is no day; write 2026-09-14") from None


def _term(terms: Sequence[Row], sessions: Mapping[str, Row]) -> str:
    parents = {term["parentSourcedId"] for term in terms}
    if len(terms) > 1 and len(parents) == 1 and (parent := parents.pop()) in sessions:
        return _name(sessions[parent], "title")
    return ", ".join(_name(term, "title") for term in sorted(terms, key=lambda t: t["startDate"]))


def _teacher(people: Sequence[Row], users: Mapping[str, Row]) -> str:
    there = [row for row in people if row["role"] == "teacher" and row["status"] != GONE]
    first = [row for row in there if row["primary"].casefold() == "true"]
    ids = {row["userSourcedId"] for row in first or there}
    return _person(users[ids.pop()]) if len(ids) == 1 else ""


def _students(
    people: Sequence[Row], users: Mapping[str, Row], numbers: Counter[str], end: str, today: date
) -> Iterator[ListedStudent]:
    """Each once; who has two enrolments is in the class if one of them says so."""
    left: dict[str, bool] = {}
    for row in people:
        if row["role"] == "student":
            user = users[row["userSourcedId"]]
            last = _day(row, "endDate") if row["endDate"] else end
            out = row["status"] == GONE or user["status"] == GONE
            out = out or (last < end and last <= today.isoformat())
            left[user["sourcedId"]] = out and left.get(user["sourcedId"], True)
    for id_, out in left.items():
        user, number = users[id_], users[id_]["identifier"]
        usable = is_id(number) and numbers[number.casefold()] == 1
        yield ListedStudent(
            sourced_id=id_, number=number if usable else "", name=_person(user), left=out,
            where=user.place,
        )  # fmt: skip


def _person(user: Row) -> str:
    text = f"{user['givenName']} {user['familyName']}".strip()
    return _printable(user, "givenName and familyName", text)


def _name(row: Row, column: str) -> str:
    return _printable(row, column, row[column])


def _printable(row: Row, column: str, text: str) -> str:
    text = spelt(text)
    if not text or len(text) > LONGEST or legible(text) != text:
        raise row.wrong(column, f"{shown(text)} is no name of 1 to {LONGEST} characters")
    if safe_cell(text) != text:
        raise row.wrong(
            column, f"{shown(text)} begins like a formula of a spreadsheet; mend it in the lists"
        )
    return text


def _told_apart(found: Sequence[ListedClass], rows: Mapping[str, Row]) -> tuple[ListedClass, ...]:
    """Classes of one name, course and term get what tells them apart behind their names."""
    every = tuple(found)
    for more in (lambda c: rows[c.sourced_id]["classCode"], lambda c: c.sourced_id):
        twice = Counter((c.name, c.course, c.term) for c in every)
        every = tuple(
            replace(c, name=f"{c.name} ({more(c)})")
            if twice[c.name, c.course, c.term] > 1 and more(c) else c
            for c in every
        )  # fmt: skip
    return every
