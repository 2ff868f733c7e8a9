"""`quizgen grade`: what is printed, what is kept, how it ends."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import msgspec
import pytest

from quizgen.forms.handed_in import Step, hand_in, write_handed_in
from quizgen.forms.problem_set import write_problem_set
from tests.grading import graded

Run = Callable[..., Any]
SET = graded.the_set()
GOOD = "id;1;2;3;4\ns-001;b;ac;cabd;11,9 V\nS-002;a;;;\n"


@pytest.fixture
def week(tmp_path: Path) -> Path:
    """The file of the small set."""
    return write_problem_set(SET, tmp_path / "week-07.instructor.json")


def answers(week: Path, content: str | bytes, name: str = "answers.csv") -> str:
    """A file beside the set."""
    path = week.with_name(name)
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)


def test_answers_are_scored_and_kept_beside_the_set(quizgen: Run, week: Path) -> None:
    """A line for each student, who is missing, and nothing on the error stream."""
    done = quizgen("grade", str(week), answers(week, GOOD))
    assert (done.code, done.err) == (0, "")
    assert "4 of 4" in done.out
    assert "0 of 4" in done.out
    assert "2 new; the store has results of 2 students" in done.out
    assert "nothing yet from S-003, S-004" in done.out
    assert week.with_name("grades.sqlite").is_file()
    again = quizgen("grade", "score", str(week), answers(week, GOOD))
    assert "2 as before" in again.out


def test_each_thing_that_is_wrong_is_a_line_and_the_rest_is_graded(
    quizgen: Run, week: Path
) -> None:
    """Two bad rows, an archive under a wrong name, nothing, a folder: the good file counts."""
    bad = answers(week, "id,1,2,3,4\nS-009,B,,,\nS-003,Z,,,\n", "bad.csv")
    archive = answers(week, b"PK\x03\x04rest", "scan.pdf")
    empty = answers(week, b"", "empty.csv")
    good = answers(week, GOOD)
    folder = str(week.parent)
    done = quizgen("grade", str(week), bad, archive, empty, folder, good)
    assert done.code == 2
    assert "2 new; the store has results of 2 students" in done.out
    lines = done.err.splitlines()
    assert len(lines) == 5
    assert "bad.csv, line 2, column 1: no student 'S-009'" in lines[0]
    assert "bad.csv, line 3, column 2: question 1: 'Z'" in lines[1]
    assert "scan.pdf: is an archive" in lines[2]
    assert "empty.csv: is empty" in lines[3]
    assert "is a folder" in lines[4]


def test_other_answers_are_not_taken_unasked(quizgen: Run, week: Path) -> None:
    """Code 3 and where the kept ones are from; --replace takes the new ones."""
    quizgen("grade", str(week), answers(week, GOOD))
    other = answers(week, GOOD.replace("s-001;b", "s-001;c"), "other.csv")
    done = quizgen("grade", str(week), other)
    assert done.code == 3
    assert "already has other answers, from answers.csv, 2" in " ".join(done.out.split())
    taken = quizgen("grade", str(week), other, "--replace", "--who", "xy")
    assert (taken.code, "1 replaced" in taken.out) == (0, True)
    events = quizgen("grade", "trail", str(week), "--json").data
    assert (events[-1]["who"], events[-1]["before"]) == ("xy", "4 of 4")


def test_two_files_that_disagree_about_a_student(quizgen: Run, week: Path) -> None:
    """In one batch the first one counts and the second is named."""
    first = answers(week, GOOD)
    steps = (Step(at="2026-03-02T18:00:00Z", number=1, answer="C"),)
    record = hand_in(token=SET.token, form="A", student="S-001", pack="p", steps=steps)
    second = write_handed_in(record, week.with_name("s.response.json"))
    done = quizgen("grade", str(week), first, str(second))
    assert done.code == 2
    assert "S-001 has other answers in answers.csv" in done.err
    assert "4 of 4" in done.out


def test_results_come_as_data(quizgen: Run, week: Path) -> None:
    """With --json one document, also when something is wrong."""
    done = quizgen("grade", str(week), answers(week, GOOD), "missing.csv", "--json")
    assert done.code == 2
    first = done.data["students"][0]
    assert (first["student"], first["points"], first["out_of"]) == ("S-001", 4.0, 4)
    assert first["marks"][0] == {"question": 1, "verdict": "right", "points": 1.0}
    assert "missing.csv: cannot be read" in done.data["problems"][0]


def test_a_changed_key_lists_whom_it_changes(quizgen: Run, week: Path) -> None:
    """Before and now; the same again changes nothing; the trail has who and why."""
    quizgen("grade", str(week), answers(week, GOOD))
    change = (
        "grade",
        "amend",
        str(week),
        "--item",
        "a/1",
        "--key",
        "c",
        "--why",
        "x",
        "--who",
        "y",
    )
    done = quizgen(*change)
    assert done.code == 0
    assert "4 of 4  3 of 4" in done.out
    assert "no result changes" in quizgen(*change).out
    assert "amended" in quizgen("grade", "trail", str(week)).out
    own = quizgen("grade", "trail", str(week), "--student", "S-001", "--json").data
    assert [event["what"] for event in own] == ["graded", "scored anew"]
    assert "no student 'S-9'" in quizgen("grade", "trail", str(week), "--student", "S-9").err
    back = quizgen(
        "grade", "amend", str(week), "--item", "A/1", "--restore", "--why", "x", "--who", "y",
        "--json",
    )  # fmt: skip
    assert back.data[0]["after"] == 4.0


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (("--item", "A/1"), "write --item FORM/N with one of"),
        (("--key", "B"), "write --item FORM/N with one of"),
        (("--item", "A/1", "--withdraw", "--restore"), "with one of"),
        (("--item", "A/1", "--all-or-nothing"), "with one of"),
        (("--item", "Q/1", "--withdraw"), "no form 'Q'"),
        (("--item", "A/1", "--key", "ZZ"), "the options are A to C"),
    ],
)
def test_a_change_that_makes_no_sense_changes_nothing(
    quizgen: Run, week: Path, options: tuple[str, ...], expected: str
) -> None:
    """Code 2, one line, and the store keeps every byte."""
    quizgen("grade", str(week), answers(week, GOOD))
    path = week.with_name("grades.sqlite")
    before = hashlib.sha256(path.read_bytes()).digest()
    done = quizgen("grade", "amend", str(week), *options, "--why", "x", "--who", "y")
    assert done.code == 2
    assert expected in done.err
    assert done.err.count("\n") == 1
    assert hashlib.sha256(path.read_bytes()).digest() == before


def test_a_key_can_be_changed_before_anything_is_graded(quizgen: Run, week: Path) -> None:
    """Found in the lesson: it counts from the first answer on. A wrong one makes no store."""
    said = ("--item", "A/1", "--why", "x", "--who", "y")
    assert quizgen("grade", "amend", str(week), *said, "--key", "Z").code == 2
    assert not week.with_name("grades.sqlite").exists()
    assert "no result changes" in quizgen("grade", "amend", str(week), *said, "--withdraw").out
    assert "3 of 3" in quizgen("grade", str(week), answers(week, GOOD)).out


def test_a_set_whose_name_is_a_path_writes_nothing(quizgen: Run, tmp_path: Path) -> None:
    """A set may come from somebody else; its reports stay in the folder that was named."""
    path = write_problem_set(replace(SET, name="../out"), tmp_path / "s.json")
    done = quizgen("grade", "report", str(path), "--out", str(tmp_path / "reports"))
    assert done.code == 2
    assert "is no name for files" in done.err


def test_nothing_graded_is_said(quizgen: Run, week: Path) -> None:
    """A trail without a store is one line, not an empty store."""
    done = quizgen("grade", "trail", str(week))
    assert done.code == 2
    assert "grade answers first" in done.err
    assert not week.with_name("grades.sqlite").exists()


def test_another_version_of_the_set_is_one_line(quizgen: Run, week: Path) -> None:
    """Answers to other questions under the same name are not mixed."""
    quizgen("grade", str(week), answers(week, GOOD))
    other = graded.the_set([graded.several(), graded.one(), graded.order(), graded.number()])
    week.write_bytes(msgspec.json.encode(other))
    table = answers(week, "id,1,2,3,4\nS-003,A,,,\n")
    for command in (("grade", str(week), table), ("grade", "report", str(week), "--json"),
                    ("grade", "export", str(week), "--csv", table)):  # fmt: skip
        done = quizgen(*command)
        assert done.code == 2
        assert "another version of this set" in done.err


def test_the_form_that_was_answered_counts_and_is_named(quizgen: Run, week: Path) -> None:
    """Another form than the roster's is scored as said, with a remark."""
    done = quizgen("grade", str(week), answers(week, "id,form,1,2,3,4\nS-001,B,B,,,\n"))
    assert done.code == 0
    assert "S-001 answered form B; the roster says A" in done.out


def test_reports_and_exports_come_from_what_was_graded(
    quizgen: Run, week: Path, tmp_path: Path
) -> None:
    """Nothing before; then figures as data, files that are named, and a table."""
    assert "grade answers first" in quizgen("grade", "report", str(week)).err
    quizgen("grade", str(week), answers(week, GOOD))
    figures = quizgen("grade", "report", str(week), "--json").data
    assert figures["students"] == 2
    assert [q["p"] for q in figures["places"]] == [0.5, 0.5, 0.5, 0.5]
    done = quizgen("grade", "report", str(week), "--student", "S-001", "--out", str(tmp_path / "r"))
    assert [Path(line).name for line in done.out.split()] == ["S-001.html", "S-001.pdf"]
    assert "did you mean S-002" in quizgen("grade", "report", str(week), "--student", "S-02").err
    table = tmp_path / "results.csv"
    quizgen("grade", "export", str(week), "--csv", str(table))
    assert table.read_text(encoding="utf-8-sig").startswith("id,name,form,points")
    done = quizgen("grade", "export", str(week), "--oneroster", str(tmp_path / "r.zip"))
    assert (done.code, "--school" in done.err) == (2, True)
