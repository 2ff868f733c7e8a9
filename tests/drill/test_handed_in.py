"""The file that is handed in: comes back whole, and a changed one is noticed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from quizgen.base.errors import InputError
from quizgen.forms.handed_in import (
    HandedIn,
    Step,
    answers_after,
    hand_in,
    read_handed_in,
    write_handed_in,
)

STEPS = (
    Step(at="2026-11-28T09:00:00+00:00", number=1, answer="B"),
    Step(at="2026-11-28T09:01:00+00:00", number=3, answer="A C"),
    Step(at="2026-11-28T09:02:00+00:00", number=4, answer="-0.3"),
    Step(at="2026-11-28T09:03:00+00:00", number=1, answer="D"),
    Step(at="2026-11-28T09:04:00+00:00", number=3, answer=""),
)


def record() -> HandedIn:
    """What a student hands in who has changed one answer and taken one back."""
    return hand_in(token="4f21aa07", form="A", student="s-117", pack="ab" * 32, steps=STEPS)


def test_the_last_answer_to_each_question_counts(tmp_path: Path) -> None:
    """A changed answer is the new one, one taken back is none; all steps stay in the file."""
    path = write_handed_in(record(), tmp_path / "a.response.json")
    assert read_handed_in(path) == record()
    assert record().answers == {1: "D", 4: "-0.3"} == answers_after(STEPS)


def test_the_sum_is_sha_256_over_the_steps() -> None:
    """FIPS 180-4, written out here with Python's hashlib over head and steps in a row."""
    rows = [{"token": "4f21aa07", "form": "A", "student": "s-117", "pack": "ab" * 32}]
    rows += [{"at": s.at, "number": str(s.number), "answer": s.answer} for s in STEPS]
    last = "0" * 64
    for row in rows:
        last = hashlib.sha256((last + json.dumps(row, sort_keys=True)).encode()).hexdigest()
    assert record().sum == last


@pytest.mark.parametrize(
    ("was", "becomes"),
    [('"answer": "D"', '"answer": "C"'), ("s-117", "s-118"), ('"1": "D"', '"1": "C"'),
     ('"form": "A"', '"form": "B"'), ("09:03:00", "08:03:00"), ('"4": "-0.3"', '"4": "-0.4"')],
)  # fmt: skip
def test_an_edit_is_noticed(tmp_path: Path, was: str, becomes: str) -> None:
    """A changed answer, step, time, name or form: one line says so."""
    path = write_handed_in(record(), tmp_path / "a.response.json")
    text = path.read_text(encoding="utf-8")
    assert was in text
    path.write_text(text.replace(was, becomes, 1), encoding="utf-8")
    with pytest.raises(InputError, match=r"a\.response\.json: was changed") as caught:
        read_handed_in(path)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("content", [b"", b"{}", b"\xff\xfe", b'{"format": "x"}', b"[1]"])
def test_what_is_no_such_file_is_said_in_one_line(tmp_path: Path, content: bytes) -> None:
    """Empty, cut off, binary or foreign files never end in a traceback."""
    path = tmp_path / "a.response.json"
    path.write_bytes(content)
    with pytest.raises(InputError, match="is not a file of answers") as caught:
        read_handed_in(path)
    assert "\n" not in str(caught.value)
