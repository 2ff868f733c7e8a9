"""A school's lists: what is read of them, and what is wrong with bad ones, in one line each."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.forms import oneroster_files
from quizgen.forms.school_list import ListedClass, read_school_list
from tests.forms.listed import COLUMNS, Lists, archive, folder, lists, place, texts, user

TODAY = date(2026, 11, 28)


def read(path: Path, of: Lists | None = None) -> tuple[ListedClass, ...]:
    """The classes of lists in a folder."""
    return read_school_list(folder(path / "lists", texts(of or lists())), TODAY)


def test_folder_and_archive_give_the_same_classes(tmp_path: Path) -> None:
    """Names, course, term, school, teacher, students with their numbers; a BOM is no matter."""
    files = {name: b"\xef\xbb\xbf" + content for name, content in texts(lists()).items()}
    first, second = read_school_list(archive(tmp_path / "lists.zip", files), TODAY)
    assert [s.sourced_id for s in second.students] == ["u-4"]
    assert (first.name, first.course, first.term) == (
        "Evening A", "Machine electrics", "2026-autumn")  # fmt: skip
    assert (first.school, first.teacher) == ("org-1", "Rosa Adeyemi")
    assert [(s.sourced_id, s.number, s.name, s.left) for s in first.students] == [
        ("u-1", "S-001", "Ada Krol", False), ("u-2", "S-002", "Bo Lind", False),
        ("u-3", "S-003", "Cleo Marsh", False),
    ]  # fmt: skip
    assert [c.students[0].name for c in read(tmp_path)] == ["Ada Krol", "Dan Oyelaran"]


def test_a_set_of_the_version_before_is_read(tmp_path: Path) -> None:
    """In 1.1 users have columns for org and role; what is read has the same names."""
    of = lists()
    of["manifest"][1]["value"] = "1.1"
    files = texts(of)
    head, *rest = files["users.csv"].decode().rstrip().split("\r\n")
    lines = [head.replace("enabledUser,", "enabledUser,orgSourcedIds,role,")]
    lines += [line.replace(",true,", ",true,org-1,student,") for line in rest]
    files["users.csv"] = "\r\n".join(lines).encode()
    first, second = read_school_list(folder(tmp_path, files), TODAY)
    assert [s.name for s in first.students] == ["Ada Krol", "Bo Lind", "Cleo Marsh"]
    assert (first.teacher, second.teacher) == ("Rosa Adeyemi", "Mats Lindqvist")


def test_classes_of_one_name_are_told_apart_by_their_codes(tmp_path: Path) -> None:
    """Two sections of one title stay two classes; without a code the id tells them apart."""
    of = lists()
    for row in of["classes"]:
        row["title"] = "Evening"
    assert [c.name for c in read(tmp_path, of)] == ["Evening (ME-1)", "Evening (ME-2)"]
    for row in of["classes"]:
        row["classCode"] = ""
    assert [c.name for c in read(tmp_path, of)] == ["Evening (cl-1)", "Evening (cl-2)"]


def test_a_class_over_several_terms_is_named_for_what_they_are_parts_of(tmp_path: Path) -> None:
    """Both terms of a year: the year's title, and both are kept in the order of time."""
    of = lists()
    of["classes"][0]["termSourcedIds"] = "t-2,t-1"
    first, _ = read(tmp_path, of)
    assert first.term == "Year 2026/27"
    assert [s.id for s in first.sessions] == ["t-1", "t-2"]


def test_who_teaches_is_said_where_the_lists_say_it(tmp_path: Path) -> None:
    """Of two teachers the primary one; without a mark nobody is guessed."""
    of = lists()
    of["enrollments"].append(place("cl-1", "u-t2", "teacher"))
    assert read(tmp_path, of)[0].teacher == "Rosa Adeyemi"
    of["enrollments"][0]["primary"] = "false"
    assert read(tmp_path, of)[0].teacher == ""


def test_who_has_left(tmp_path: Path) -> None:
    """Enrolment or person to be deleted, an end before the term's; not an end with the term."""
    of = lists()
    of["users"].append(user("u-5", "Eli", "Brandt"))
    of["enrollments"][1]["status"] = "tobedeleted"
    of["users"][3]["status"] = "tobedeleted"
    of["enrollments"][3]["endDate"] = "2026-11-20"
    of["enrollments"].append(place("cl-1", "u-5", endDate="2027-01-31"))
    first, _ = read(tmp_path, of)
    assert {s.sourced_id: s.left for s in first.students} == {
        "u-1": True, "u-2": True, "u-3": True, "u-5": False}  # fmt: skip
    after = read_school_list(tmp_path / "lists", date(2027, 3, 1))
    assert [s.left for s in after[0].students] == [True, True, True, False]
    before = read_school_list(tmp_path / "lists", date(2026, 11, 19))
    assert [s.left for s in before[0].students] == [True, True, False, False]


def test_a_number_that_two_have_is_nobodys(tmp_path: Path) -> None:
    """Nor one with a blank, nor one that a spreadsheet would run."""
    of = lists()
    of["users"][2]["identifier"] = of["users"][3]["identifier"] = "7"
    of["users"][4]["identifier"] = "=7"
    assert [s.number for s in read(tmp_path, of)[0].students] == ["", "", ""]


def test_five_hundred_students_and_columns_of_the_schools_own(tmp_path: Path) -> None:
    """Columns to the right of the standard's are passed over."""
    of = lists()
    of["users"] += [user(f"p-{n}", f"Given{n}", "Vale", f"N{n}") for n in range(500)]
    of["enrollments"] += [place("cl-2", f"p-{n}") for n in range(500)]
    files = texts(of)
    files["users.csv"] = b"\r\n".join(
        line + (b",metadata.own" if n == 0 else b",x")
        for n, line in enumerate(files["users.csv"].rstrip(b"\r\n").split(b"\r\n"))
    )
    found = read_school_list(folder(tmp_path, files), TODAY)
    assert len(found[1].students) == 501


def change(table: str, row: int, **cells: str) -> Callable[[Lists], None]:
    """Another cell."""
    return lambda of: of[table][row].update(cells)


@pytest.mark.parametrize(
    ("broken", "expected"),
    [
        (change("enrollments", 2, userSourcedId="u-9"),
         "enrollments.csv, line 4, userSourcedId: 'u-9' is not in users.csv; export the lists"),
        (change("enrollments", 2, classSourcedId="x"), "line 4, classSourcedId: 'x' is not in cl"),
        (change("classes", 1, courseSourcedId="x"), "classes.csv, line 3, courseSourcedId: 'x'"),
        (change("classes", 1, termSourcedIds="t-1,t-9"), "line 3, termSourcedIds: 't-9' is not in"),
        (change("classes", 1, schoolSourcedId=""), "line 3, schoolSourcedId: '' is not in orgs"),
        (change("classes", 1, sourcedId="cl-1"), "line 3, sourcedId: 'cl-1' is in line 2 already"),
        (change("users", 2, sourcedId=""), "users.csv, line 4, sourcedId: '' is no id"),
        (change("users", 2, givenName="=HYPERLINK(1)"), "'=HYPERLINK(1) Krol' "
         "begins like a formula of a spreadsheet; mend it in the lists"),
        (change("users", 2, sourcedId="@u-1"), "line 4, sourcedId: '@u-1' is no id"),
        (change("users", 2, givenName="x" * 90), "is no name of 1 to 80 characters"),
        (change("users", 2, givenName="", familyName=""),
         "line 4, givenName and familyName: '' is no name"),
        (change("users", 2, familyName="a\x07b"), "'Ada a\\x07b' is no name"),
        (change("users", 2, status="deleted"), "'deleted' is no status; did you mean tobedeleted?"),
        (change("enrollments", 1, role="studnet"), "role: 'studnet' is no role; did you mean stud"),
        (change("enrollments", 1, endDate="31/1/27"), "line 3, endDate: '31/1/27' is no day"),
        (change("academicSessions", 1, endDate=""), "line 3, endDate: '' is no day; write 2026-09"),
        (change("manifest", 2, value="delta"), "manifest.csv, line 4: file.academicSessions is 'del"
         "ta'; export all of the lists (bulk), not changes alone"),
        (change("manifest", 7, value="absent"), "line 9: file.users is 'absent'; export all"),
        (change("manifest", 7, propertyName="x"), "line 1: file.users is missing; export all"),
        (change("manifest", 1, value="3.0"), "oneroster.version is '3.0'; export 1.1 or 1.2"),
        (change("manifest", 1, propertyName="x"), "manifest.csv: oneroster.version is missing"),
        (lambda of: of["classes"].clear() or of["enrollments"].clear(), "the lists have no class"),
    ],
)  # fmt: skip
def test_a_wrong_cell_is_one_line(
    tmp_path: Path, broken: Callable[[Lists], None], expected: str
) -> None:
    """Table, line, column, what was found, what to do."""
    of = lists()
    broken(of)
    with pytest.raises(InputError) as caught:
        read(tmp_path, of)
    assert expected in str(caught.value)
    assert "\n" not in str(caught.value)


USERS = texts(lists())["users.csv"]


@pytest.mark.parametrize(
    ("users", "expected"),
    [
        (b"", "users.csv: is empty; expected the columns sourcedId"),
        (USERS.replace(b"givenName", b"givenname", 1),
         "users.csv, line 1: the column givenName is missing; did you mean givenname?"),
        (USERS.replace(b"middleName", b"givenName", 1), "the column givenName is there twice"),
        (USERS.replace(b"Krol", "Kröl".encode("latin-1")), "users.csv: is not UTF-8 text"),
        (USERS.decode().encode("utf-16"), "users.csv: is not UTF-8 text; save it as CSV UTF-8"),
        (USERS.replace(b"Krol", b'"Krol'), "users.csv, line 4: is no row of a table"),
        (USERS.replace(b"Krol", b"Krol, M."),
         "users.csv, line 4: has 23 cells, the first line 22; put quotes around a cell"),
        (b"PK\x03\x04" + bytes(range(256)), "users.csv: is not UTF-8 text"),
    ],
)  # fmt: skip
def test_a_table_that_is_none_is_one_line(tmp_path: Path, users: bytes, expected: str) -> None:
    """The file, and the line where there is one."""
    path = folder(tmp_path / "lists", {**texts(lists()), "users.csv": users})
    with pytest.raises(InputError) as caught:
        read_school_list(path, TODAY)
    assert expected in str(caught.value)
    assert "\n" not in str(caught.value)


def zipped(**more: bytes) -> dict[str, bytes]:
    """The lists, and other files in the archive."""
    return {**texts(lists()), **more}


@pytest.mark.parametrize(
    ("files", "expected"),
    [
        (zipped(**{"../users.csv": b"x"}), "'../users.csv' leads out of the archive"),
        (zipped(**{"/etc/users.csv": b"x"}), "'/etc/users.csv' leads out of the archive"),
        (zipped(**{"a\\..\\users.csv": b"x"}), "leads out of the archive; do not trust it"),
        (zipped(**{"C:/users.csv": b"x"}), "leads out of the archive"),
        ({f"lists/{name}": c for name, c in texts(lists()).items()},
         "lies in a folder of the archive; the tables belong at its top"),
        ({n: c for n, c in texts(lists()).items() if n != "orgs.csv"},
         "lists.zip: orgs.csv is not there; export all tables of the lists"),
        ({}, "lists.zip: manifest.csv is not there"),
        ({f"{n}.txt": b"" for n in range(300)}, "holds 300 files; these are no lists"),
    ],
)  # fmt: skip
def test_an_archive_that_is_none_of_a_school_is_one_line(
    tmp_path: Path, files: dict[str, bytes], expected: str
) -> None:
    """Names that lead elsewhere, tables in the wrong place, tables that are not there."""
    with pytest.raises(InputError) as caught:
        read_school_list(archive(tmp_path / "lists.zip", files), TODAY)
    assert expected in str(caught.value)


def test_what_a_computer_adds_to_an_archive_is_passed_over(tmp_path: Path) -> None:
    """Hidden twins in a folder of their own, as some systems add, are no tables."""
    files = zipped(**{"__MACOSX/._users.csv": b"\0\5\26\7", "notes.txt": b"hello"})
    assert len(read_school_list(archive(tmp_path / "lists.zip", files), TODAY)) == 2


def test_an_archive_that_would_fill_the_memory_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No more is unpacked than lists may have, whatever size the archive admits to."""
    path = archive(tmp_path / "lists.zip", {**texts(lists()), "users.csv": b"x" * 10**6})
    content = path.read_bytes()
    assert len(content) < 10_000  # a small file, as bombs are
    lying = content.replace((10**6).to_bytes(4, "little"), (100).to_bytes(4, "little"))
    monkeypatch.setattr(oneroster_files, "MOST_BYTES", 50_000)
    asked, unpack = list[int](), zipfile.ZipExtFile.read
    monkeypatch.setattr(
        zipfile.ZipExtFile, "read", lambda file, n=-1: asked.append(n) or unpack(file, n)
    )
    with pytest.raises(InputError, match="more than 0 MB of tables; export fewer schools"):
        read_school_list(path, TODAY)
    assert min(asked) > 0
    assert max(asked) <= 50_001
    path.write_bytes(lying)
    with pytest.raises(InputError, match="damaged"):
        read_school_list(path, TODAY)


def test_what_is_no_archive_is_one_line(tmp_path: Path) -> None:
    """Nothing there, a text, half an archive, a locked one, a table that is there twice."""
    whole = archive(tmp_path / "lists.zip", texts(lists())).read_bytes()
    double = io.BytesIO()
    with zipfile.ZipFile(double, "w") as made:
        made.writestr("users.csv", b"x")
        with pytest.warns(UserWarning, match="Duplicate"):
            made.writestr("users.csv", b"x")
    locked = bytearray(whole)
    for at in (whole.index(b"PK\3\4") + 6, whole.index(b"PK\1\2") + 8):
        locked[at] |= 1
    for content, expected in [
        (b"Dear office, here are the lists", "is no zip archive, or a damaged one"),
        (whole[: len(whole) // 2], "is no zip archive"),
        (bytes(locked), "is encrypted; export it plain"),
        (double.getvalue(), "users.csv is in it twice"),
    ]:
        path = tmp_path / "bad.zip"
        path.write_bytes(content)
        with pytest.raises(InputError, match=expected):
            read_school_list(path, TODAY)
    with pytest.raises(InputError, match="no folder and no file"):
        read_school_list(tmp_path / "none", TODAY)


def test_the_columns_that_are_read_are_columns_of_the_standard() -> None:
    """Held against the full list of columns of the CSV binding 1.2, in `tests.forms.listed`."""
    for name, read_columns in oneroster_files.COLUMNS.items():
        assert set(read_columns) <= set(COLUMNS[name])


WHOLE = texts(lists())


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(WHOLE)),
    st.lists(
        st.tuples(
            st.integers(0, 10**6),
            st.sampled_from([b",", b'"', b"\n", b"\r", b"\0", b"\xff", b"x", b"=", b""]),
        ),
        min_size=1, max_size=5,
    ),
    st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 255)), max_size=3),
)  # fmt: skip
def test_whatever_is_damaged_is_read_or_told_in_one_line(
    name: str, cells: list[tuple[int, bytes]], flips: list[tuple[int, int]]
) -> None:
    """Cells and bytes of the archive changed at random: no crash, no silence."""
    table = WHOLE[name]
    for at, text in cells:
        here = at % len(table)
        table = table[:here] + text + table[here + 1 :]
    with tempfile.TemporaryDirectory() as there:
        path = archive(Path(there) / "lists.zip", {**WHOLE, name: table})
        content = bytearray(path.read_bytes())
        for at, byte in flips:
            content[at % len(content)] = byte
        path.write_bytes(content)
        said = ""
        try:
            assert read_school_list(path, TODAY)
        except InputError as error:
            said = str(error)
    assert "\n" not in said
