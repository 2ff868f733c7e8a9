"""Opening the store: a SQLite file, or a PostgreSQL server by its URL.

Every change is one transaction. In SQLite a writer takes the file's lock before it reads, so two
graders at once work one after the other; in PostgreSQL `gradebook` locks the set's row.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from quizgen.base.errors import InputError, OutsideError
from quizgen.store.migrations import migrate_one, pending

PATIENCE = 60.0  # seconds to wait for somebody else's transaction
READING = "quizgen_reading"
DAMAGED = "; it is damaged, go back to a copy of it"


class Store:
    """An open store. `where` is its name for messages, without a password."""

    def __init__(self, engine: Engine, where: str) -> None:
        self.engine = engine
        self.where = where

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection to read from, with one view of the data. Raises OutsideError."""
        with self._told(), self.engine.connect() as plain:
            isolation = {} if plain.dialect.name == "sqlite" else {
                "isolation_level": "REPEATABLE READ"}  # fmt: skip
            connection = plain.execution_options(**{READING: True}, **isolation)
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction: all of it or, after any error, nothing. Raises OutsideError."""
        with self._told(), self.engine.begin() as connection:
            yield connection

    def close(self) -> None:
        """Give connections back."""
        self.engine.dispose()

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except DBAPIError as error:
            reason = " ".join(str(error.orig).split())
            if "not a database" in reason:
                raise InputError(f"{self.where}: is not a store; name another file") from None
            damaged = DAMAGED if "malformed" in reason else ""
            raise OutsideError(f"{self.where}: {reason[:300]}{damaged}") from None
        except msgspec.DecodeError as error:  # a page of the file was lost, or somebody wrote in it
            raise OutsideError(
                f"{self.where}: a record in it cannot be read ({error}){DAMAGED}"
            ) from None


def open_store(where: str, *, new: bool = True) -> Store:
    """The store in a file or at a URL (postgresql://...), made or brought up to date.

    Without `new` a file has to be there. Raises InputError for what is neither or was made by a
    newer program, OutsideError when the server, the driver or the disk fails.
    """
    url = _server(where) if "://" in where else _file(where, new)
    try:
        engine = create_engine(url, connect_args=_PATIENT[url.get_backend_name()])
    except ModuleNotFoundError as error:
        raise OutsideError(
            f"{error.name} is needed for {url.drivername}: pip install 'quizgen[postgres]'"
        ) from None
    if url.get_backend_name() == "sqlite":
        _serialise(engine)
    store = Store(engine, url.render_as_string() if "://" in where else where)
    try:
        _bring_up_to_date(store)
    except BaseException:
        store.close()
        raise
    return store


_PATIENT: dict[str, dict[str, float]] = {
    "sqlite": {"timeout": PATIENCE},
    "postgresql": {"connect_timeout": 10},
}


def _file(where: str, new: bool) -> URL:
    path = Path(where)
    if not path.parent.is_dir():
        raise InputError(f"{where}: there is no folder {path.parent}")
    if not new and not path.is_file():
        raise InputError(f"{where}: there is no such store; grade answers first, or name another")
    return URL.create("sqlite", database=where)


def _server(where: str) -> URL:
    try:
        url = make_url(where)
    except (ArgumentError, ValueError):  # the second for a port that is no number
        raise InputError("the store's URL cannot be read; postgresql://USER@HOST/NAME") from None
    if url.drivername not in ("postgresql", "postgresql+psycopg"):
        raise InputError(f"{url.drivername}: no such database; use a file or postgresql://")
    return url.set(drivername="postgresql+psycopg")


def _bring_up_to_date(store: Store) -> None:
    """Every pending step in a transaction of its own; a store that is up to date is only read."""
    with store.reading() as connection:
        left = bool(pending(connection))
    while left:
        with store.writing() as connection:
            left = migrate_one(connection)


def _serialise(engine: Engine) -> None:
    """Let SQLite begin transactions when we say so, and the writing ones with their lock."""

    @event.listens_for(engine, "connect")
    def _(connection: object, record: object) -> None:
        connection.isolation_level = None  # type: ignore[attr-defined]
        connection.execute("PRAGMA foreign_keys=ON")  # type: ignore[attr-defined]

    @event.listens_for(engine, "begin")
    def _(connection: Connection) -> None:
        reads = connection.get_execution_options().get(READING)
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
