"""Answers in, results out, and the trail of every change.

A batch is recorded in one transaction: all of it or nothing. What is already there is left alone,
so the same batch twice changes nothing. Other answers than those that count are never taken
silently: a file read anew (a doubtful mark was decided) replaces its own earlier reading, and
says so; another file's answers are refused until somebody asks for them (`replace`).
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

import msgspec
from sqlalchemy import Connection, Table, insert, select, update
from sqlalchemy.dialects.postgresql import Insert as PostgresInsert
from sqlalchemy.dialects.sqlite import Insert as SqliteInsert

from quizgen.base.errors import InputError
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import Amendment, Keys, check_amendment, keys_of
from quizgen.grading.responses import StudentResponses
from quizgen.grading.score import Result, Rules, score
from quizgen.store import tables as t
from quizgen.store.contents import Graded, amendments_in, graded_in
from quizgen.store.database import Store
from quizgen.store.identity import check_digest, questions_digest
from quizgen.store.notation import answers_text, marks_text
from quizgen.store.tallies import keep_tally

What = Literal["new", "same", "replaced", "refused"]


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """What became of one student's answers; `note` says what stands in their way."""

    given: StudentResponses
    what: What
    result: Result
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Rescored:
    """A result that is another one now, with points before and after."""

    student: str
    before: Result
    after: Result


@dataclass(frozen=True, kw_only=True)
class Batch:
    """The outcome of recording: the batch's answers, and other results that changed with it."""

    recorded: tuple[Recorded, ...]
    rescored: tuple[Rescored, ...] = ()


def now() -> str:
    """The time in UTC, to the second, ISO 8601."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def record(
    store: Store, problem_set: ProblemSet, batch: Iterable[StudentResponses], who: str,
    *, replace: bool = False,
) -> Batch:  # fmt: skip
    """Score and keep a batch. Every student of the set is scored by the keys as they are now.

    Raises InputError when the set in the store is another one of the same name, OutsideError
    when the database fails; then nothing of the batch is kept.
    """
    with store.writing() as connection:
        rules = hold(connection, problem_set)
        keys = keys_of(problem_set, amendments_in(connection, problem_set.token))
        desk = _Desk(connection, problem_set, who, keys, rules)
        recorded = tuple(desk.take(given, replace) for given in batch)
        rescored = desk.score_again("scored by another version of quizgen")
        desk.write()
    return Batch(recorded=recorded, rescored=rescored)


def amend(store: Store, problem_set: ProblemSet, amendment: Amendment) -> tuple[Rescored, ...]:
    """Change a key and score everybody anew. Raises InputError for a key that does not fit.

    The same change twice is one change.
    """
    check_amendment(problem_set, amendment)
    question = f"{amendment.form}/{amendment.number}"
    with store.writing() as connection:
        rules = hold(connection, problem_set)
        earlier = amendments_in(connection, problem_set.token)
        last = [a for a in earlier if f"{a.form}/{a.number}" == question][-1:]
        if last and _change(last[0]) == _change(amendment):
            return ()
        connection.execute(insert(t.amendment).values(
            token=problem_set.token, form=amendment.form, number=amendment.number,
            change=amendment.change, texts=msgspec.json.encode(amendment.texts).decode(),
            why=storable(amendment.why), who=storable(amendment.who), at=now(),
        ))  # fmt: skip
        keys = keys_of(problem_set, [*earlier, amendment])
        desk = _Desk(connection, problem_set, amendment.who, keys, rules)
        desk.note(
            "amended", question=question, why=amendment.why, after=_change(amendment),
            before=_change(last[0]) if last else "printed",
        )  # fmt: skip
        rescored = desk.score_again(f"{question}: {amendment.why}")
        desk.write()
    return rescored


def set_rules(
    store: Store, problem_set: ProblemSet, rules: Rules, why: str, who: str
) -> tuple[Rescored, ...]:
    """Score the set by other rules from now on, everybody anew."""
    if not why.strip():
        raise InputError("a change of the rules needs --why")
    with store.writing() as connection:
        before = hold(connection, problem_set)
        if before == rules:
            return ()
        here = t.problem_set.c.token == problem_set.token
        connection.execute(update(t.problem_set).where(here).values(part_credit=rules.part_credit))
        keys = keys_of(problem_set, amendments_in(connection, problem_set.token))
        desk = _Desk(connection, problem_set, who, keys, rules)
        desk.note("rules", before=rules_text(before), after=rules_text(rules), why=why)
        rescored = desk.score_again(why)
        desk.write()
    return rescored


def hold(connection: Connection, problem_set: ProblemSet) -> Rules:
    """Take the set's row until the transaction ends, and return how the set is scored.

    The set may have got more students, or fields that an older program did not know: then the
    newer document is kept.
    """
    document, digest = msgspec.json.encode(problem_set).decode(), questions_digest(problem_set)
    connection.execute(
        _own_insert(connection, t.problem_set).on_conflict_do_nothing(),
        {
            "token": problem_set.token, "name": problem_set.name, "digest": digest,
            "document": document, "part_credit": True, "added_at": now(),
        },
    )  # fmt: skip
    here = t.problem_set.c.token == problem_set.token
    row = connection.execute(select(t.problem_set).where(here).with_for_update()).one()
    check_digest(problem_set, row.digest)
    if row.document != document:
        connection.execute(update(t.problem_set).where(here).values(document=document))
    return Rules(part_credit=bool(row.part_credit))


class _Desk:
    """Collects what one transaction changes, and writes it in a few statements."""

    def __init__(
        self, connection: Connection, problem_set: ProblemSet, who: str, keys: Keys, rules: Rules
    ) -> None:
        self.connection, self.problem_set, self.who = connection, problem_set, storable(who)
        self.token = token = problem_set.token
        self.keys, self.rules = keys, rules
        self.at = now()
        self.counting = graded_in(connection, token)
        self.before = dict(self.counting)
        self.submissions: list[dict[str, object]] = []
        self.events: list[dict[str, str]] = []

    def take(self, given: StudentResponses, replace: bool) -> Recorded:
        """One student's answers of the batch."""
        earlier = self.counting.get(given.student)
        if earlier and _same(earlier.given, given):
            return Recorded(given=given, what="same", result=earlier.result)
        own = earlier and _sheet(earlier.given) == _sheet(given)
        if earlier and not own and not replace:
            return Recorded(
                given=given, what="refused", result=earlier.result,
                note=f"{given.student} already has other answers, from "
                f"{_place(earlier.given)}; --replace takes these instead",
            )  # fmt: skip
        result = score(given, self.keys, self.rules)
        self.counting[given.student] = Graded(given=given, result=result, at=self.at)
        self.submissions.append(self._row(given))
        self.note(
            "replaced" if earlier else "graded", student=given.student,
            before=_points(earlier.result) if earlier else "", after=_points(result),
            why=("read anew" if own else "asked for") if earlier else _place(given),
        )  # fmt: skip
        return Recorded(given=given, what="replaced" if earlier else "new", result=result)

    def score_again(self, why: str) -> tuple[Rescored, ...]:
        """Everybody by the keys and rules as they are; only real changes are noted."""
        changed = []
        for student, was in self.counting.items():
            result = score(was.given, self.keys, self.rules)
            if result.marks == was.result.marks:
                continue
            self.counting[student] = dataclasses.replace(was, result=result)
            self.note(
                "scored anew", student=student, before=_points(was.result), after=_points(result),
                why=why,
            )  # fmt: skip
            changed.append(Rescored(student=student, before=was.result, after=result))
        return tuple(changed)

    def note(self, what: str, **said: str) -> None:
        """One event."""
        self.events.append(event_row(self.token, self.at, self.who, what, **said))

    def write(self) -> None:
        """Everything that was collected; nothing at all when nothing changed."""
        if self.submissions:  # the same sheet may have been read so before
            statement = _own_insert(self.connection, t.submission)
            self.connection.execute(statement.on_conflict_do_nothing(), self.submissions)
        changed = [g for s, g in self.counting.items() if self.before.get(s) is not g]
        if changed:
            statement = _own_insert(self.connection, t.result)
            values = {c: statement.excluded[c] for c in
                      ("submission", "points", "out_of", "pending", "marks")}  # fmt: skip
            self.connection.execute(
                statement.on_conflict_do_update(index_elements=["token", "student"], set_=values),
                [result_row(self.token, g) for g in changed],
            )
        if self.events:
            self.connection.execute(insert(t.event), self.events)
            keep_tally(self.connection, self.problem_set, self.keys, self.counting.values())

    def _row(self, given: StudentResponses) -> dict[str, object]:
        content = _content(self.token, given)
        return {"id": _id(content), **content, "who": self.who, "at": self.at}


def _own_insert(connection: Connection, table: Table) -> PostgresInsert | SqliteInsert:
    """The database's own insert, which knows what to do about a row that is there."""
    return (PostgresInsert if connection.dialect.name == "postgresql" else SqliteInsert)(table)


def _content(token: str, given: StudentResponses) -> dict[str, object]:
    return {
        "token": token, "student": given.student, "form": given.form,
        "answers": answers_text(given.responses), "file": storable(given.source.file),
        "file_digest": given.source.digest, "place": given.source.place,
    }  # fmt: skip


def event_row(token: str, at: str, who: str, what: str, **said: str) -> dict[str, str]:
    """What the table of events holds; `said` are columns, those left out are empty."""
    blank = dict.fromkeys(("student", "question", "before", "after", "why"), "")
    told = {name: storable(text) for name, text in said.items()}
    return {"token": token, "at": at, "who": storable(who), "what": what, **blank, **told}


def result_row(token: str, graded: Graded) -> dict[str, object]:
    """What the table of results holds about a student's answers that count."""
    result = graded.result
    return {
        "token": token, "student": result.student,
        "submission": _id(_content(token, graded.given)), "points": result.points,
        "out_of": result.out_of, "pending": result.pending, "marks": marks_text(result.marks),
    }  # fmt: skip


def _id(content: dict[str, object]) -> str:
    return hashlib.sha256(msgspec.json.encode(sorted(content.items()))).hexdigest()


def _same(a: StudentResponses, b: StudentResponses) -> bool:
    return (a.form, a.responses) == (b.form, b.responses)


def _sheet(given: StudentResponses) -> tuple[str, int]:
    return given.source.digest, given.source.place


def _place(given: StudentResponses) -> str:
    place = f", {given.source.place}" if given.source.place else ""
    return f"{given.source.file}{place}"


def _points(result: Result) -> str:
    pending = f", {result.pending} pending" if result.pending else ""
    return f"{result.points:g} of {result.out_of}{pending}"


def rules_text(rules: Rules) -> str:
    """How the trail tells of rules; merging reads it back."""
    return "part credit" if rules.part_credit else "all or nothing"


def _change(amendment: Amendment) -> str:
    return " ".join((amendment.change, " | ".join(amendment.texts))).strip()


def storable(text: str) -> str:
    """`text` as a database takes it, whatever bytes a file name or an argument was made of."""
    return text.encode("utf-8", "replace").decode().replace("\0", "")
