"""Two stores become one: a laptop comes back from the workshop.

Everything that either store holds is held afterwards, nothing twice. Submissions are named by the
hash of their content. Amendments, decisions and the trail are put together by content and in the
order of time. Where both stores have answers of a student that count, those count that came to
count last. All of it is one transaction; the other store is only read. Merging again changes
nothing, and whichever of two stores takes in the other, the same answers count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from quizgen.base.errors import InputError
from quizgen.grading.keys import keys_of
from quizgen.grading.score import Rules, score
from quizgen.store import tables as t
from quizgen.store.contents import Graded, amendments_in, graded_in, set_in
from quizgen.store.database import Store
from quizgen.store.gradebook import result_row, rules_text
from quizgen.store.merging_classes import take_classes
from quizgen.store.tallies import keep_tally

Row = dict[str, Any]
Record = tuple[Any, ...]
CAME = ("graded", "replaced")  # events that made answers count
IN_ORDER = (t.amendment, t.decision, t.event)


@dataclass(frozen=True, kw_only=True)
class Merged:
    """What came in: sets, submissions, and results that are other ones now."""

    sets: int = 0
    submissions: int = 0
    results: int = 0
    classes: int = 0


def merge(mine: Store, other: Store) -> Merged:
    """Take everything of `other` into `mine`.

    Raises InputError, and changes nothing, when the two hold different questions under one name;
    OutsideError when a database fails.
    """
    _check_whole(other)
    with other.reading() as source, mine.writing() as target:
        total = Counter[str]()
        for token in _tokens(source):
            fresh = _take_set(source, target, token)
            total["sets"] += fresh
            total["submissions"] += _take(source, target, t.submission, ("id",), token=token)
            later = _later(source, target, token)  # before the two trails are one
            changed = [_in_order(source, target, table, token) for table in IN_ORDER]
            total["results"] += _settle(target, token, later, any(changed) or fresh)
        classes = take_classes(source, target)
    return Merged(
        sets=total["sets"], submissions=total["submissions"], results=total["results"],
        classes=classes,
    )  # fmt: skip


def _check_whole(other: Store) -> None:
    """Read every set and answer once: what a damaged copy lost must not be taken for a result.

    Raises OutsideError that names `other`. SQLite's own check sees only pages, not records.
    """
    with other.reading() as source:
        for token in _tokens(source):
            set_in(source, token)
            graded_in(source, token)


def _rows(connection: Connection, table: Table, **where: str) -> list[Row]:
    chosen = [table.c[name] == value for name, value in where.items()]
    return [dict(r) for r in connection.execute(select(table).where(*chosen)).mappings()]


def _take(
    source: Connection, target: Connection, table: Table, key: Sequence[str], **where: str
) -> int:
    """Add the rows whose key is not there; how many."""
    held = {tuple(row[k] for k in key) for row in _rows(target, table, **where)}
    found = _rows(source, table, **where)
    fresh = [row for row in found if tuple(row[k] for k in key) not in held]
    if fresh:
        target.execute(insert(table), fresh)
    return len(fresh)


def _tokens(connection: Connection) -> list[str]:
    """Every set that anything is kept about; marks may be decided before a set has results."""
    tables = (t.problem_set, *IN_ORDER)
    return sorted(
        {token for of in tables for token in connection.scalars(select(of.c.token).distinct())}
    )


def _take_set(source: Connection, target: Connection, token: str) -> bool:
    """Add a set, or the fuller document of one that is there. True for a new one."""
    held, found = (
        _rows(target, t.problem_set, token=token),
        _rows(source, t.problem_set, token=token),
    )
    if not found:
        return False
    row = found[0]
    if not held:
        target.execute(insert(t.problem_set), [row])
        return True
    if held[0]["digest"] != row["digest"]:
        raise InputError(
            f"{row['name']}: the two stores hold different questions under this name; nothing was "
            "merged. Export the results of one of them instead"
        )
    if _fullness(row["document"]) > _fullness(held[0]["document"]):
        here = t.problem_set.c.token == token
        target.execute(update(t.problem_set).where(here).values(document=row["document"]))
    return False


def _fullness(document: str) -> tuple[int, str]:
    return len(document), document


def _in_order(source: Connection, target: Connection, table: Table, token: str) -> bool:
    """Put together the records of a set that have an order; True if they are other ones now."""
    ours, theirs = (_contents(c, table, token) for c in (target, source))
    names = [c.name for c in table.columns if c.name != "id"]
    every = _united(ours, theirs, names.index("at"))
    if every == ours:
        return False
    target.execute(delete(table).where(table.c.token == token))
    target.execute(insert(table), [dict(zip(names, row, strict=True)) for row in every])
    return True


def _united(ours: list[Record], theirs: list[Record], at: int) -> list[Record]:
    """Both lists in the order of time. Within a second each store's own order holds as far as can
    be; where one store has all that the other has, its order is the one.
    """
    here, there = Counter(ours), Counter(theirs)
    if here <= there:
        return theirs
    if there <= here:
        return ours
    rank: dict[Record, int] = {}
    for records in (ours, theirs):
        for row, turn in _turns(records, at):
            rank[row] = min(turn, rank.get(row, turn))
    return sorted((here | there).elements(), key=lambda row: (row[at], rank[row], row))


def _turns(records: Iterable[Record], at: int) -> Iterable[tuple[Record, int]]:
    """Each record with its place among those of its second."""
    seen: Counter[str] = Counter()
    for row in records:
        yield row, seen[row[at]]
        seen[row[at]] += 1


def _contents(connection: Connection, table: Table, token: str) -> list[Record]:
    columns = [c for c in table.columns if c.name != "id"]
    found = connection.execute(select(*columns).where(table.c.token == token).order_by(table.c.id))
    return [tuple(row) for row in found]


def _settle(target: Connection, token: str, later: dict[str, Graded], changed: bool) -> int:
    """Which answers count, by the keys and rules as they are now; how many results changed."""
    if not (later or changed) or (problem_set := set_in(target, token)) is None:
        return 0
    ours = graded_in(target, token)
    keys, rules = keys_of(problem_set, amendments_in(target, token)), _rules(target, token)
    counting = {}
    for student, graded in {**ours, **later}.items():
        result = score(graded.given, keys, rules)
        counting[student] = Graded(given=graded.given, result=result, at=graded.at)
    fresh = [g for s, g in counting.items() if s not in ours or not _equal(g, ours[s])]
    students = [g.given.student for g in fresh]
    for start in range(0, len(students), 500):
        here = t.result.c.student.in_(students[start : start + 500])
        target.execute(delete(t.result).where(t.result.c.token == token, here))
    if fresh:
        target.execute(insert(t.result), [result_row(token, g) for g in fresh])
    keep_tally(target, problem_set, keys, counting.values())
    return len(fresh)


def _equal(a: Graded, b: Graded) -> bool:
    return (a.given, a.result) == (b.given, b.result)


def _later(source: Connection, target: Connection, token: str) -> dict[str, Graded]:
    """The other store's answers that are to count here: new ones, and those that came later.

    When both came in the same second the hash of the answers decides, the same way in both stores.
    """
    ours, theirs = graded_in(target, token), graded_in(source, token)
    here, there = _came(target, token), _came(source, token)

    def age(came: dict[str, str], graded: Graded) -> tuple[str, str]:
        submission = str(result_row(token, graded)["submission"])
        return came.get(graded.given.student, graded.at), submission

    return {
        student: graded
        for student, graded in theirs.items()
        if student not in ours or age(there, graded) > age(here, ours[student])
    }


def _came(connection: Connection, token: str) -> dict[str, str]:
    """Student → when the answers that count came to count."""
    event = t.event.c
    found = connection.execute(
        select(event.student, func.max(event.at))
        .where(event.token == token, event.what.in_(CAME))
        .group_by(event.student)
    )
    return {row[0]: row[1] for row in found}


def _rules(target: Connection, token: str) -> Rules:
    """As the last change in the trail says; it is written down with the set."""
    here = (t.event.c.token == token, t.event.c.what == "rules")
    last = target.scalar(
        select(t.event.c.after).where(*here).order_by(t.event.c.id.desc()).limit(1)
    )
    mine = t.problem_set.c.token == token
    if last is not None:
        rules = Rules(part_credit=last == rules_text(Rules(part_credit=True)))
        target.execute(update(t.problem_set).where(mine).values(part_credit=rules.part_credit))
        return rules
    return Rules(part_credit=bool(target.scalar(select(t.problem_set.c.part_credit).where(mine))))
