"""What people decided about doubtful marks: kept for ever, the last one about a subject counts.

The reader of sheets names its subjects and verdicts itself; here they are texts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, insert, select

from quizgen.store import tables as t
from quizgen.store.database import Store
from quizgen.store.gradebook import event_row, now, storable


@dataclass(frozen=True, kw_only=True)
class Decided:
    """What `who` decided about `subject`, such as one row of one page of one file, and why."""

    subject: str
    verdict: str
    why: str
    who: str
    at: str = ""  # UTC, ISO 8601; the store writes it


def decide(store: Store, token: str, decisions: Sequence[Decided]) -> int:
    """Keep decisions about a set's sheets, all or none; how many were not there already.

    Raises OutsideError when the database fails.
    """
    with store.writing() as connection:
        held = _held(connection, token)
        fresh = [d for d in decisions if not _same(held.get(d.subject), d)]
        at = now()
        for decided in fresh:
            told = {"why": storable(decided.why), "who": storable(decided.who)}
            connection.execute(insert(t.decision).values(
                token=token, subject=decided.subject, verdict=decided.verdict, at=at, **told
            ))  # fmt: skip
            connection.execute(insert(t.event).values(event_row(
                token, at, decided.who, "decided", before=decided.subject, after=decided.verdict,
                why=decided.why,
            )))  # fmt: skip
    return len(fresh)


def decisions(store: Store, token: str) -> dict[str, Decided]:
    """The decision that counts about each subject of a set."""
    with store.reading() as connection:
        return _held(connection, token)


def _held(connection: Connection, token: str) -> dict[str, Decided]:
    columns = (t.decision.c[name] for name in ("subject", "verdict", "why", "who", "at"))
    found = connection.execute(
        select(*columns).where(t.decision.c.token == token).order_by(t.decision.c.id)
    )
    return {row["subject"]: Decided(**row) for row in found.mappings()}


def _same(held: Decided | None, decided: Decided) -> bool:
    return held is not None and (held.verdict, held.who) == (decided.verdict, decided.who)
