"""The classes of two stores become those of one: names, students, lists of the school, lessons.

A class is the same in both where a list of the school gave it one id, or where name, course and
term are the same; else where our own id is. Of what both say about a class the later word counts,
and an enrolment that either has is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Table, delete, insert, select, update

from quizgen.store import tables as t
from quizgen.store.school_tables import listed_class, listed_place, listed_student

Row = dict[str, Any]
NAMES = ("name", "course", "term")


def take_classes(source: Connection, target: Connection) -> int:
    """Take in all about classes; how many are new. The sets of the lessons have to be there."""
    mine, theirs = _rows(target, t.school_class), _rows(source, t.school_class)
    ours = _ours(source, target, mine, theirs)
    held = {row["id"] for row in mine}
    fresh = [row for row in theirs if row["id"] not in ours and row["id"] not in held]
    if fresh:
        target.execute(insert(t.school_class), fresh)
    _rename(source, target, ours, {row["id"]: row for row in theirs})
    _take(source, target, t.enrolment, ("class_id", "student"), ours, later=False)
    _take(source, target, t.lesson, ("token",), ours)
    _take(source, target, listed_class, ("sourced_id",), ours)
    _take(source, target, listed_student, ("sourced_id",), ours)
    _take(source, target, listed_place, ("class_id", "student"), ours)
    return len(fresh)


def _rows(connection: Connection, table: Table) -> list[Row]:
    return [dict(row) for row in connection.execute(select(table)).mappings()]


def _ours(
    source: Connection, target: Connection, mine: Sequence[Row], theirs: Sequence[Row]
) -> dict[str, str]:
    """Their id of a class → ours, where the two differ."""
    by_name: dict[tuple[Any, ...], str] = {tuple(row[n] for n in NAMES): row["id"] for row in mine}
    found: dict[str, str] = {}
    for row in theirs:
        their = str(row["id"])
        found[their] = by_name.get(tuple(row[n] for n in NAMES), their)
    by_list = {row["sourced_id"]: row["class_id"] for row in _rows(target, listed_class)}
    for row in _rows(source, listed_class):
        if row["sourced_id"] in by_list:
            found[row["class_id"]] = by_list[row["sourced_id"]]
    return {their: our for their, our in found.items() if their != our}


def _rename(
    source: Connection, target: Connection, ours: Mapping[str, str], theirs: Mapping[str, Row]
) -> None:
    """What the lists called a class last is its name."""
    held = {row["sourced_id"]: row["at"] for row in _rows(target, listed_class)}
    for row in _rows(source, listed_class):
        if row["at"] > held.get(row["sourced_id"], row["at"]):
            here = t.school_class.c.id == ours.get(row["class_id"], row["class_id"])
            names = {name: theirs[row["class_id"]][name] for name in NAMES}
            target.execute(update(t.school_class).where(here).values(**names))


def _take(
    source: Connection, target: Connection, table: Table, key: Sequence[str],
    ours: Mapping[str, str], *, later: bool = True,
) -> None:  # fmt: skip
    """Add the rows whose key is not there; with `later` take theirs where it is the later word."""
    held = {tuple(row[k] for k in key): row for row in _rows(target, table)}
    taken: dict[tuple[Any, ...], Row] = {}
    for row in _rows(source, table):
        if "class_id" in row:
            row["class_id"] = ours.get(row["class_id"], row["class_id"])
        name = tuple(row[k] for k in key)
        known = taken.get(name) or held.get(name)
        if known is None or (later and _word(row) > _word(known)):
            taken[name] = row
    for name in taken:
        if name in held:
            here = [table.c[k] == value for k, value in zip(key, name, strict=True)]
            target.execute(delete(table).where(*here))
    if taken:
        target.execute(insert(table), list(taken.values()))


def _word(row: Row) -> tuple[str, ...]:
    """When it was said; of two words of one second the same one counts in both stores."""
    return row["at"], *(str(row[column]) for column in sorted(row))
