"""Records as JSON files: written whole, and read with one line for whatever is wrong."""

from __future__ import annotations

from codecs import BOM_UTF8
from pathlib import Path
from typing import TypeVar

import msgspec

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole

Record = TypeVar("Record")


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


def check_format(path: Path, found: int, known: int) -> None:
    """Raise InputError for a file of a format that this version does not read."""
    if found != known:
        raise InputError(f"{path}: has format {found}; this version reads {known}")
