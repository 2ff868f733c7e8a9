"""Scanned files to readings, and the file that keeps the readings of a set.

Every page is read by itself; a file that cannot be read, or a page of it, is one line and keeps no
other from being read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from quizgen.base.errors import InputError, QuizgenError
from quizgen.base.record_file import read_record
from quizgen.base.writing import write_whole
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.scan_readers import read_pages
from quizgen.grading.sheet_reading import SheetReading

FILE_FORMAT = 1
SUFFIX = ".scans.json"


@dataclass(frozen=True, kw_only=True)
class Scanned:
    """What some files gave: readings of pages, what is wrong, and what was passed over."""

    readings: tuple[SheetReading, ...] = ()
    problems: tuple[QuizgenError, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ScanFile:
    """All pages of a set that were read so far."""

    format: int
    token: str
    readings: tuple[SheetReading, ...]


def read_scans(
    paths: Sequence[Path],
    problem_set: ProblemSet,
    progress: Callable[[str], None] = lambda text: None,
) -> Scanned:
    """Every page of every file; problems in the order of the files."""
    readings: dict[str, SheetReading] = {}
    problems: dict[str, tuple[int, int, QuizgenError]] = {}
    empty = 0
    files = {path: place for place, path in enumerate(paths)}
    for done, page in enumerate(read_pages(list(files), problem_set), 1):
        progress(f"{done} pages, {page.path.name}")
        if page.problem:
            problems.setdefault(str(page.problem), (files[page.path], page.number, page.problem))
        elif page.reading is None:
            empty += 1
        else:
            readings.setdefault(page.reading.identity, page.reading)
    pages = "page" if empty == 1 else "pages"
    return Scanned(
        readings=tuple(readings.values()),
        problems=tuple(problem for *_, problem in sorted(problems.values(), key=lambda p: p[:2])),
        remarks=(f"{empty} empty {pages} passed over",) if empty else (),
    )


def scan_file_of(set_file: Path) -> Path:
    """Where the readings of a set are kept: beside the set.

    >>> scan_file_of(Path("week-01.instructor.json")).name
    'week-01.scans.json'
    """
    return set_file.with_name(set_file.name.split(".")[0] + SUFFIX)


def kept_readings(path: Path, token: str) -> tuple[SheetReading, ...]:
    """The readings in a file; none where there is no file. Raises InputError for another file."""
    if not path.exists():
        return ()
    found = read_record(path, ScanFile, "holds no readings of scans")
    if found.format != FILE_FORMAT or found.token != token:
        raise InputError(f"{path}: holds readings of another set; move it away and grade again")
    return found.readings


def keep_readings(path: Path, token: str, new: Iterable[SheetReading]) -> tuple[SheetReading, ...]:
    """Add readings to those in the file and return them all.

    A page that was read anew is there once, with the place where it was found first. Raises
    OutsideError when the file cannot be written, InputError as `kept_readings`.
    """
    merged = {reading.identity: reading for reading in kept_readings(path, token)}
    for reading in new:
        first = merged.get(reading.identity, reading)
        merged[reading.identity] = replace(reading, source=first.source)
    readings = tuple(sorted(merged.values(), key=lambda r: (r.source.file, r.source.place)))
    content = ScanFile(format=FILE_FORMAT, token=token, readings=readings)
    write_whole(path, msgspec.json.encode(content) + b"\n")
    return readings
