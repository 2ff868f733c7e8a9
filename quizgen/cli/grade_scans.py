"""Scanned sheets of a set: read, kept beside the set, and settled by what people decided."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.intake import Read, ScanReader
from quizgen.grading.scans import keep_readings, kept_readings, read_scans, scan_file_of
from quizgen.grading.settling import settle
from quizgen.store.database import Store
from quizgen.store.decisions import decisions


def scan_reader(
    set_file: Path, problem_set: ProblemSet, store: Store, progress: Callable[[str], None]
) -> ScanReader:
    """A reader of scans that keeps what it read beside the set, for `quizgen grade review`."""
    token = problem_set.token

    def read(paths: Sequence[Path]) -> Read:
        kept = scan_file_of(set_file)
        kept_readings(kept, token)  # a file of something else is found before the work is done
        scanned = read_scans(paths, problem_set, progress)
        readings = keep_readings(kept, token, scanned.readings)
        settled = settle(readings, verdicts(store, token), problem_set)
        now = {reading.identity for reading in scanned.readings}
        pages = {reading.source for reading in readings if reading.identity in now}
        remarks = [*scanned.remarks, *settled.remarks]
        if settled.doubts:
            remarks.append(f"{_waiting(len(settled.doubts))}: quizgen grade review {set_file}")
        return Read(
            students=tuple(given for given in settled.students if given.source in pages),
            problems=scanned.problems,
            remarks=tuple(remarks),
        )

    return read


def _waiting(count: int) -> str:
    if count == 1:
        return "1 question about a scanned sheet waits for a person"
    return f"{count} questions about scanned sheets wait for a person"


def verdicts(store: Store, token: str) -> dict[str, str]:
    """What was decided about each subject."""
    return {subject: held.verdict for subject, held in decisions(store, token).items()}
