"""The log of a drill: nothing lost, edits noticed."""

from pathlib import Path

import pytest

from quizgen.base.errors import FileError
from quizgen.drill.action_log import append_action, read_actions

ACTIONS = tuple({"do": "measure", "red": f"K1.{n}", "shows": "12.3 Ω"} for n in range(4))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "hunt.jsonl"
    for action in ACTIONS:
        append_action(path, action)
    return path


def test_what_was_written_is_read(log: Path) -> None:
    """Actions come back in their order."""
    assert read_actions(log) == ACTIONS


def test_a_stop_at_any_byte_loses_only_the_line_being_written(log: Path) -> None:
    """Cut anywhere, the finished lines are read, and the next action follows on them."""
    data = log.read_bytes()
    data = data[: len(data) // 2]  # two lines: each cut waits for the disk
    for length in range(len(data)):
        log.write_bytes(data[:length])
        whole = data[:length].count(b"\n")
        assert read_actions(log) == ACTIONS[:whole]
        append_action(log, {"do": "look"})
        assert read_actions(log) == (*ACTIONS[:whole], {"do": "look"})


@pytest.mark.parametrize("edit", ["word", "taken out", "swapped", "twice", "rubbish"])
def test_an_edit_is_noticed(log: Path, edit: str) -> None:
    """A changed, missing, moved, repeated or unreadable line is named."""
    a, b, c, d = log.read_bytes().splitlines(keepends=True)
    lines = {
        "word": [a, b.replace(b"12.3", b"12.4"), c, d],
        "taken out": [a, c, d],
        "swapped": [a, c, b, d],
        "twice": [a, a, b, c, d],
        "rubbish": [a, b"[]\n", c, d],
    }[edit]
    log.write_bytes(b"".join(lines))
    with pytest.raises(FileError, match="line 2: the log was altered"):
        read_actions(log)
