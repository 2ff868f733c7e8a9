"""A fresh store in each database: SQLite, and PostgreSQL where its Debian package is there."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from quizgen.store.database import Store, open_store

USER = "postgres"  # the server refuses to run as root
_numbers = count(1)


def programs() -> dict[str, str]:
    """The server's programs by name; empty where they are not installed."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    path = os.pathsep.join([*map(str, folders), os.environ.get("PATH", "")])
    found = {name: shutil.which(name, path=path) for name in ("initdb", "pg_ctl")}
    return {name: where for name, where in found.items() if where} if all(found.values()) else {}


def run(*command: str) -> None:
    """Run one of the server's programs, as its own user where the tests run as root."""
    as_user = ["runuser", "-u", USER, "--"] if os.geteuid() == 0 else []
    subprocess.run([*as_user, *command], check=True, capture_output=True, cwd="/", timeout=120)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a PostgreSQL server of our own, started for the tests and stopped after them."""
    program = programs()
    if not program:
        pytest.skip("PostgreSQL is not installed (Debian package postgresql): SQLite alone tested")
    folder = Path(tempfile.mkdtemp(prefix="quizgen-postgres-"))
    if os.geteuid() == 0:
        shutil.chown(folder, USER)
    data, port = folder / "data", free_port()
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    try:
        run(program["initdb"], "-D", str(data), "-U", "quizgen", "-A", "trust", "-E", "UTF8", "-N")
        run(program["pg_ctl"], "-D", str(data), "-w", "-o", options, "-l", str(folder / "log"),
            "start")  # fmt: skip
        yield f"postgresql://quizgen@127.0.0.1:{port}"
        run(program["pg_ctl"], "-D", str(data), "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The name of a store that is not there yet."""
    if request.param == "sqlite":
        return str(tmp_path / "grades.sqlite")
    server: str = request.getfixturevalue("postgres")
    name = f"test{next(_numbers)}"
    import psycopg

    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE template0")  # type: ignore[call-overload]
    return f"{server}/{name}"


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    """An open store with nothing in it."""
    opened = open_store(where)
    yield opened
    opened.close()
