"""A heap of files of any kind, sorted by what is in them, not by what they are called.

What is wrong with one file is one line (a CSV file's rows: one line each) and keeps no other file
from being read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from quizgen.base.errors import InputError, QuizgenError
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.csv_answers import read_csv_answers
from quizgen.grading.drill_answers import read_drill_answers
from quizgen.grading.responses import StudentResponses

Kind = Literal["scan", "drill", "csv"]

PDF = b"%PDF-"
PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*")  # PNG, JPEG, TIFF
WEBP = b"WEBP"  # from the ninth byte on
WIDE = (b"\xff\xfe", b"\xfe\xff")  # a text in UTF-16, which has its own line of what is wrong
HEAD = 1024  # bytes; a PDF's mark may stand that far inside
OTHERS = {
    b"PK\x03\x04": "is an archive or a spreadsheet's own file; save the table as CSV",
    b"\xd0\xcf\x11\xe0": "is an old spreadsheet's own file; save the table as CSV",
    b"GIF8": "is a GIF; scan to PDF, PNG or JPEG",
}
HEIC = b"ftyp"  # from the fifth byte on: what a telephone may save photographs as


@dataclass(frozen=True, kw_only=True)
class Read:
    """What a file gave: answers; what keeps some of it from being graded; remarks in passing."""

    students: tuple[StudentResponses, ...] = ()
    problems: tuple[QuizgenError, ...] = ()
    remarks: tuple[str, ...] = ()


ScanReader = Callable[[Sequence[Path]], Read]
"""Reads all scanned files of a heap together: sheets of a student may be in two of them."""


def kind_of(path: Path) -> Kind:
    """What sort of file it is, by its first bytes. Raises InputError for one that is of no use."""
    try:
        if path.is_dir():
            raise InputError(f"{path}: is a folder; name the files in it, such as {path}/*")
        with path.open("rb") as file:
            head = file.read(HEAD)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    if not head:
        raise InputError(f"{path}: is empty")
    for mark, problem in OTHERS.items():
        if head.startswith(mark):
            raise InputError(f"{path}: {problem}")
    if head[4:8] == HEIC:
        raise InputError(f"{path}: is a HEIC picture; set the telephone to JPEG")
    if head.startswith(PICTURES) or PDF in head or head[8:12] == WEBP:
        return "scan"
    if b"\0" in head and not head.startswith(WIDE):
        raise InputError(f"{path}: holds no answers; give CSV, PDF, PNG, JPEG or TIFF")
    return "drill" if head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{") else "csv"


def read_inputs(
    paths: Iterable[Path],
    problem_set: ProblemSet,
    read_scan: ScanReader,
    progress: Callable[[str], None] = lambda text: None,
) -> Read:
    """All answers in `paths`, scans last, and everything that is wrong with any of them.

    The same answers of a student twice are taken once; other answers of the same student in
    another file are a problem, and those of the first file stay.
    """
    students: dict[str, StudentResponses] = {}
    problems: list[QuizgenError] = []
    remarks: list[str] = []
    for found in _found(paths, problem_set, read_scan, progress):
        problems += found.problems
        remarks += found.remarks
        for given in found.students:
            first = students.setdefault(given.student, given)
            if (first.form, first.responses) != (given.form, given.responses):
                problems.append(InputError(
                    f"{given.source.file}: {given.student} has other answers in "
                    f"{first.source.file}; those are taken, grade this file alone to choose"
                ))  # fmt: skip
    remarks += _other_forms(problem_set, students.values())
    return Read(students=tuple(students.values()), problems=tuple(problems), remarks=tuple(remarks))


def _other_forms(problem_set: ProblemSet, given: Iterable[StudentResponses]) -> Iterator[str]:
    """Who answered another form than the roster gives: allowed, but worth a look."""
    seats = {student.id: student.form for student in problem_set.students}
    for answers in given:
        seat = seats.get(answers.student, "")
        if seat and seat != answers.form:
            yield (
                f"{answers.source.file}: {answers.student} answered form {answers.form}; the "
                f"roster says {seat}"
            )


def _found(
    paths: Iterable[Path],
    problem_set: ProblemSet,
    read_scan: ScanReader,
    progress: Callable[[str], None],
) -> Iterator[Read]:
    """What each file gave, and then all scans."""
    scans: list[Path] = []
    for path in dict.fromkeys(paths):
        progress(path.name)
        try:
            kind = kind_of(path)
            if kind == "scan":
                scans.append(path)
            else:
                yield _read(path, kind, problem_set)
        except QuizgenError as error:
            yield Read(problems=(error,))
    if scans:
        try:
            found = read_scan(scans)
        except QuizgenError as error:
            found = Read(problems=(error,))
        yield found


def _read(path: Path, kind: Kind, problem_set: ProblemSet) -> Read:
    if kind == "drill":
        return Read(students=(read_drill_answers(path, problem_set),))
    found = read_csv_answers(path, problem_set)
    remarks = [f"{path.name}: column {name!r} is not read" for name in found.unread]
    if found.absent:
        remarks.append(
            f"{path.name}: no answers of {', '.join(found.absent)}, taken as not handed in; "
            'write "-" into a cell for a sheet handed in blank'
        )
    if found.short:
        remarks.append(
            f"{path.name}: line {', '.join(map(str, found.short))} ends before the last question; "
            "what is missing counts as left blank. Is the file whole?"
        )
    return Read(students=found.students, problems=found.problems, remarks=tuple(remarks))
