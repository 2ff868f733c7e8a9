"""A class list: what is read, who gets which form, and what is wrong with it in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizgen.base.errors import InputError
from quizgen.forms.roster import Student, read_roster, seated


def written(folder: Path, text: str) -> Path:
    """A roster file."""
    path = folder / "roster.csv"
    path.write_bytes(text.encode("utf-8"))
    return path


@pytest.mark.parametrize(
    "text",
    [
        "id,name\nS1,Ada Krol\nS2,Bo Lind\n",
        "\ufeffName;ID\r\nAda Krol;S1\r\n\r\nBo  Lind;S2\r\n",
        "class\tname\tid\n3B\tAda Krol\tS1\n3B\tBo Lind\tS2\n",
        '\nid,name\nS1,"Ada Krol"\nS2,Bo Lind,extra\n',
    ],
    ids=["plain", "spreadsheet", "tabs", "quotes"],
)
def test_a_roster_is_read_however_it_was_saved(tmp_path: Path, text: str) -> None:
    """Order of columns, separators, BOM, blank lines and case do not matter."""
    found = read_roster(written(tmp_path, text))
    assert found == (Student(id="S1", name="Ada Krol"), Student(id="S2", name="Bo Lind"))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        ("number,name\nS1,Ada\n", "line 1: expected one column id"),
        ("id,name\nS1,Ada\nS1,Bo\n", "line 3: the id 'S1' is there twice"),
        ("sourcedId,status,givenName\nu-1,,Ada\n", "line 1: lists a whole school; "),
        ("id,name\n,Ada\n", "line 2: '' is no id"),
        ("id,name\nS 1,Ada\n", "line 2: 'S 1' is no id"),
        ("id,name\nS1,\n", "line 2: '' is no name of 1 to 80 characters"),
        (f"id,name\nS1,{'x' * 81}\n", "is no name of 1 to 80 characters"),
        ("id,name\nS1,A\x1b[31m\n", "is no name"),
        ('id,name\nS1,"Ada\n' + "S2,Bo\n" * 30_000, "is no row of a table"),
        ('id,name\nS1,"Ada\nS2,Bo\n', "line 2: is no row of a table"),
    ],
)
def test_a_mistake_is_told_with_its_line(tmp_path: Path, text: str, message: str) -> None:
    """One line."""
    with pytest.raises(InputError) as caught:
        read_roster(written(tmp_path, text))
    assert message in str(caught.value)


def test_names_are_spelt_as_they_are_wherever_they_were_copied_from(tmp_path: Path) -> None:
    """A joiner belongs to a Persian name; marks of direction around one do not."""
    found = read_roster(written(tmp_path, "id,name\nS1,\u202bمی\u200cنا\u202c\u200f\n"))
    assert found[0].name == "می\u200cنا"


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    """A spreadsheet's own file, say."""
    path = tmp_path / "roster.csv"
    path.write_bytes(b"PK\x03\x04\xff\xfe")
    with pytest.raises(InputError, match="UTF-8"):
        read_roster(path)


def test_neighbours_have_different_forms() -> None:
    """In turn, down the list."""
    students = [Student(id=f"S{n}", name=f"N{n}") for n in range(5)]
    assert [s.form for s in seated(students, ("A", "B"))] == ["A", "B", "A", "B", "A"]
