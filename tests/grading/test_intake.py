"""Files are known by what is in them, and one that is of no use keeps no other from being read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from quizgen.base.errors import InputError, OutsideError
from quizgen.grading.intake import Read, kind_of, read_inputs
from tests.grading import graded

SET = graded.the_set()


def file(folder: Path, name: str, content: bytes) -> Path:
    """A file of this content."""
    path = folder / name
    path.write_bytes(content)
    return path


@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("answers.pdf", b"id,1,2\n", "csv"),
        ("answers.csv", b"%PDF-1.7\n", "scan"),
        ("mail.txt", b"\n\n%PDF-1.4\n", "scan"),
        ("photo", b"\xff\xd8\xff\xe0", "scan"),
        ("x.csv", b"\x89PNG\r\n", "scan"),
        ("x", b' \n{"format": 1}', "drill"),
        ("x", b'\xef\xbb\xbf{"format": 1}', "drill"),
        ("x", "id;1\n".encode("utf-16"), "csv"),
    ],
)
def test_a_file_is_what_its_first_bytes_say(
    tmp_path: Path, name: str, content: bytes, expected: str
) -> None:
    """Whatever it is called."""
    assert kind_of(file(tmp_path, name, content)) == expected


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04", "save the table as CSV"),
        (b"\xd0\xcf\x11\xe0\xa1", "save the table as CSV"),
        (b"GIF89a", "is a GIF"),
        (b"\0\0\0\x18ftypheic", "set the telephone to JPEG"),
    ],
)
def test_what_is_of_no_use_says_what_to_do(tmp_path: Path, content: bytes, expected: str) -> None:
    """One line with the file's name."""
    path = file(tmp_path, "x.bin", content)
    with pytest.raises(InputError, match=expected) as caught:
        kind_of(path)
    assert str(caught.value).startswith(str(path))


def test_whatever_fails_the_other_files_are_read(tmp_path: Path) -> None:
    """A folder, nothing, an archive, scans that fail as a whole: the table counts all the same."""

    def failing(paths: Sequence[Path]) -> Read:
        raise OutsideError("the scanner's disk is full")

    paths = [
        tmp_path,
        tmp_path / "none.csv",
        file(tmp_path, "a.zip", b"PK\x03\x04"),
        file(tmp_path, "scan.pdf", b"%PDF-1.7"),
        file(tmp_path, "good.csv", b"id,1,2,3,4\nS-001,B,,,\n"),
    ]
    found = read_inputs(paths, SET, failing)
    assert [s.student for s in found.students] == ["S-001"]
    assert len(found.problems) == 4


def test_a_row_that_ends_early_is_graded_and_told(tmp_path: Path) -> None:
    """It may be a row typed without its last blanks, or what a broken copy left of the file."""
    cut = read_inputs([file(tmp_path, "a.csv", b"id,1,2,3,4\nS-001,B\n")], SET, lambda _: Read())
    whole = read_inputs(
        [file(tmp_path, "b.csv", b"id,1,2,3,4\nS-001,B,,,\n")], SET, lambda _: Read()
    )
    assert [s.responses for s in cut.students] == [s.responses for s in whole.students]
    assert [r for r in cut.remarks if "line 2 ends before the last question" in r]
    assert not [r for r in whole.remarks if "ends before" in r]


def test_the_same_answers_in_two_files_are_taken_once(tmp_path: Path) -> None:
    """A copy is no problem; other answers are, and the first ones stay."""
    content = b"id,1,2,3,4\nS-001,B,,,\n"
    same = [file(tmp_path, name, content) for name in ("a.csv", "b.csv")]
    other = file(tmp_path, "c.csv", content.replace(b"B", b"C"))
    found = read_inputs([*same, same[0], other], SET, lambda paths: Read())
    assert [s.responses[0].value for s in found.students] == [("B",)]
    (problem,) = found.problems
    assert "c.csv: S-001 has other answers in a.csv" in str(problem)
