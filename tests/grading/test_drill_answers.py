"""Answers from the drill: as they were given, and nothing in the file believed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from quizgen.base.errors import InputError
from quizgen.forms.handed_in import HandedIn, Step, hand_in, write_handed_in
from quizgen.grading.drill_answers import read_drill_answers
from tests.grading import graded

SET = graded.the_set()


def handed_in(*answers: str, student: str = "S-001", form: str = "A", token: str = "") -> HandedIn:
    """A record of answers given in turn."""
    steps = tuple(
        Step(at=f"2026-03-02T18:0{n}:00Z", number=n, answer=a) for n, a in enumerate(answers, 1)
    )
    return hand_in(token=token or SET.token, form=form, student=student, pack="p", steps=steps)


def test_answers_come_as_they_were_given(tmp_path: Path) -> None:
    """Letters, letters, an order, a figure; a question that was left out is blank."""
    path = write_handed_in(handed_in("B", "", "C A B D", "11.90"), tmp_path / "a.response.json")
    found = read_drill_answers(path, SET)
    assert (found.student, found.form, found.source.file) == ("S-001", "A", "a.response.json")
    assert [r.value for r in found.responses] == [("B",), "", tuple("CABD"), "11.9"]
    assert [r.state for r in found.responses][:2] == ["answered", "blank"]


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        (handed_in("B", token="other"), "answers another set than week-07"),
        (handed_in("B", student="S-999"), "no student 'S-999'"),
        (handed_in("B", form="Q"), "no form 'Q'"),
        (handed_in("B", "A", "", "", "A"), "has no question 5"),
        (handed_in("D"), "question 1: 'D': the options are A to C"),
        (handed_in("", "", "", "1e9"), "question 4: '1e9'"),
        (replace(handed_in("B"), student="S-003"), "was changed after"),
    ],
)
def test_a_file_that_cannot_be_is_one_line(tmp_path: Path, record: HandedIn, expected: str) -> None:
    """Whatever a student's computer sends, the answer is one clear sentence."""
    path = tmp_path / "a.response.json"
    path.write_bytes(msgspec.json.encode(record))
    with pytest.raises(InputError, match=expected) as caught:
        read_drill_answers(path, SET)
    assert str(caught.value).startswith(str(path))
