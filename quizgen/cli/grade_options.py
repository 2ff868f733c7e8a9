"""What the commands of `quizgen grade` share: which set, which store, who."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Collection
from contextlib import closing
from pathlib import Path
from typing import Any, TypeVar

import click

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.grading.score import Result
from quizgen.store.database import Store, open_store

Command = TypeVar("Command", bound=Callable[..., Any])

FILE = "grades.sqlite"
VARIABLE = "QUIZGEN_STORE"

set_argument = click.argument(
    "set_file", metavar="SET.json", type=click.Path(path_type=Path, dir_okay=False)
)
store_option = click.option(
    "--store",
    "store_name",
    metavar="FILE|URL",
    envvar=VARIABLE,
    help=f"Where results are kept: a file, or postgresql://...  [default: {FILE} beside SET.json, "
    f"or what {VARIABLE} says]",
)
who_option = click.option("--who", metavar="NAME", help="Who grades.  [default: your login]")


def opened(set_file: Path, store_name: str | None, *, new: bool = False) -> closing[Store]:
    """The store, closed at the end. Raises InputError where there is none and none is made."""
    return closing(open_store(store_name or str(set_file.with_name(FILE)), new=new))


def grader(name: str | None) -> str:
    """Who grades: as said, or else the login."""
    if name and name.strip():
        return name.strip()
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a container's user may have no name
        return "unknown"


def check_student(student: str, known: Collection[str]) -> None:
    """Raises InputError for an id that is not among `known`."""
    if student not in known:
        raise InputError(f"no student {shown(student)}{suggest(student, known)}")


def points_text(result: Result) -> str:
    """ "6.5 of 8", and what may still come."""
    pending = f" (+{result.pending} pending)" if result.pending else ""
    points = f"{result.points:.2f}".rstrip("0").rstrip(".")
    return f"{points} of {result.out_of}{pending}"
