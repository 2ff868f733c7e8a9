"""A student's record of practice: one SQLite file, on the disk before anything is shown.

Every method that changes something is one transaction, synchronous to the disk, so that a killed
process or a power cut loses nothing that was said to be kept. Questions are made ahead of time and
wait in the record as *ready*; the one on the screen is *open* and comes back after a restart; then
it is *answered* or *skipped*. Numbers are given once and for all, since a question's chance hangs
on its number.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import msgspec

from quizgen.base.errors import OutsideError
from quizgen.drill.home import make_private
from quizgen.drill.marking import Verdict
from quizgen.drill.migrations import migrate
from quizgen.drill.question import Picture, Question
from quizgen.drill.schedule import Answered, Skill

FILE = "practice.sqlite3"
SECRET_BYTES = 32
PATIENCE_SECONDS = 10  # for another window that is writing


@dataclass(frozen=True, kw_only=True)
class Line:
    """One question that was left, answered or skipped (then `given` is "" and `right` None)."""

    number: int
    at: datetime
    skill: Skill
    kind: str
    circuit: str
    item: str
    given: str = ""
    right: bool | None = None
    hints: int = 0
    seconds: float = 0.0
    misconceptions: tuple[str, ...] = ()

    @property
    def answered(self) -> Answered | None:
        """For the schedule; None for a question that was skipped."""
        if self.right is None:
            return None
        return Answered(skill=self.skill, at=self.at, right=self.right, hints=self.hints)


class Record:
    """The file of one student. Raises OutsideError wherever the disk or the file fails."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self.path = path

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    @property
    def seed(self) -> bytes:
        """What the chance of this student's questions hangs on."""
        found = self.note("seed")
        if not found:
            with self._change() as cursor:  # the first of two windows wins
                cursor.execute(
                    "INSERT OR IGNORE INTO note VALUES ('seed', ?)",
                    (secrets.token_hex(SECRET_BYTES).encode(),),
                )
            found = self.note("seed")
        return found

    def note(self, name: str) -> bytes:
        """What was kept under `name`; b"" for nothing."""
        row = self._one("SELECT value FROM note WHERE name = ?", name)
        return bytes(row[0]) if row else b""

    def keep_note(self, name: str, value: bytes) -> None:
        """Keep `value` under `name` in place of what was there."""
        with self._change() as cursor:
            cursor.execute("INSERT OR REPLACE INTO note VALUES (?, ?)", (name, value))

    def next_number(self) -> int:
        """A number for a question to be made, never given before."""
        with self._change() as cursor:
            row = cursor.execute("SELECT value FROM note WHERE name = 'numbers'").fetchone()
            number = int(row[0]) + 1 if row else 1
            cursor.execute(
                "INSERT OR REPLACE INTO note VALUES ('numbers', ?)", (str(number).encode(),)
            )
        return number

    def put_by(self, question: Question) -> bool:
        """Keep a question that was made; False if it says the same as one that is there."""
        q, number = question, question.shown.number
        body = replace(q, shown=replace(q.shown, picture=None))
        with self._change() as cursor:
            cursor.execute(
                "INSERT OR IGNORE INTO question (number, topic, level, kind, circuit, item, sum, "
                "body, state) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'ready')",
                (number, q.topic, q.level, q.kind, q.circuit, q.item, q.sum,
                 msgspec.json.encode(body)),
            )  # fmt: skip
            kept = cursor.rowcount == 1
            if kept and q.shown.picture:
                cursor.execute(
                    "INSERT INTO picture VALUES (?, ?)",
                    (number, msgspec.json.encode(q.shown.picture)),
                )
        return kept

    def ready(self, circuit: str = "") -> dict[Skill, int]:
        """Skills with a question waiting, about one circuit if one is named, and its number.

        Of several the one made first.
        """
        rows = self._all(
            "SELECT topic, level, min(number) FROM question WHERE state = 'ready' "
            "AND ? IN ('', circuit) GROUP BY topic, level ORDER BY 3",
            circuit,
        )
        return {Skill(str(topic), str(level)): int(number) for topic, level, number in rows}

    def question(self, number: int) -> Question:
        """A question that was put by, with its picture as long as it has one."""
        row = self._one("SELECT body FROM question WHERE number = ?", number)
        assert row is not None, number
        question = msgspec.json.decode(row[0], type=Question)
        row = self._one("SELECT body FROM picture WHERE number = ?", number)
        picture = msgspec.json.decode(row[0], type=Picture) if row else None
        return replace(question, shown=replace(question.shown, picture=picture))

    def skill(self, number: int) -> Skill:
        """What a question that was put by is on."""
        row = self._one("SELECT topic, level FROM question WHERE number = ?", number)
        assert row is not None, number
        return Skill(str(row[0]), str(row[1]))

    def open(self, number: int) -> None:
        """The question is now on the screen. Pictures of those left before are let go."""
        with self._change() as cursor:
            cursor.execute(
                "UPDATE question SET state = 'open' WHERE number = ? AND state = 'ready'",
                (number,),
            )
            cursor.execute(
                "DELETE FROM picture WHERE number IN "
                "(SELECT number FROM question WHERE state IN ('answered', 'skipped'))"
            )

    def opened(self) -> tuple[int, int] | None:
        """Number and hints of the question that is on the screen, or was when all stopped."""
        row = self._one(
            "SELECT number, hints FROM question WHERE state = 'open' ORDER BY number LIMIT 1"
        )
        return (int(row[0]), int(row[1])) if row else None

    def hint(self, number: int) -> None:
        """One more hint was asked for."""
        with self._change() as cursor:
            cursor.execute("UPDATE question SET hints = hints + 1 WHERE number = ?", (number,))

    def answer(
        self, number: int, at: datetime, given: str, verdict: Verdict, seconds: float
    ) -> bool:
        """Keep an answer; False if the question was left already, in another window."""
        with self._change() as cursor:
            if not _leave(cursor, number, "answered", at):
                return False
            cursor.execute(
                "INSERT INTO answer SELECT number, ?, ?, ?, hints, ?, ? "
                "FROM question WHERE number = ?",
                (_written(at), given, int(verdict.right), max(seconds, 0.0),
                 " ".join(verdict.misconceptions), number),
            )  # fmt: skip
        return True

    def skip(self, number: int, at: datetime) -> bool:
        """Leave a question without an answer; False if it was left already."""
        with self._change() as cursor:
            return _leave(cursor, number, "skipped", at)

    def lines(self, since: datetime | None = None) -> list[Line]:
        """Every question that was answered or skipped, in the order in which they were left.

        With `since` only those left then or later.
        """
        rows = self._all(
            "SELECT q.number, coalesce(a.at, q.left_at), q.topic, q.level, q.kind, q.circuit, "
            "q.item, coalesce(a.given, ''), a.right, q.hints, coalesce(a.seconds, 0.0), "
            "coalesce(a.misconceptions, '') FROM question q LEFT JOIN answer a USING (number) "
            "WHERE q.state IN ('answered', 'skipped') AND q.left_at >= ? ORDER BY 2, 1",
            _written(since) if since else "",
        )
        return [_line(row) for row in rows]

    def _one(self, sql: str, *values: object) -> tuple[Any, ...] | None:
        rows = self._all(sql, *values)
        return rows[0] if rows else None

    def _all(self, sql: str, *values: object) -> list[tuple[Any, ...]]:
        with _told(self.path):
            return self._connection.execute(sql, values).fetchall()

    @contextmanager
    def _change(self) -> Iterator[sqlite3.Cursor]:
        with _told(self.path):
            cursor = self._connection.cursor()
            cursor.execute("BEGIN IMMEDIATE")
            try:
                yield cursor
                cursor.execute("COMMIT")
            except BaseException:
                cursor.execute("ROLLBACK")
                raise


def open_record(folder: Path) -> Record:
    """The record in a student's folder, made if there is none.

    Raises OutsideError where that fails, InputError for one of a later version.
    """
    path = folder / FILE
    make_private(folder)
    with _told(path):
        connection = sqlite3.connect(path, timeout=PATIENCE_SECONDS, isolation_level=None)
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            migrate(connection, str(path))
        except BaseException:
            connection.close()
            raise
    return Record(connection, path)


def read_lines(folder: Path) -> list[Line]:
    """What a student has left so far, without making a record where there is none."""
    if not (folder / FILE).is_file():
        return []
    record = open_record(folder)
    try:
        return record.lines()
    finally:
        record.close()


_ADVICE = {
    "locked": "close other windows of the drill",
    "full": "make room on the disk",
    "readonly": "the file has to be one that you may write",
    "unable to open": "the folder has to be one that you may write in",
    "disk I/O": "the disk fails; copy the file to another one",
}
_ANEW = "move the file away to begin anew"


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Errors of SQLite as ours, in one line."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        advice = next((do for what, do in _ADVICE.items() if what in str(error)), _ANEW)
        raise OutsideError(f"{path}: cannot be used ({error}); {advice}") from None


def _leave(cursor: sqlite3.Cursor, number: int, state: str, at: datetime) -> bool:
    cursor.execute(
        "UPDATE question SET state = ?, left_at = ? WHERE number = ? AND state = 'open'",
        (state, _written(at), number),
    )
    return cursor.rowcount == 1


def _written(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def _line(row: tuple[Any, ...]) -> Line:
    number, at, topic, level, kind, circuit, item, given, right, hints, seconds, beliefs = row
    return Line(
        number=int(number),
        at=datetime.fromisoformat(str(at)),
        skill=Skill(str(topic), str(level)),
        kind=str(kind),
        circuit=str(circuit),
        item=str(item),
        given=str(given),
        right=None if right is None else bool(right),
        hints=int(hints),
        seconds=float(seconds),
        misconceptions=tuple(str(beliefs).split()),
    )
