"""Where practice is kept: one folder for each student who uses the machine."""

from __future__ import annotations

import os
import re
from pathlib import Path

import platformdirs

from quizgen.base.errors import InputError, OutsideError
from quizgen.base.suggest import shown

DATA = "QUIZGEN_DATA"  # a folder that takes the place of the platform's, for tests and shared PCs
HUNTS = "hunts"  # in a student's folder: logs of hunts
NOBODY = "student"  # folder of whoever gives no name
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")


def home(student: str = "") -> Path:
    """The folder of `student`; it need not be there yet.

    Everything the drill keeps of them is in it, so that deleting it deletes all. Raises InputError
    for a name that is no name of a folder.
    """
    name = student or NOBODY
    if not _NAME.fullmatch(name):
        raise InputError(
            f"student {shown(student)}: use up to 40 letters, digits, dots, hyphens and underscores"
        )
    base = os.environ.get(DATA) or platformdirs.user_data_dir("quizgen", appauthor=False)
    return Path(base) / "drill" / name


def make_private(folder: Path, inside: str = "") -> Path:
    """Make a student's folder, or the one called `inside` in it, for their eyes alone.

    Answers are their own business, whatever is kept first. Raises OutsideError when that fails.
    """
    wanted = folder / inside
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        wanted.mkdir(exist_ok=True, mode=0o700)
    except OSError as error:
        raise OutsideError(f"{wanted}: cannot be made ({error.strerror or error})") from None
    return wanted
