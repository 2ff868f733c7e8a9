"""The record of practice: what was kept is there, whatever happens to the process."""

from __future__ import annotations

import os
import signal
import sqlite3
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from quizgen.base.errors import InputError, OutsideError
from quizgen.drill.marking import Verdict, judge
from quizgen.drill.migrations import STEPS
from quizgen.drill.record import FILE, Record, _told, open_record
from quizgen.drill.schedule import Skill
from tests.drill.asked import figure, one

NOW = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = open_record(tmp_path)
    yield record
    record.close()


def test_a_question_goes_through_its_states(record: Record, tmp_path: Path) -> None:
    """Ready, open with hints, answered; after each step another opening of the file agrees."""
    assert record.put_by(one(7))
    assert record.ready() == {Skill("lamps", "interpret"): 7}
    record.open(7)
    record.hint(7)
    again = open_record(tmp_path)
    assert (again.ready(), again.opened()) == ({}, (7, 1))
    assert again.question(7) == one(7)
    assert again.skill(7) == Skill("lamps", "interpret")
    assert again.answer(7, NOW, "C", judge(one(7), "C"), 12.5)
    assert record.opened() is None
    (line,) = record.lines()
    assert (line.number, line.at, line.given, line.right) == (7, NOW, "C", False)
    assert (line.hints, line.seconds, line.misconceptions) == (1, 12.5, ("load-blamed",))
    again.close()


def test_an_answer_is_kept_once(record: Record) -> None:
    """Two windows answer the same question: the first counts, the second is told so."""
    record.put_by(one())
    record.open(1)
    assert record.answer(1, NOW, "B", Verdict(right=True), 1.0)
    assert not record.answer(1, NOW, "C", Verdict(right=False), 1.0)
    assert not record.skip(1, NOW)
    assert [line.given for line in record.lines()] == ["B"]


def test_a_skipped_question_is_left_without_an_answer(record: Record) -> None:
    """It stands in the record with its time, and the schedule does not see it."""
    record.put_by(one())
    record.open(1)
    record.skip(1, NOW)
    (line,) = record.lines()
    assert (line.right, line.at, line.answered) == (None, NOW, None)


def test_numbers_and_texts_never_come_again(record: Record, tmp_path: Path) -> None:
    """Numbers go on, in two windows too; a question that says the same is refused."""
    other = open_record(tmp_path)
    assert [record.next_number(), other.next_number(), record.next_number()] == [1, 2, 3]
    assert record.put_by(one(1))
    assert not other.put_by(one(1))
    assert record.seed == other.seed
    assert len(record.seed) >= 32
    other.close()


def test_windows_that_ask_at_once_get_different_numbers(tmp_path: Path) -> None:
    """Four at a time, ten numbers each: none twice, none fails because another is writing."""

    def take(_: int) -> list[int]:
        record = open_record(tmp_path)
        numbers = [record.next_number() for _ in range(10)]
        record.close()
        return numbers

    open_record(tmp_path).close()
    with ThreadPoolExecutor(4) as pool:
        numbers = [number for taken in pool.map(take, range(4)) for number in taken]
    assert sorted(numbers) == list(range(1, 41))


def test_pictures_are_let_go_when_the_next_question_opens(record: Record) -> None:
    """The figure of an answered question stays until then, its text for ever."""
    record.put_by(one(1))
    record.put_by(figure(2))
    record.open(1)
    record.answer(1, NOW, "B", Verdict(right=True), 1.0)
    assert record.question(1).shown.picture
    record.open(2)
    assert record.question(1).shown.picture is None
    assert record.question(1).key == one(1).key


def test_answers_come_in_the_order_of_time(record: Record) -> None:
    """Whatever their numbers."""
    for number in (1, 2):
        record.put_by(one(number))
        record.open(number)
    record.answer(2, NOW, "B", Verdict(right=True), 1.0)
    record.answer(1, NOW + timedelta(seconds=1), "B", Verdict(right=True), 1.0)
    assert [line.number for line in record.lines()] == [2, 1]


def test_only_the_student_may_read_it(tmp_path: Path) -> None:
    """The folder is closed to other accounts of the machine."""
    open_record(tmp_path / "s-117").close()
    assert stat.S_IMODE((tmp_path / "s-117").stat().st_mode) & 0o077 == 0


def test_the_version_of_the_tables_is_kept(record: Record) -> None:
    """The number of steps stands in the file, and writes wait for the disk, log first."""
    with sqlite3.connect(record.path) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
        assert file.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert record._connection.execute("PRAGMA synchronous").fetchone() == (
        2,
    )  # FULL, by sqlite.org
    file.close()


def test_a_step_that_fails_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a migration never stays behind: tables and version are undone together."""
    bad = (*STEPS, ("CREATE TABLE more (x) ", "CREATE TABLE more (x)"))
    open_record(tmp_path).close()
    monkeypatch.setattr("quizgen.drill.migrations.STEPS", bad)
    with pytest.raises(OutsideError):
        open_record(tmp_path)
    monkeypatch.undo()
    record = open_record(tmp_path)
    assert not record._all("SELECT * FROM sqlite_master WHERE name = 'more'")
    record.close()


def test_a_file_of_a_later_version_and_a_damaged_one_are_named(tmp_path: Path) -> None:
    """One line each, and the file is left alone."""
    later = tmp_path / "later"
    open_record(later).close()
    with sqlite3.connect(later / FILE) as file:
        file.execute("PRAGMA user_version = 99")
    file.close()
    with pytest.raises(InputError, match="later version"):
        open_record(later)
    (tmp_path / FILE).write_bytes(b"no database at all" * 100)
    with pytest.raises(OutsideError, match=r"practice\.sqlite3: cannot be used") as caught:
        open_record(tmp_path)
    assert "\n" not in str(caught.value)
    assert (tmp_path / FILE).read_bytes().startswith(b"no database")


WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from quizgen.drill.marking import Verdict
from quizgen.drill.record import open_record
from tests.drill.asked import one
record = open_record(Path(sys.argv[1]))
while True:
    number = record.next_number()
    record.put_by(one(number))
    record.open(number)
    record.hint(number)
    record.answer(number, datetime.now(UTC), "C", Verdict(right=False), 1.0)
    print(number, flush=True)
"""


def killed_after(folder: Path, seconds: float) -> set[int]:
    """Start a process that answers as fast as it can, kill it; the answers that it reported."""
    root = Path(__file__).parents[2]
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert process.stdout is not None
    first = process.stdout.readline()
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    rest = process.communicate()[0]
    return {int(line) for line in (first + rest).split("\n")[:-1]}


@pytest.mark.parametrize("seconds", [0.0, 0.011, 0.037])
def test_a_killed_process_loses_no_answer(tmp_path: Path, seconds: float) -> None:
    """Every answer that was reported as kept is there, once, and the file is sound."""
    reported: set[int] = set()
    for _ in range(2):
        reported |= killed_after(tmp_path, seconds)
        record = open_record(tmp_path)
        numbers = [line.number for line in record.lines()]
        assert reported <= set(numbers)
        assert len(numbers) == len(set(numbers))
        assert record._all("PRAGMA integrity_check") == [("ok",)]
        record.close()


@pytest.mark.parametrize(
    ("said", "advice"),
    [
        ("database or disk is full", "make room"),
        ("attempt to write a readonly database", "may write"),
        ("database disk image is malformed", "move the file away"),
    ],
)
def test_what_to_do_follows_from_what_failed(tmp_path: Path, said: str, advice: str) -> None:
    """Messages as SQLite writes them; a sound record is never to be moved away for a full disk."""
    path = tmp_path / "practice.sqlite3"
    with pytest.raises(OutsideError, match=advice), _told(path):
        raise sqlite3.OperationalError(said)
