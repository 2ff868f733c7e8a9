"""The tables as queries see them. `store.migrations` makes them; a test holds the two together.

problem_set   a set as it was when its first answers came, and how it is scored
submission    one reading of one student's answers; never changed, never deleted
result        what counts for a student of a set: which submission, and its marks
amendment     changed and withdrawn keys, in the order they were made
decision      what a person decided about a doubtful mark
event         every change of a result, with who and why
school_class  a class: so many people in one course and one term
lesson        which class a set is for, who teaches it and in which week
enrolment     who is in a class
tally         a set's results as coverage counts them; follows from the rest, kept for speed

Times are UTC in ISO 8601. Answers and marks are JSON texts, one short string a question
(`store.notation`), so that a set of ten thousand students is read in one go.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData()

problem_set = Table(
    "problem_set", metadata,
    Column("token", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("digest", String(64), nullable=False),  # of its questions and keys
    Column("document", Text, nullable=False),  # the instructor's file
    Column("part_credit", Boolean, nullable=False),
    Column("added_at", String(32), nullable=False),
)  # fmt: skip

submission = Table(
    "submission", metadata,
    Column("id", String(64), primary_key=True),  # SHA-256 of all that follows but who and when
    Column("token", String(64), ForeignKey("problem_set.token"), nullable=False),
    Column("student", Text, nullable=False),
    Column("form", Text, nullable=False),
    Column("answers", Text, nullable=False),
    Column("file", Text, nullable=False),
    Column("file_digest", String(64), nullable=False),
    Column("place", Integer, nullable=False),
    Column("who", Text, nullable=False),
    Column("at", String(32), nullable=False),
)  # fmt: skip

result = Table(
    "result", metadata,
    Column("token", String(64), ForeignKey("problem_set.token"), primary_key=True),
    Column("student", Text, primary_key=True),
    Column("submission", String(64), ForeignKey("submission.id"), nullable=False),
    Column("points", Float, nullable=False),
    Column("out_of", Integer, nullable=False),
    Column("pending", Integer, nullable=False),
    Column("marks", Text, nullable=False),
)  # fmt: skip

amendment = Table(
    "amendment", metadata,
    Column("id", Integer, primary_key=True),
    Column("token", String(64), ForeignKey("problem_set.token"), nullable=False),
    Column("form", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("change", String(16), nullable=False),
    Column("texts", Text, nullable=False),  # JSON list
    Column("why", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("at", String(32), nullable=False),
)  # fmt: skip

decision = Table(
    "decision", metadata,
    Column("id", Integer, primary_key=True),
    Column("token", String(64), nullable=False),
    Column("subject", Text, nullable=False),  # which mark of which sheet, as the reader names it
    Column("verdict", Text, nullable=False),  # JSON
    Column("why", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("at", String(32), nullable=False),
)  # fmt: skip

event = Table(
    "event", metadata,
    Column("id", Integer, primary_key=True),
    Column("token", String(64), nullable=False),
    Column("at", String(32), nullable=False),
    Column("who", Text, nullable=False),
    Column("what", String(16), nullable=False),
    Column("student", Text, nullable=False),  # "" where it is about a question or the set
    Column("question", Text, nullable=False),  # "A/3", or ""
    Column("before", Text, nullable=False),
    Column("after", Text, nullable=False),
    Column("why", Text, nullable=False),
)  # fmt: skip

school_class = Table(
    "school_class", metadata,
    Column("id", String(64), primary_key=True),  # SHA-256 of all that follows
    Column("name", Text, nullable=False),
    Column("course", Text, nullable=False),
    Column("term", Text, nullable=False),
)  # fmt: skip

lesson = Table(
    "lesson", metadata,
    Column("token", String(64), ForeignKey("problem_set.token"), primary_key=True),
    Column("class_id", String(64), ForeignKey("school_class.id"), nullable=False),
    Column("instructor", Text, nullable=False),
    Column("day", String(10), nullable=False),  # ISO 8601
    Column("at", String(32), nullable=False),
)  # fmt: skip

enrolment = Table(
    "enrolment", metadata,
    Column("class_id", String(64), ForeignKey("school_class.id"), primary_key=True),
    Column("student", Text, primary_key=True),
    Column("name", Text, nullable=False),
)  # fmt: skip

tally = Table(
    "tally", metadata,
    Column("token", String(64), ForeignKey("problem_set.token"), primary_key=True),
    Column("content", Text, nullable=False),  # JSON, see store.tallies
)  # fmt: skip

Index("lesson_of_class", lesson.c.class_id, lesson.c.day)
Index("submission_of_student", submission.c.token, submission.c.student)
Index("amendment_of_set", amendment.c.token, amendment.c.id)
Index("decision_of_set", decision.c.token, decision.c.id)
Index("event_of_set", event.c.token, event.c.id)
