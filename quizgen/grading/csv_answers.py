"""Answers in a CSV file: a row for each student, a column for each question.

    id;form;1;2;3;4
    S-001;A;b;A C;C A B D;11,9 V

Columns in any order, separated by commas, semicolons or tabs; a question's column is called
"3", "Q3" or "question 3". `form` may be left out where the roster says it. Columns without a
number in their name are not read.

A row without any answer is somebody who handed nothing in; "-" in a cell is an answer left blank.

All that is wrong with a file is listed, and a file with anything wrong gives no answers at all:
half a class graded is worse than none.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.suggest import shown, suggest
from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.grading.answer_text import plain, read_answer
from quizgen.grading.responses import Response, Source, StudentResponses

Thing = TypeVar("Thing")

MOST_BYTES = 20_000_000
MOST_HINTS = 20
ID_NAMES = ("id", "student", "student id", "student number")
FORM = "form"
_QUESTION = re.compile(r"(?:q|question|problem|item|no|nr)?[\s.#]*0*(\d{1,4})\.?")
_SEPARATORS = ",;\t"
_SEP_LINE = re.compile(r"sep=(.)\s*", re.IGNORECASE)  # how spreadsheets name their separator


@dataclass(frozen=True)
class AnswerFile:
    """What a file holds: the answers of `students`, or all its `problems`.

    `absent` have a row without any answer; `unread` are columns; `short` are lines that end before
    the last question.
    """

    students: tuple[StudentResponses, ...] = ()
    problems: tuple[FileError, ...] = ()
    unread: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    short: tuple[int, ...] = ()


@dataclass(frozen=True)
class _Columns:
    student: int
    form: int | None
    questions: dict[int, int]  # number → column
    width: int


def read_csv_answers(path: Path, problem_set: ProblemSet) -> AnswerFile:
    """The answers in a CSV file.

    Raises InputError when the file cannot be read as text; what is wrong inside is in
    `AnswerFile.problems`.
    """
    content = _bytes(path)
    try:
        rows = list(_rows(path, _decoded(path, content)))
        if not rows:
            raise InputError(f"{path}: is empty; expected a line of column names, then students")
        columns, unread = _header(path, rows[0], problem_set)
    except FileError as error:
        return AnswerFile(problems=(error,))
    source = Source(file=path.name, digest=hashlib.sha256(content).hexdigest())
    reader = _Reader(path, problem_set, columns, source)
    students = [reader.student(line, row) for line, row in rows[1:]]
    if not students:
        return AnswerFile(problems=(FileError(Place(path, rows[0][0]), "no student follows"),))
    if reader.problems:
        return AnswerFile(problems=tuple(reader.problems), unread=unread)
    found = tuple(s for s in students if s is not None)
    return AnswerFile(found, unread=unread, absent=tuple(reader.absent), short=tuple(reader.short))


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{path}: is larger than {MOST_BYTES // 1_000_000} MB")
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None


def _decoded(path: Path, content: bytes) -> str:
    """UTF-8, UTF-16 with its mark, or else the western code page of older spreadsheets."""
    marked = content[:2] in (b"\xff\xfe", b"\xfe\xff")
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise InputError(f"{path}: is not a text file; save the table as CSV UTF-8")


def _rows(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every row that is not blank."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    told = _SEP_LINE.fullmatch(first)
    bare = re.sub(r'"[^"]*"', "", first)
    separator = told.group(1) if told else max(_SEPARATORS, key=bare.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for row in reader:
            blank = not any(cell.strip() for cell in row)
            if blank or (told and reader.line_num == 1 and _SEP_LINE.fullmatch(first)):
                continue
            yield reader.line_num, row
    except csv.Error as error:
        raise FileError(Place(path, reader.line_num), f"is no row of a CSV file: {error}") from None


def _header(
    path: Path, first: tuple[int, list[str]], problem_set: ProblemSet
) -> tuple[_Columns, tuple[str, ...]]:
    """Which column is which, and those that are not read. Raises FileError."""
    line, cells = first
    names = [" ".join(plain(cell).casefold().replace("_", " ").split()) for cell in cells]
    student = _one(path, line, names, ID_NAMES)
    if student is None:
        raise FileError(Place(path, line), f"no column id for the students{suggest('id', names)}")
    form = _one(path, line, names, (FORM,))
    questions: dict[int, int] = {}
    last = max(len(f.items) for f in problem_set.forms)
    for column, name in enumerate(names):
        match = _QUESTION.fullmatch(name)
        if not match:
            continue
        number = int(match.group(1))
        if not 1 <= number <= last:
            raise FileError(
                Place(path, line, f"column {column + 1}"),
                f"{shown(cells[column])}: the set has questions 1 to {last}",
            )
        if number in questions:
            raise FileError(Place(path, line), f"two columns for question {number}")
        questions[number] = column
    missing = [str(n) for n in range(1, last + 1) if n not in questions]
    if missing:
        raise FileError(Place(path, line), f"no column for question {', '.join(missing)}")
    used = {student, form, *questions.values()}
    unread = tuple(cells[i].strip() for i in range(len(cells)) if i not in used and names[i])
    return _Columns(student, form, questions, len(cells)), unread


def _one(path: Path, line: int, names: Sequence[str], wanted: Sequence[str]) -> int | None:
    """The column that has one of the names `wanted`; None where there is none."""
    found = [i for i, name in enumerate(names) if name in wanted]
    if len(found) > 1:
        raise FileError(Place(path, line), f"two columns called {names[found[0]]}")
    return found[0] if found else None


class _Reader:
    """Reads the rows of one file and collects what is wrong with them."""

    def __init__(
        self, path: Path, problem_set: ProblemSet, columns: _Columns, source: Source
    ) -> None:
        self.path, self.columns, self.source = path, columns, source
        self.students = {s.id: s for s in problem_set.students}
        self.forms = {f.code: f for f in problem_set.forms}
        self.seen: dict[str, int] = {}
        self.problems: list[FileError] = []
        self.absent: list[str] = []
        self.short: list[int] = []

    def student(self, line: int, row: Sequence[str]) -> StudentResponses | None:
        """The answers in a row; None where something is wrong with it or there are none."""
        before = len(self.problems)
        cells = dict(enumerate(row))
        student = self._student(line, plain(cells.get(self.columns.student, "")))
        form = self._form(line, cells, student)
        self._rest(line, row)
        if form is None:
            return None
        responses = tuple(self._responses(line, cells, form))
        if len(self.problems) > before:
            return None
        if not any(plain(cells.get(column, "")) for column in self.columns.questions.values()):
            self.absent.append(student)
            return None
        if len(row) <= max(self.columns.questions[n] for n in range(1, len(form.items) + 1)):
            self.short.append(line)
        source = Source(file=self.source.file, digest=self.source.digest, place=line)
        return StudentResponses(student=student, form=form.code, source=source, responses=responses)

    def _student(self, line: int, typed: str) -> str:
        """The id of a known student, or "" with a problem noted."""
        if not typed:
            self._note(line, self.columns.student, "no student; every row needs an id")
            return ""
        known = _named(self.students, typed)
        if known is None:
            # looking for near ones takes long, and in a wrong list all are far
            hint = suggest(typed, self.students) if len(self.problems) < MOST_HINTS else ""
            self._note(line, self.columns.student, f"no student {shown(typed)}{hint}")
            return ""
        earlier = self.seen.setdefault(known.id, line)
        if earlier != line:
            self._note(line, self.columns.student, f"{known.id} is already on line {earlier}")
        return known.id

    def _form(self, line: int, cells: dict[int, str], student: str) -> Form | None:
        """The form that the row says, or else the roster."""
        column = self.columns.form
        typed = plain(cells.get(column, "")) if column is not None else ""
        seat = self.students[student].form if student else ""
        code = typed or seat
        if not code:
            if student:
                self._note(line, column, f"no form for {student}; add a column form")
            return None
        form = _named(self.forms, code)
        if form is None:
            self._note(line, column, f"no form {shown(code)}{suggest(code, self.forms)}")
        elif form.student and student and form.code != seat:
            self._note(line, column, f"form {form.code} belongs to another student than {student}")
        return form

    def _responses(self, line: int, cells: dict[int, str], form: Form) -> Iterator[Response]:
        for number, item in enumerate(form.items, 1):
            column = self.columns.questions[number]
            try:
                yield read_answer(cells.get(column, ""), item, number)
            except InputError as error:
                self._note(line, column, f"question {number}: {error}")
        for number, column in self.columns.questions.items():
            if number > len(form.items) and plain(cells.get(column, "")):
                self._note(line, column, f"form {form.code} has no question {number}")

    def _rest(self, line: int, row: Sequence[str]) -> None:
        """Cells behind the last column, such as half of a figure with a decimal comma."""
        width = self.columns.width
        surplus = [plain(cell) for cell in row[width:] if cell.strip()]
        if surplus:
            self._note(
                line, width,
                f"{shown(surplus[0])} stands behind the last column; a figure with a decimal "
                "comma needs quotes around it",
            )  # fmt: skip

    def _note(self, line: int, column: int | None, problem: str) -> None:
        field = f"column {column + 1}" if column is not None else ""
        self.problems.append(FileError(Place(self.path, line, field), problem))


def _named(things: Mapping[str, Thing], typed: str) -> Thing | None:
    """The one called `typed`, else the only one called so in capitals or not."""
    if typed in things:
        return things[typed]
    alike = [thing for name, thing in things.items() if name.casefold() == typed.casefold()]
    return alike[0] if len(alike) == 1 else None
