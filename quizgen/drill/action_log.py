"""A file that keeps every action at once, and tells when somebody has edited it.

One action a line, as a JSON object, with its sum in a chain over all lines (`base/chain.py`).
Lines cut off from the end are not noticed.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

from quizgen.base.chain import START, linked
from quizgen.base.errors import FileError, Place

Action = dict[str, str]


def read_actions(path: Path) -> tuple[Action, ...]:
    """The actions in the file, oldest first. A last line without its end was never finished.

    Raises FileError for a line that was altered, moved, put in or taken out; OSError.
    """
    return _whole_lines(path)[0]


def append_action(path: Path, action: Mapping[str, str]) -> None:
    """Write one action and wait until the disk has it; a torn last line is cut off first.

    One writer at a time. Raises FileError as `read_actions`; OSError.
    """
    _, before, length = _whole_lines(path) if path.exists() else ((), START, 0)
    body = dict(action)
    record = {"action": body, "sum": linked(before, body)}
    line = json.dumps(record, sort_keys=True) + "\n"
    with path.open("ab") as file:
        file.truncate(length)
        file.write(line.encode())
        file.flush()
        os.fsync(file.fileno())


def _whole_lines(path: Path) -> tuple[tuple[Action, ...], str, int]:
    """Actions, the sum of the last one, and the bytes that finished lines take."""
    data = path.read_bytes()
    length = data.rfind(b"\n") + 1
    found: list[Action] = []
    last = START
    for number, line in enumerate(data[:length].split(b"\n")[:-1], 1):
        action, stated = _parsed(line)
        if action is None or stated != linked(last, action):
            raise FileError(
                Place(path, number), "the log was altered here; start a new one with another name"
            )
        found.append(action)
        last = stated
    return tuple(found), last, length


def _parsed(line: bytes) -> tuple[Action | None, str]:
    try:
        record = json.loads(line)
        action, stated = record["action"], record["sum"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return None, ""
    texts = isinstance(action, dict) and all(isinstance(v, str) for v in action.values())
    return (action if texts and len(record) == 2 else None), str(stated)
