"""What the commands of `quizgen coverage` share: which store, which classes, which mapping."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.cli.grade_options import FILE, VARIABLE
from quizgen.cli.progress import progress_line
from quizgen.reports.competencies import read_competencies, shipped_mapping
from quizgen.reports.coverage import Coverage, Wanted, coverage
from quizgen.store.database import open_store

Command = TypeVar("Command", bound=Callable[..., Any])

store_option = click.option(
    "--store", "store_name", metavar="FILE|URL", envvar=VARIABLE, default=FILE, show_default=True,
    help=f"Where results are kept: a file, or postgresql://...; {VARIABLE} names one too.",
)  # fmt: skip
class_option = click.option("--class", "school_class", metavar="NAME", default="",
                            help="This class alone.")  # fmt: skip


def chosen_options(command: Command) -> Command:
    """Adds the options that `gathered` takes."""
    for option in (
        store_option,
        click.option("--competencies", "mapping", metavar="FILE",
                     type=click.Path(path_type=Path, dir_okay=False),
                     help="Your own mapping of topics to codes, a CSV file."),
        click.option("--cut", type=click.FloatRange(0.3, 0.95), default=0.6, show_default=True,
                     help="Share of right answers that mastery needs at least."),
        click.option("--on", "day", metavar="DATE",
                     help="The day to count weeks back from.  [default: today]"),
        click.option("--instructor", metavar="NAME", default="", help="Sets of one instructor."),
        click.option("--term", metavar="NAME", default="", help="Classes of one term."),
        click.option("--course", metavar="NAME", default="", help="Classes of one course."),
        class_option,
    ):  # fmt: skip
        command = option(command)
    return command


def gathered(
    *, store_name: str, mapping: Path | None, cut: float, day: str | None, instructor: str,
    term: str, course: str, school_class: str,
) -> Coverage:  # fmt: skip
    """The report that the options ask for. Raises InputError, FileError or OutsideError."""
    elements = read_competencies(mapping or shipped_mapping())
    wanted = Wanted(
        day=a_day(day), school_class=school_class, course=course, term=term,
        instructor=instructor, cut=cut,
    )  # fmt: skip
    with closing(open_store(store_name, new=False)) as store, progress_line() as progress:
        return coverage(store, wanted, elements, progress)


def a_day(text: str | None) -> date:
    """The day that is written, 2026-09-14; without one, today. Raises InputError."""
    if not text:
        return date.today()
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{shown(text)} is no day; write it as 2026-09-14") from None
