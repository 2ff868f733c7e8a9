"""Typed answers: what does not matter is tolerated, what does is refused with its place."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.grading.answer_text import read_answer
from quizgen.grading.csv_answers import AnswerFile, read_csv_answers
from quizgen.grading.responses import StudentResponses
from tests.grading import graded

SET = graded.the_set()
PLAIN = "id,form,1,2,3,4\nS-001,A,B,A C,C A B D,11.9\nS-002,B,a,,,\n"
VALUES = ("B",), ("A", "C"), ("C", "A", "B", "D"), "11.9"


def read(tmp_path: Path, content: str | bytes) -> AnswerFile:
    """The answers in a file of this content."""
    path = tmp_path / "answers.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_csv_answers(path, SET)


def values(student: StudentResponses) -> tuple[object, ...]:
    """The answers alone."""
    return tuple(r.value for r in student.responses)


@pytest.mark.parametrize(
    "content",
    [
        PLAIN,
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace("\n", "\r\n"),
        PLAIN.replace("\n", "\n\n ,,\n"),
        "\ufeff" + PLAIN,
        "sep=;\n" + PLAIN.replace(",", ";"),
        PLAIN.encode("utf-16"),
        ("name," + PLAIN).replace("\nS", "\nJosé,S").encode("cp1252"),
        'form,4,3,2,1,ID,Remark\na,"11,9 V","c,a,b,d",ca, b ,s-001,"said, ""twice"""\n'
        "B,,,,A,S-002,\n",
        "Student ID;Question 1;question 2;Q3;q 4.\nS-001;b;ac;CABD;11,9 V\nS-002;A;-;;–\n",
        "student_id,1,2,3,4\nS-001,(B),C + A,c>a>b>d,11900 mV\nS-002,A,,,\n",
    ],
)
def test_the_same_answers_however_they_are_written(tmp_path: Path, content: str | bytes) -> None:
    """Separator, line ends, encoding, order of columns, case, blanks and units are no matter."""
    found = read(tmp_path, content)
    assert found.problems == ()
    first, second = found.students
    assert (first.student, first.form, values(first)) == ("S-001", "A", VALUES)
    assert (second.student, second.form, values(second)) == ("S-002", "B", (("A",), "", "", ""))
    assert [r.state for r in second.responses] == ["answered", "blank", "blank", "blank"]


def test_columns_that_are_not_read_are_named(tmp_path: Path) -> None:
    """Nobody has to guess whether a column counted."""
    found = read(tmp_path, "id,Remark,1,2,3,4\nS-001,late,B,A,,\n")
    assert found.unread == ("Remark",)


def test_a_row_without_any_answer_is_somebody_absent(tmp_path: Path) -> None:
    """Not nought of four; a dash says that a sheet was handed in blank."""
    found = read(tmp_path, "id,1,2,3,4\nS-001,,,,\nS-002,-,,,\n")
    assert found.absent == ("S-001",)
    assert [s.student for s in found.students] == ["S-002"]
    assert [r.state for r in found.students[0].responses] == ["blank"] * 4


def test_case_counts_where_two_ids_differ_in_it_alone(tmp_path: Path) -> None:
    """Exactly written ids are always found; a third way to write them is nobody's."""
    two = graded.the_set(
        students=[graded.Student(id=i, name=i, form="A") for i in ("ab", "AB", "c")]
    )
    path = tmp_path / "answers.csv"
    path.write_text("id,1,2,3,4\nAB,B,,,\nab,A,,,\nC,C,,,\n", encoding="utf-8")
    assert [s.student for s in read_csv_answers(path, two).students] == ["AB", "ab", "c"]
    path.write_text("id,1,2,3,4\nAb,B,,,\n", encoding="utf-8")
    assert "no student 'Ab'" in str(read_csv_answers(path, two).problems[0])


@pytest.mark.parametrize("typed", ["11.9v", "11,9 Volts", "0.0119 kV", "11900mv", "+11.9"])
def test_units_are_known_by_their_names(typed: str) -> None:
    """In words, in small letters, with a prefix."""
    assert read_answer(typed, graded.number(), 4).value == "11.9"


def test_an_order_may_have_empty_places(tmp_path: Path) -> None:
    """A dash holds the place of a part that was not placed."""
    assert read_answer("C - B D", graded.order(), 3).value == ("C", "", "B", "D")


@pytest.mark.parametrize(
    ("content", "line", "expected"),
    [
        ("id,1,2,3,4\nS-009,B,,,\n", 2, "no student 'S-009'"),
        ("id,1,2,3,4\n,B,,,\n", 2, "every row needs an id"),
        ("id,1,2,3,4\nS-001,B,,,\ns-001,B,,,\n", 3, "S-001 is already on line 2"),
        ("id,form,1,2,3,4\nS-001,C,B,,,\n", 2, "no form 'C'"),
        ("id,1,2,3,4\nS-001,BC,,,\n", 2, "this question takes one letter"),
        ("id,1,2,3,4\nS-001,D,,,\n", 2, "the options are A to C"),
        ("id,1,2,3,4\nS-001,,AA,,\n", 2, "a letter twice"),
        ("id,1,2,3,4\nS-001,,,CAB,\n", 2, "all 4 letters in order"),
        ("id,1,2,3,4\nS-001,,,,12 A\n", 2, "the question asks for V"),
        ('id,1,2,3,4\nS-001,,,,"1,200"\n', 2, "thousands or decimals"),
        ("id,1,2,3,4\nS-001,,,,=12\n", 2, "is no number"),
        ("id,1,2,3,4\nS-001,B,,,11,9\n", 2, "quotes"),
        ("id,1,2,3\nS-001,B,,\n", 1, "no column for question 4"),
        ("id,1,2,3,4,q5\nS-001,B,,,,\n", 1, "the set has questions 1 to 4"),
        ("id,1,1,2,3,4\nS-001,B,,,,\n", 1, "two columns for question 1"),
        ("nmae,1,2,3,4\nS-001,B,,,\n", 1, "no column id"),
        ("id,1,2,3,4\n", 1, "no student follows"),
        ('id,1,2,3,4\nS-001,"B,,,\n' + "x" * 200_000, 1, "is no row"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(
    tmp_path: Path, content: str, line: int, expected: str
) -> None:
    """One line: file, line, column, what; and no answers from a file with anything wrong."""
    found = read(tmp_path, content)
    assert found.students == ()
    (problem,) = found.problems
    assert expected in str(problem)
    assert "\n" not in str(problem)
    assert problem.place.line >= line


def test_all_problems_are_listed_at_once(tmp_path: Path) -> None:
    """Three mistakes in three rows are three lines; the good row is not taken either."""
    content = "id,1,2,3,4\nS-001,B,A,,\nS-009,B,,,\nS-002,Z,,,\nS-003,B,,,twelve\n"
    found = read(tmp_path, content)
    assert [p.place.line for p in found.problems] == [3, 4, 5]
    assert [p.place.field for p in found.problems] == ["column 1", "column 2", "column 5"]
    assert found.students == ()


@pytest.mark.parametrize("content", [b"", b"  \n", b"PK\x03\x04\x00\x00", b"\x81\x8d\xff"])
def test_what_is_no_text_is_one_clear_error(tmp_path: Path, content: bytes) -> None:
    """An empty file, an archive under another name, bytes of no encoding."""
    with pytest.raises(InputError, match=r"answers\.csv: is (empty|not a text file)"):
        read(tmp_path, content)


def test_a_form_of_its_own_goes_with_its_student(tmp_path: Path) -> None:
    """Where each student has a form, another student's is refused."""
    own = graded.the_set()
    forms = tuple(
        graded.Form(code=f.code, items=f.items, student=s.name)
        for f, s in zip(own.forms, own.students, strict=False)
    )
    own = graded.ProblemSet(**{**vars(own), "forms": forms})
    path = tmp_path / "answers.csv"
    path.write_text("id,form,1,2,3,4\nS-001,B,B,,,\n", encoding="utf-8")
    (problem,) = read_csv_answers(path, own).problems
    assert "belongs to another student" in str(problem)


@given(st.binary(max_size=400))
def test_no_bytes_make_a_traceback(content: bytes) -> None:
    """Whatever a file holds, there are answers, problems, or one error of the family."""
    path = Path("/nowhere/answers.csv")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("quizgen.grading.csv_answers._bytes", lambda path: content)
        try:
            found = read_csv_answers(path, SET)
        except InputError:
            return
    assert found.students or found.problems or found.absent


@given(
    st.lists(
        st.sampled_from(["B", "a c", "CABD", "11,9 V", "", "-", "Z", '"', "=1+1", "\u2212.5"]),
        min_size=4, max_size=4,
    )
)  # fmt: skip
def test_a_cell_means_the_same_in_any_dialect(cells: list[str]) -> None:
    """What a spreadsheet writes with commas, semicolons or tabs reads the same."""
    outcomes = []
    for delimiter in ",;\t":
        text = io.StringIO()
        table = csv.writer(text, delimiter=delimiter)
        table.writerows([["id", 1, 2, 3, 4], ["S-001", *cells]])
        with pytest.MonkeyPatch.context() as patch:
            content = text.getvalue().encode()
            patch.setattr("quizgen.grading.csv_answers._bytes", lambda path, c=content: c)
            found = read_csv_answers(Path("answers.csv"), SET)
        students = [values(s) for s in found.students]
        outcomes.append((students, [str(p) for p in found.problems]))
    assert outcomes[0] == outcomes[1] == outcomes[2]
