"""What the store keeps of a school's own lists: under which ids the school knows our records.

listed_class    a class of the school's lists: which of ours it is, its school, terms and teacher
listed_student  a person of the lists: which of our students they are
listed_place    a student's place in a class that came from the lists, and when it ended

`sourced_id` is the lists' own id, which never changes; names do. `at` is when a row was last
changed: of two stores that become one, the later word counts.
"""

from __future__ import annotations

from sqlalchemy import Column, Connection, ForeignKey, String, Table, Text, text

from quizgen.store.tables import metadata

listed_class = Table(
    "listed_class", metadata,
    Column("sourced_id", Text, primary_key=True),
    Column("class_id", String(64), ForeignKey("school_class.id"), nullable=False),
    Column("school", Text, nullable=False),
    Column("sessions", Text, nullable=False),  # JSON: [id, first day, last day] of each
    Column("teacher", Text, nullable=False),  # "" where the lists do not say who of several
    Column("at", String(32), nullable=False),
)  # fmt: skip

listed_student = Table(
    "listed_student", metadata,
    Column("sourced_id", Text, primary_key=True),
    Column("student", Text, nullable=False),
    Column("at", String(32), nullable=False),
)  # fmt: skip

listed_place = Table(
    "listed_place", metadata,
    Column("class_id", String(64), ForeignKey("school_class.id"), primary_key=True),
    Column("student", Text, primary_key=True),
    Column("left_on", String(10), nullable=False),  # ISO 8601, "" for who is in the class
    Column("at", String(32), nullable=False),
)  # fmt: skip


def school_lists(connection: Connection) -> None:
    """Which of our classes and students the school's lists name, and who has left."""
    for statement in _MADE.split(";"):
        connection.execute(text(statement))


_MADE = """
CREATE TABLE listed_class (
  sourced_id TEXT NOT NULL PRIMARY KEY,
  class_id VARCHAR(64) NOT NULL REFERENCES school_class (id), school TEXT NOT NULL,
  sessions TEXT NOT NULL, teacher TEXT NOT NULL, at VARCHAR(32) NOT NULL);
CREATE TABLE listed_student (
  sourced_id TEXT NOT NULL PRIMARY KEY, student TEXT NOT NULL, at VARCHAR(32) NOT NULL);
CREATE TABLE listed_place (
  class_id VARCHAR(64) NOT NULL REFERENCES school_class (id), student TEXT NOT NULL,
  left_on VARCHAR(10) NOT NULL, at VARCHAR(32) NOT NULL, PRIMARY KEY (class_id, student))
"""
