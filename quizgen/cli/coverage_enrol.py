"""`quizgen coverage enrol`: classes and students from the school's own lists."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import date
from itertools import count
from pathlib import Path

import click

from quizgen.base.cells import csv_text
from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.base.writing import write_whole
from quizgen.cli.coverage_options import store_option
from quizgen.cli.progress import progress_line
from quizgen.forms.school_list import ListedClass, read_school_list
from quizgen.store.classes import SchoolClass
from quizgen.store.database import open_store
from quizgen.store.enrolling import Enrolled, enrol
from quizgen.store.same_people import Confirmed


@click.command("enrol", short_help="Take in classes from the school's lists.")
@click.argument("lists", type=click.Path(path_type=Path))
@click.option("--class", "names", metavar="NAME", multiple=True,
              help="This class alone; may be said again.")  # fmt: skip
@click.option("--course", "courses", metavar="NAME", multiple=True,
              help="Classes of this course alone; may be said again.")  # fmt: skip
@click.option("--same", metavar="ID", multiple=True,
              help="Student ID of the store is the one of the lists.")  # fmt: skip
@click.option("--apart", metavar="ID", multiple=True,
              help="Student ID of the store is somebody else.")  # fmt: skip
@click.option("--rosters", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False),
              help="Write a roster of each class there, for plans.")  # fmt: skip
@store_option
def enrol_lists(
    lists: Path, names: tuple[str, ...], courses: tuple[str, ...], same: tuple[str, ...],
    apart: tuple[str, ...], rosters: Path | None, store_name: str,
) -> None:  # fmt: skip
    """Take in classes from the school's lists.

    LISTS is a folder or a zip archive of OneRoster 1.2 CSV tables, a complete (bulk) set. Classes
    and students are known again by their sourcedId, whatever they are called later. A student whom
    the store knows under the sourcedId or the identifier stays that student, if the names agree.
    Who is on the lists of a class no more has left it; results stay. The same lists twice change
    nothing.
    """
    today, confirmed = date.today(), Confirmed(same=frozenset(same), apart=frozenset(apart))
    with progress_line() as progress:
        progress(f"reading {lists}")
        found = _chosen(read_school_list(lists, today), names, courses)
        progress(f"taking in {len(found)} classes")
        with closing(open_store(store_name)) as store:
            done = enrol(store, found, today=today.isoformat(), confirmed=confirmed)
    click.echo(f"{store_name}: {_told(done)}")
    if rosters:
        for name, content in _rosters(done):
            click.echo(write_whole(rosters / name, content))


def _chosen(
    found: Sequence[ListedClass], names: Sequence[str], courses: Sequence[str]
) -> tuple[ListedClass, ...]:
    """Those that were asked for. Raises InputError for a name that no class has."""
    for what, words, known in (
        ("class", names, {c.name for c in found}), ("course", courses, {c.course for c in found}),
    ):  # fmt: skip
        for word in words:
            if word not in known:
                raise InputError(
                    f"no {what} {shown(word)} in the lists{suggest(word, sorted(known))}"
                )
    return tuple(
        c for c in found
        if (not names or c.name in names) and (not courses or c.course in courses)
    )  # fmt: skip


def _told(done: Enrolled) -> str:
    """All that is not as before."""
    parts = []
    for what, change in (
        ("classes", done.classes), ("students", done.students), ("enrolments", done.places),
    ):  # fmt: skip
        known = f" ({done.known} known from before)" if what == "students" and done.known else ""
        counts = (
            (change.added, f"new{known}"),
            (change.changed, "changed"),
            (change.ended, "ended"),
        )
        if said := ", ".join(f"{count} {word}" for count, word in counts if count):
            parts.append(f"{what}: {said}")
    return "; ".join(parts) or "nothing new in the lists"


def _rosters(done: Enrolled) -> Iterator[tuple[str, bytes]]:
    """File name and content of a roster for each class that has students."""
    taken: set[str] = set()
    for school_class, students in done.rosters:
        if students:
            name = next(n for n in _file_names(school_class) if n not in taken)
            taken.add(name)
            yield f"{name}.csv", csv_text([("id", "name"), *students.items()]).encode()


def _file_names(school_class: SchoolClass) -> Iterator[str]:
    """Names for the file, the best first."""
    yield _plain(school_class.name)
    yield (long := _plain(f"{school_class.name} {school_class.term}"))
    yield from (f"{long}-{turn}" for turn in count(2))


def _plain(text: str) -> str:
    """ "Evening A" as "evening-a"."""
    letters = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-") or "class"
