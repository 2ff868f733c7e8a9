"""Files appear whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from quizgen.base.errors import OutsideError


def write_whole(path: Path, content: bytes) -> Path:
    """Write `content` to `path` and return `path`; missing folders are made.

    The bytes go to a temporary file in the same folder, reach the disk, and only then take the
    name, so that a reader, a full disk or a power cut never meets half a file. A file that
    already holds the same bytes is left alone. Raises OutsideError where the disk or the folder
    does not allow it.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file() and path.read_bytes() == content:
            return path
        _replace(path, content)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutsideError(f"{path}: cannot be written ({reason}); choose another folder") from None
    return path


def _replace(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o666 & ~_umask())  # mkstemp makes private files; pages are for sharing
        os.replace(name, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
