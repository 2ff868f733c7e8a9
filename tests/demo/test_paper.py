"""Sheets that simulated hands filled in are read as they were meant, or put in doubt."""

from __future__ import annotations

import random
from pathlib import Path

from quizgen.demo.paper import scan_of
from quizgen.forms.sheet import lay_out_sheet
from quizgen.grading.answer_text import answer_text, read_answer
from quizgen.grading.scans import read_scans
from quizgen.publish.documents import write_sheets
from quizgen.publish.sheet_svg import Bearer
from tests.grading.graded import the_set
from tests.publish.samples import HEADING

ANSWERS = (
    {1: "B", 2: "A C", 3: "C A B D", 4: "-11.9"},
    {1: "C", 2: "", 3: "A B C D", 4: "0.4"},
    {1: "", 2: "B C D", 3: "D C B A", 4: "137.0"},
)


def test_sheets_are_read_as_they_were_meant(tmp_path: Path) -> None:
    """All ways to answer, minus signs and empty rows among them."""
    problem_set = the_set()
    form = problem_set.forms[0]
    sheet = lay_out_sheet(form.items)
    bearers = [Bearer(form=form.code, token=problem_set.token, id=s.id, name=s.name)
               for s in problem_set.students if s.form == form.code][: len(ANSWERS)]  # fmt: skip
    write_sheets(HEADING, [(sheet, b) for b in bearers], tmp_path / "sheets.pdf")
    filled = [(page, sheet, form.items, ANSWERS[page]) for page in range(len(bearers))]
    scan = scan_of(tmp_path / "sheets.pdf", filled, tmp_path / "scans.pdf", random.Random(5))
    found = read_scans([scan], problem_set)
    assert not found.problems
    assert len(found.readings) == len(bearers)
    by_student = {reading.bearer.student: reading for reading in found.readings if reading.bearer}
    certain = 0
    for bearer, answers in zip(bearers, ANSWERS, strict=False):
        for response in by_student[bearer.id].forms[0].responses:
            meant = read_answer(answers[response.item], form.items[response.item - 1], 1)
            if response.state != "doubtful":
                certain += 1
                assert answer_text(response) == answer_text(meant)
    assert certain >= 4 * len(bearers) - 2
