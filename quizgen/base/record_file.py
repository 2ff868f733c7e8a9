"""Records as JSON files: written whole, and read with one line for whatever is wrong."""

from __future__ import annotations

from codecs import BOM_UTF8
from pathlib import Path
from typing import TypeVar

import msgspec

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.base.writing import write_whole

Record = TypeVar("Record")

LONGEST_NAME = 100
NOT_IN_NAMES = set('\\/:*?"<>|')
GOOD_NAMES = "take letters, digits, blanks and hyphens"


def record_bytes(record: object) -> bytes:
    """`record` as indented JSON."""
    return msgspec.json.format(msgspec.json.encode(record), indent=1) + b"\n"


def write_record(record: object, path: Path) -> Path:
    """Write `record` as indented JSON and return `path`. Raises OutsideError when that fails."""
    return write_whole(path, record_bytes(record))


def read_record(path: Path, kind: type[Record], otherwise: str) -> Record:
    """The record in a JSON file.

    Raises InputError when the file cannot be read, or holds something else; `otherwise` says
    what is the matter then ("is not a student pack").
    """
    try:
        return msgspec.json.decode(path.read_bytes().removeprefix(BOM_UTF8), type=kind)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise InputError(f"{path}: {otherwise}: {error}") from None


def names_files(name: str) -> bool:
    """Whether files may be called by `name`, here and on a system that allows less.

    A path is no name: what comes from somebody else's file must not say in which folder to write.

    >>> names_files("week-02"), names_files("../week-02"), names_files("Wien 3 (Abend)")
    (True, False, True)
    """
    return (
        0 < len(name) <= LONGEST_NAME and name.isprintable() and not NOT_IN_NAMES & set(name)
        and name.strip(" .") == name
    )  # fmt: skip


def check_name(path: Path, name: str) -> None:
    """Raise InputError for a record whose name could not be that of its files."""
    if not names_files(name):
        raise InputError(f"{path}: {shown(name)} is no name for files; {GOOD_NAMES}")


def check_format(path: Path, found: int, known: int) -> None:
    """Raise InputError for a file of a format that this version does not read."""
    if found != known:
        raise InputError(f"{path}: has format {found}; this version reads {known}")
