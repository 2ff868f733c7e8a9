"""`quizgen grade` with scans and `quizgen grade review`: from a picture to points."""

from __future__ import annotations

import csv
import random
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import click
import cv2
import pytest

from quizgen.cli import grade_review
from quizgen.forms.problem_set import write_problem_set
from quizgen.forms.sheet import lay_out_sheet
from quizgen.publish.sheet_svg import Bearer
from tests.grading import graded
from tests.grading.hands import a_writer, mark
from tests.grading.paper import Picture, printed

Run = Callable[..., Any]
SET = graded.the_set()
RIGHT = {1: "B", 2: "AC", 3: "CABD", 4: (" ", " ", "1", "1", "9")}


@cache
def sheet_of(student: str = "S-001", first: str = "B") -> Picture:
    """A filled sheet of form A. `first` are the circles filled of question 1."""
    sheet = lay_out_sheet(SET.forms[0].items)
    bearer = Bearer(form="A", token=SET.token, id=student, name="Ana Okoro")
    picture = printed(sheet, bearer).copy()
    writer = a_writer(random.Random(0))
    for row, target in sheet.targets:
        wanted = {**RIGHT, 1: first}[row.item]
        if target.value in (wanted if row.many or row.item == 1 else wanted[row.place]):
            mark(picture, target, "disc", writer)
    return picture


@pytest.fixture
def week(tmp_path: Path) -> Path:
    """The file of the small set."""
    return write_problem_set(SET, tmp_path / "week-07.instructor.json")


def scan(week: Path, name: str, student: str = "S-001", first: str = "B") -> str:
    """A scanned sheet beside the set."""
    path = week.with_name(name)
    cv2.imwrite(str(path), sheet_of(student, first))
    return str(path)


def doubts(quizgen: Run, week: Path) -> Any:
    """What is open, as data."""
    return quizgen("grade", "review", str(week), "--json").data


def test_a_clear_sheet_is_graded_and_nothing_is_open(quizgen: Run, week: Path) -> None:
    """Full points, and the same again changes nothing."""
    done = quizgen("grade", str(week), scan(week, "a.png"))
    assert (done.code, done.err) == (0, "")
    assert "4 of 4" in done.out
    assert doubts(quizgen, week) == []
    assert "nothing is open" in quizgen("grade", "review", str(week), "--list").out
    again = quizgen("grade", str(week), scan(week, "copy-of-a.png"))
    assert "1 as before" in again.out


def test_a_decision_changes_the_points_and_is_replayed(quizgen: Run, week: Path) -> None:
    """Two circles filled: pending; decided once, who and why in the trail, kept when re-read."""
    done = quizgen("grade", str(week), scan(week, "a.png", first="BC"))
    assert "3 of 4 (+1 pending)" in done.out
    assert "1 question about a scanned sheet waits for a person" in " ".join(done.out.split())
    (doubt,) = doubts(quizgen, week)
    assert (doubt["student"], doubt["question"], doubt["reason"]) == (
        "S-001", 1, "B and C are filled"
    )  # fmt: skip
    decided = quizgen(
        "grade", "review", str(week), "--decide", f"{doubt['id']}=b", "--why", "C is crossed out",
        "--who", "M. Lindqvist",
    )  # fmt: skip
    assert (decided.code, "1 decided" in decided.out, "4 of 4" in decided.out) == (0, True, True)
    events = quizgen("grade", "trail", str(week), "--json").data
    assert ("decided", "M. Lindqvist", "C is crossed out") in {
        (e["what"], e["who"], e["why"]) for e in events
    }
    again = quizgen("grade", str(week), scan(week, "again.png", first="BC"))
    assert "4 of 4" in again.out
    assert doubts(quizgen, week) == []
    changed = quizgen("grade", "review", str(week), "--decide", f"{doubt['id']}=C")
    assert "3 of 4" in changed.out


def test_decisions_come_back_in_the_table(quizgen: Run, week: Path) -> None:
    """Page and table are written; a wrong line decides nothing; a right one counts; the page
    needs nothing from elsewhere."""
    quizgen("grade", str(week), scan(week, "a.png", first="BC"))
    page = week.with_name("look.html")
    table = week.with_name("look.csv")
    assert quizgen("grade", "review", str(week), "--html", str(page)).code == 0
    html = page.read_text(encoding="utf-8")
    assert "data:image/png;base64," in html
    assert "<script" not in html
    assert "http" not in html.replace("http://www.w3.org", "")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8-sig").splitlines()))
    for answer, code in (("E", 2), ("B", 0)):
        rows[0] |= {"decision": answer, "why": "looked at it"}
        lines = [";".join(("id", "decision", "why"))]
        lines += [";".join((row["id"], row["decision"], row["why"])) for row in rows]
        table.write_text("\n".join(lines), encoding="utf-8")
        done = quizgen("grade", "review", str(week), "--from", str(table))
        assert done.code == code
        assert ("look.csv, line 2" in done.err) == (code == 2)
    assert "4 of 4" in done.out
    assert quizgen("grade", "review", str(week), "--from", str(page)).code == 2


def test_two_sheets_of_a_student_wait(quizgen: Run, week: Path) -> None:
    """What was graded first stays until somebody chooses; then the chosen sheet counts."""
    quizgen("grade", str(week), scan(week, "a.png"))
    done = quizgen("grade", str(week), scan(week, "b.png", first="C"))
    assert "no answers" in done.out
    (doubt,) = doubts(quizgen, week)
    assert "2 sheets of S-001: a.png, page 1, b.png, page 1" in doubt["reason"]
    chosen = quizgen("grade", "review", str(week), "--decide", f"{doubt['id']}=2")
    assert "3 of 4" in chosen.out


def test_decisions_in_the_terminal(
    quizgen: Run, week: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong answer is asked again; a decision counts at once, also when one stops after it."""
    quizgen("grade", str(week), scan(week, "a.png", first="BC"), scan(week, "n.png", student=""))
    typed: Iterator[str] = iter(("S-9", "S-003", "", "X", "b", "seen"))
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr(click, "prompt", lambda *_, **options: next(typed) or options["default"])
    monkeypatch.setattr(grade_review.sys.stdin, "isatty", lambda: True, raising=False)
    done = quizgen("grade", "review", str(week), "--who", "M. L.")
    assert done.code == 0, done.err
    assert "'S-9' is none of S-001 A, S-003 A" in done.out
    assert "'X': the options are A to C" in done.out
    assert "4 of 4" in done.out
    assert "S-003" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_files_that_are_no_scans_keep_no_other_from_being_read(quizgen: Run, week: Path) -> None:
    """A line for each, and the good sheet is graded."""
    contents = {
        "cut.pdf": b"%PDF-1.7", "zip.pdf": b"PK\x03\x04", "no.png": b"\x89PNG", "junk": bytes(50)
    }  # fmt: skip
    bad = []
    for name, content in contents.items():
        path = week.with_name(name)
        path.write_bytes(content)
        bad.append(str(path))
    done = quizgen("grade", str(week), *bad, scan(week, "a.png"))
    assert done.code == 2
    assert len(done.err.splitlines()) == len(bad)
    assert "4 of 4" in done.out
