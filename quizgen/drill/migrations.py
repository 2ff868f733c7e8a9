"""The tables of a record of practice, as ordered steps.

A file knows how many steps it has behind it (SQLite's `user_version`). Each further step and its
number are written in one transaction. A step that has been shipped is never changed; a new one is
put behind it.
"""

from __future__ import annotations

import sqlite3

from quizgen.base.errors import InputError

STEPS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE note (name TEXT PRIMARY KEY, value BLOB NOT NULL) STRICT",
        """CREATE TABLE question (
            number INTEGER PRIMARY KEY,
            topic TEXT NOT NULL,
            level TEXT NOT NULL,
            kind TEXT NOT NULL,
            circuit TEXT NOT NULL,
            item TEXT NOT NULL,
            sum TEXT NOT NULL UNIQUE,
            body BLOB NOT NULL,
            state TEXT NOT NULL CHECK (state IN ('ready', 'open', 'answered', 'skipped')),
            hints INTEGER NOT NULL DEFAULT 0,
            left_at TEXT
        ) STRICT""",
        """CREATE TABLE answer (
            number INTEGER PRIMARY KEY REFERENCES question,
            at TEXT NOT NULL,
            given TEXT NOT NULL,
            right INTEGER NOT NULL CHECK (right IN (0, 1)),
            hints INTEGER NOT NULL,
            seconds REAL NOT NULL,
            misconceptions TEXT NOT NULL
        ) STRICT""",
        "CREATE TABLE picture (number INTEGER PRIMARY KEY REFERENCES question, body BLOB) STRICT",
    ),
)


def migrate(connection: sqlite3.Connection, name: str) -> None:
    """Bring the file behind `connection` to the latest tables; `name` is for the message.

    Raises InputError for a file that a later version has written.
    """
    if _version(connection) == len(STEPS):
        return
    connection.execute("BEGIN IMMEDIATE")  # another window may be at it
    try:
        version = _version(connection)
        if version > len(STEPS):
            raise InputError(f"{name}: was written by a later version of quizgen; install that")
        for number, step in enumerate(STEPS[version:], version + 1):
            for statement in step:
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
