"""Jobs on several processes: what comes back, what goes wrong, and that nobody is left behind."""

from __future__ import annotations

import math
import multiprocessing
import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from quizgen.base.errors import (
    CircuitError,
    FileError,
    InputError,
    OutsideError,
    Place,
    QuizgenError,
    UnprovableError,
)
from quizgen.base.spread import AHEAD, THREADS, Here, Runner, spread_out
from quizgen.circuit.yaml_reader import read_file


@pytest.fixture(scope="module")
def pool() -> Iterator[Runner]:
    """Two processes for all tests that leave them alive."""
    with spread_out(2) as runner:
        yield runner


def test_results_come_with_the_numbers_of_their_jobs(pool: Runner) -> None:
    """Twenty factorials, as this process has them."""
    assert dict(pool.map(math.factorial, range(20))) == dict(Here().map(math.factorial, range(20)))


def test_here_keeps_the_order() -> None:
    """One process does one job after the other."""
    assert list(Here().map(math.factorial, range(4))) == [(0, 1), (1, 1), (2, 2), (3, 6)]


def test_one_process_is_this_one() -> None:
    """No other is started."""
    with spread_out(1) as runner:
        assert dict(runner.map(os.getenv, ["PATH"])) == {0: os.environ["PATH"]}
        assert list(runner.map(_pid, [0])) == [(0, os.getpid())]


def test_no_jobs_no_results(pool: Runner) -> None:
    """An empty set of jobs ends at once."""
    assert list(pool.map(math.sqrt, [])) == []


def test_jobs_are_taken_as_results_are_fetched(pool: Runner) -> None:
    """So that a thousand jobs take no more memory than ten."""
    taken = []

    def jobs() -> Iterator[int]:
        for number in range(50):
            taken.append(number)
            yield number

    for count, _ in enumerate(pool.map(math.factorial, jobs())):
        assert len(taken) <= count + 2 * AHEAD + 1


def test_libraries_get_one_thread_in_a_worker(pool: Runner) -> None:
    """Two processes with two threads each on two cores are slower than two with one."""
    assert set(dict(pool.map(os.getenv, THREADS)).values()) == {"1"}


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_workers_never_hear_ctrl_c(pool: Runner) -> None:
    """Neither while they start, when it would be told by a traceback, nor later."""
    assert list(pool.map(_hears, [signal.SIGINT])) == [(0, (False, signal.SIG_IGN))]


def test_an_error_of_a_job_arrives_as_it_was(pool: Runner, tmp_path: Path) -> None:
    """With its class, its one line and its place in the file."""
    path = tmp_path / "plan.yaml"
    path.write_text("name: one\nname: two\n", encoding="utf-8")
    with pytest.raises(FileError) as there:
        list(pool.map(read_file, [path]))
    with pytest.raises(FileError) as here:
        read_file(path)
    assert str(there.value) == str(here.value)
    assert there.value.place == here.value.place == Place(path, 2, here.value.place.field)


@pytest.mark.parametrize(
    "error",
    [
        *(e("a.yaml: wrong") for e in (QuizgenError, InputError, OutsideError, CircuitError)),
        UnprovableError("week-01: the cell any x read cannot be met"),
        FileError(Place("a.yaml", 7, "items"), "expected a number"),
    ],
    ids=lambda error: type(error).__name__,
)
def test_errors_survive_the_way_between_processes(error: QuizgenError) -> None:
    """A class whose arguments are not its message is lost on the way unless it says how."""
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert vars(again) == vars(error)


def test_a_dead_worker_is_one_line() -> None:
    """As when the system ends a process for want of memory."""
    with pytest.raises(OutsideError, match="--jobs") as caught, spread_out(2) as runner:
        list(runner.map(os._exit, [9]))
    assert "\n" not in str(caught.value)


def test_an_error_ends_the_workers_at_once() -> None:
    """Nobody waits for the job of ten minutes that another is still at."""
    before = set(multiprocessing.active_children())
    with pytest.raises(KeyboardInterrupt), spread_out(2) as runner:
        _interrupt_after_one(runner)
    assert set(multiprocessing.active_children()) <= before


def _interrupt_after_one(runner: Runner) -> None:
    next(runner.map(time.sleep, [600, 0]))
    raise KeyboardInterrupt


WAITING = """
import os, signal, sys, time
from quizgen.base.spread import spread_out
from tests.base.test_spread import _pid

if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)  # jobs in the background ignore it
    with spread_out(2) as runner:
        pids = {pid for _, pid in runner.map(_pid, [0.5] * 4)}
        print(*pids, flush=True)
        list(runner.map(time.sleep, [600]))  # the other worker waits for something to do
"""


PATIENCE = 180  # seconds; the machine may be busy


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("signal_name", ["SIGINT", "SIGKILL"])
def test_workers_end_with_their_parent(tmp_path: Path, signal_name: str) -> None:
    """Ctrl-C reaches the whole group and only the parent speaks; killed, it cannot say goodbye."""
    script = tmp_path / "waiting.py"
    script.write_text(WAITING, encoding="utf-8")
    parent = subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    assert parent.stdout is not None
    workers = [int(pid) for pid in parent.stdout.readline().split()]
    assert workers
    assert all(map(_lives, workers))
    if signal_name == "SIGINT":
        os.killpg(parent.pid, signal.SIGINT)
    else:
        parent.kill()
    try:
        _, said = parent.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        os.killpg(parent.pid, signal.SIGKILL)  # or its pipes would fail the tests that follow
        parent.communicate()
        raise
    for _ in range(600):
        if not any(map(_lives, workers)):
            break
        time.sleep(0.1)
    assert not any(map(_lives, workers))
    assert said.count("Traceback") == (signal_name == "SIGINT"), said


def _pid(seconds: float) -> int:
    """Who does this job; it takes `seconds`."""
    time.sleep(seconds)
    return os.getpid()


def _hears(number: signal.Signals) -> tuple[bool, object]:
    """Whether a signal gets through, and what it would do."""
    return number not in signal.pthread_sigmask(signal.SIG_BLOCK, []), signal.getsignal(number)


def _lives(pid: int) -> bool:
    with suppress(FileNotFoundError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False
