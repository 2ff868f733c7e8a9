"""A sitting that is killed at any moment: what was said to be kept is kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizgen.drill.action_log import read_actions
from quizgen.drill.record import open_record
from quizgen.publish.pack import write_pack
from tests.drill.killing import PACK, PACK_LINES, PRACTICE, PRACTICE_LINES, killed
from tests.publish.test_pack import pack


@pytest.mark.parametrize("seconds", [0.03, 0.15])
def test_practice_loses_no_answer(tmp_path: Path, seconds: float) -> None:
    """Every answer whose reasons were shown is in the record, and the next sitting goes on."""
    told = 0
    for _ in range(2):
        told += killed(PRACTICE, PRACTICE_LINES, tmp_path, b"Practised:", seconds)
        record = open_record(tmp_path / "drill" / "student")
        answered = [line for line in record.lines() if line.right is not None]
        assert len(answered) >= told
        assert record._all("PRAGMA integrity_check") == [("ok",)]
        record.close()


def test_a_set_loses_no_answer(tmp_path: Path) -> None:
    """Every answer that was said to be kept stands in the log, in its order."""
    path = write_pack(pack(), tmp_path / "a.pack.json")
    told = 0
    for seconds in (0.03, 0.1):
        told += killed(PACK, PACK_LINES, tmp_path, b"Kept:", seconds, str(path))
        (log,) = (tmp_path / "drill" / "student" / "sets").glob("*.jsonl")
        steps = [action["answer"] for action in read_actions(log) if action["do"] == "answer"]
        assert len(steps) >= told
