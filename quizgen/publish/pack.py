"""The student pack: one form as a file for a screen or a terminal, without keys.

It holds the same record that a printed workbook is made from, so it can say no more than the
paper does. A checksum finds accidental edits; a seal that only the holder of the course secret
can make finds the others.
"""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from quizgen.base.errors import InputError
from quizgen.base.record_file import check_format, read_record, record_bytes
from quizgen.base.seeds import Seed
from quizgen.base.writing import write_whole
from quizgen.publish.view import Workbook

FILE_FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class Pack:
    """One form for one student, or for whoever gets that form where `student` is "".

    `token` is the set's public name. `checksum` is the SHA-256 of everything but itself and
    `seal`, in hexadecimal; `seal` the HMAC-SHA-256 of the same bytes under the course secret.
    """

    format: int
    token: str
    student: str  # id
    book: Workbook
    checksum: str = ""
    seal: str = ""


def seal_pack(book: Workbook, token: str, student: str, seed: Seed) -> Pack:
    """The pack of `book`, with checksum and seal. `seed` is that of the set."""
    pack = Pack(format=FILE_FORMAT, token=token, student=student, book=book)
    return replace(pack, checksum=_checksum(pack), seal=_seal(pack, seed))


def pack_bytes(pack: Pack) -> bytes:
    """`pack` as JSON."""
    return record_bytes(pack)


def write_pack(pack: Pack, path: Path) -> Path:
    """Write `pack` as JSON and return `path`. Raises OutsideError when that fails."""
    return write_whole(path, pack_bytes(pack))


def read_pack(path: Path) -> Pack:
    """The pack in a JSON file.

    Raises InputError when it is not one, is of another format, or has been changed since it was
    made. Who changed it on purpose can mend the checksum; `genuine` tells.
    """
    pack = read_record(path, Pack, "is not a student pack")
    check_format(path, pack.format, FILE_FORMAT)
    if not hmac.compare_digest(pack.checksum.encode(), _checksum(pack).encode()):
        raise InputError(f"{path}: was changed after it was made; get the file again")
    return pack


def genuine(pack: Pack, seed: Seed) -> bool:
    """Whether `pack` is as the holder of the secret made it. `seed` is that of the set."""
    return hmac.compare_digest(pack.seal.encode(), _seal(pack, seed).encode())


def _content(pack: Pack) -> bytes:
    return msgspec.json.encode(replace(pack, checksum="", seal=""))


def _checksum(pack: Pack) -> str:
    return hashlib.sha256(_content(pack)).hexdigest()


def _seal(pack: Pack, seed: Seed) -> str:
    return seed.under("pack", pack.book.form).seal(_content(pack))
