"""Killed at any statement of a batch: the next run ends where an undisturbed one does."""

from __future__ import annotations

import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from quizgen.store.contents import graded, trail
from quizgen.store.database import open_store
from quizgen.store.gradebook import record
from tests.reports.simulated import answers, big_set

SET = big_set(40, 5, "AB")
ROOT = Path(__file__).parents[2]
# kills its own process at the n-th statement after the store is there
SCRIPT = """
import os, signal, sys
sys.path.insert(0, sys.argv[1])
from sqlalchemy import event
from quizgen.store.database import open_store
from quizgen.store.gradebook import record
from tests.reports.simulated import answers, big_set
store, left = open_store(sys.argv[2]), int(sys.argv[3])

@event.listens_for(store.engine, sys.argv[4])
def _(*args):
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGKILL)

record(store, big_set(40, 5, "AB"), answers(big_set(40, 5, "AB")), "x")
"""


def held(path: Path) -> object:
    """What the store holds, but times."""
    store = open_store(str(path))
    content = (
        [replace(g, at="") for g in graded(store, SET.token)],
        [replace(e, at="") for e in trail(store, SET.token)],
    )
    store.close()
    return content


@pytest.mark.parametrize(
    ("moment", "event"),
    [(1, "before_cursor_execute"), (5, "after_cursor_execute"), (7, "after_cursor_execute"),
     (1, "commit")],
)  # fmt: skip
def test_a_kill_loses_nothing_and_leaves_no_half(tmp_path: Path, moment: int, event: str) -> None:
    """After the kill the store has nothing of the batch; after the next run, all of it once."""
    calm, path = tmp_path / "calm.sqlite", tmp_path / "grades.sqlite"
    store = open_store(str(calm))
    record(store, SET, answers(SET), "x")
    store.close()
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(ROOT), str(path), str(moment), event], check=False
    )
    assert done.returncode == -signal.SIGKILL
    assert held(path) == ([], [])
    store = open_store(str(path))
    record(store, SET, answers(SET), "x")
    store.close()
    assert held(path) == held(calm)
