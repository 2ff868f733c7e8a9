"""The tables of a OneRoster CSV set, out of a folder or a zip archive, however bad it is.

Source: 1EdTech OneRoster CSV binding 1.2 (names of files and columns, the manifest, files at the
archive's top, `bulk` sets complete in themselves, RFC 4180 in UTF-8, names case-sensitive). Columns
are found by name, others are not read; those that are read have the same names in 1.1.

Archives come from other machines: nothing is unpacked to the disk, nothing is read beyond
`MOST_BYTES`, whatever the archive says about its sizes.
"""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.suggest import shown, suggest
from quizgen.base.table_rows import rows_in

MOST_BYTES = 64_000_000  # of all tables together, unpacked; a district of 50,000 fits
MOST_FILES = 200
VERSIONS = ("1.1", "1.2")
MANIFEST = "manifest"
OURS = ("sourcedId", "status")
COLUMNS: dict[str, tuple[str, ...]] = {
    MANIFEST: ("propertyName", "value"),
    "orgs": (*OURS, "name"),
    "academicSessions": (*OURS, "title", "startDate", "endDate", "parentSourcedId"),
    "courses": (*OURS, "title"),
    "classes": (*OURS, "title", "courseSourcedId", "classCode", "schoolSourcedId",
                "termSourcedIds"),
    "users": (*OURS, "givenName", "familyName", "identifier"),
    "enrollments": (*OURS, "classSourcedId", "userSourcedId", "role", "primary", "endDate"),
}  # fmt: skip
DAMAGED = (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, ValueError)


@dataclass(frozen=True)
class Row:
    """A row of a table: where it stands, and those of its cells that are read, without blanks."""

    place: Place
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def wrong(self, column: str, problem: str) -> FileError:
        """The error about one of its cells."""
        return FileError(Place(self.place.file, self.place.line, column), problem)


Tables = dict[str, tuple[Row, ...]]


def read_tables(source: Path) -> Tables:
    """The tables that COLUMNS names, by name. Raises InputError or FileError."""
    contents = _folder(source) if source.is_dir() else _archive(source)
    tables = {}
    for name, columns in COLUMNS.items():
        where = str(source / f"{name}.csv") if source.is_dir() else f"{source}: {name}.csv"
        if name not in contents:
            raise InputError(f"{where} is not there; export all tables of the lists")
        tables[name] = _rows(contents[name], where, columns)
        if name == MANIFEST:
            _check_manifest(tables[name], where)
    return tables


def _folder(source: Path) -> dict[str, bytes]:
    contents, left = {}, MOST_BYTES
    for name in COLUMNS:
        path = source / f"{name}.csv"
        try:
            if not path.is_file():
                continue
            with path.open("rb") as file:
                contents[name] = file.read(left + 1)
        except OSError as error:
            raise InputError(f"{path}: cannot be read ({error.strerror})") from None
        left = _left(left, contents[name], source)
    return contents


def _archive(source: Path) -> dict[str, bytes]:
    if not source.is_file():
        raise InputError(f"{source}: is no folder and no file; name the lists' folder or archive")
    contents, left = {}, MOST_BYTES
    try:
        with zipfile.ZipFile(source) as archive:
            for name, info in _members(source, archive.infolist()).items():
                if info.flag_bits & 1:
                    raise InputError(f"{source}: {info.filename} is encrypted; export it plain")
                with archive.open(info) as member:
                    contents[name] = member.read(left + 1)
                left = _left(left, contents[name], source)
    except OSError as error:
        raise InputError(f"{source}: cannot be read ({error.strerror or error})") from None
    except DAMAGED:
        raise InputError(f"{source}: is no zip archive, or a damaged one; export it anew") from None
    return contents


def _left(left: int, content: bytes, source: Path) -> int:
    if len(content) > left:
        raise InputError(
            f"{source}: more than {MOST_BYTES // 1_000_000} MB of tables; export fewer schools"
        )
    return left - len(content)


def _members(source: Path, infos: Sequence[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    """The archive's tables. A name that leads out of the archive condemns all of it."""
    if len(infos) > MOST_FILES:
        raise InputError(f"{source}: holds {len(infos)} files; these are no lists of a school")
    found: dict[str, zipfile.ZipInfo] = {}
    deeper = ""
    for info in infos:
        parts = info.orig_filename.replace("\\", "/").split("/")
        if ".." in parts or parts[0] == "" or ":" in parts[0] or "\0" in info.orig_filename:
            raise InputError(
                f"{source}: {shown(info.orig_filename)} leads out of the archive; do not trust it, "
                "have it made anew"
            )
        name = parts[-1].removesuffix(".csv")
        if not parts[-1].endswith(".csv") or name not in COLUMNS:
            continue
        if len(parts) > 1:
            deeper = deeper or info.orig_filename
        elif name in found:
            raise InputError(f"{source}: {parts[-1]} is in it twice; export it anew")
        else:
            found[name] = info
    if not found and deeper:
        raise InputError(
            f"{source}: {shown(deeper)} lies in a folder of the archive; the tables belong at its "
            "top"
        )
    return found


def _rows(content: bytes, where: str, wanted: Sequence[str]) -> tuple[Row, ...]:
    numbered = [(n, r) for n, r in rows_in(content, where, separators=",") if any(r)]
    if not numbered:
        raise InputError(f"{where}: is empty; expected the columns {', '.join(wanted)}")
    line, header = numbered[0]
    for column in wanted:
        if header.count(column) != 1:
            problem = "is there twice" if column in header else "is missing"
            hint = "" if column in header else suggest(column, header)
            raise FileError(Place(where, line), f"the column {column} {problem}{hint}")
    at = {column: header.index(column) for column in wanted}
    found = []
    for line, row in numbered[1:]:
        if len(row) != len(header):
            raise FileError(
                Place(where, line),
                f"has {len(row)} cells, the first line {len(header)}; put quotes around a cell "
                "that holds a comma, or export it anew",
            )
        cells = {column: " ".join(row[i].split()) for column, i in at.items()}
        found.append(Row(Place(where, line), cells))
    return tuple(found)


def _check_manifest(rows: Sequence[Row], where: str) -> None:
    said = {row["propertyName"]: row for row in rows}
    version = said.get("oneroster.version")
    if version is None or not version["value"].startswith(VERSIONS):
        found = "is missing" if version is None else f"is {shown(version['value'])}"
        raise InputError(f"{where}: oneroster.version {found}; export {' or '.join(VERSIONS)}")
    for name in COLUMNS:
        row = said.get(f"file.{name}")
        if name != MANIFEST and (row is None or row["value"] != "bulk"):
            found = "missing" if row is None else shown(row["value"])
            raise FileError(
                row.place if row else Place(where, 1),
                f"file.{name} is {found}; export all of the lists (bulk), not changes alone",
            )
