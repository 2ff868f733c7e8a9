"""Results for a school's gradebook: OneRoster 1.2 CSV, a zip of tables.

Source: 1EdTech OneRoster CSV binding 1.2 (names of files and columns, their order, `bulk` and
`absent`, blank `status` and `dateLastModified` in bulk sets). The columns of categories.csv are
from memory. Classes, users, sessions and schools are the school's own and stay `absent`: their ids
are those of the school's lists, or are given by whoever exports. Where the class came from lists a
student goes by the id there, and who is on none is left out: a reader would refuse the whole set
for an id that it does not know. Else a student's id is the `id` of the roster.

A set is one line item. Points go out as they are where all students could have the same number,
else as per cent. A result with a mark that nobody has decided is `partially graded`. The share of
points for each topic goes into resultLearningObjectiveIds.csv.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from quizgen.base.cells import Cell, csv_text, safe_cell
from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.score import Result
from quizgen.reports.results import students_of
from quizgen.store.contents import Graded

FILES = (
    "academicSessions", "categories", "classes", "classResources", "courses", "courseResources",
    "demographics", "enrollments", "lineItemLearningObjectiveIds", "lineItems",
    "lineItemScoreScales", "orgs", "resources", "resultLearningObjectiveIds", "results",
    "resultScoreScales", "roles", "scoreScales", "userProfiles", "userResources", "users",
)  # fmt: skip
OURS = ("sourcedId", "status", "dateLastModified")  # every table begins with these
CATEGORIES = (*OURS, "title", "weight")
LINE_ITEMS = (
    *OURS, "title", "description", "assignDate", "dueDate", "classSourcedId", "categorySourcedId",
    "academicSessionSourcedId", "resultValueMin", "resultValueMax", "schoolSourcedId",
)  # fmt: skip
RESULTS = (
    *OURS, "lineItemSourcedId", "studentSourcedId", "scoreStatus", "score", "scoreDate", "comment",
    "textScore", "classSourcedId", "inProgress", "incomplete", "late", "missing",
)  # fmt: skip
OBJECTIVES = (
    *OURS, "resultSourcedId", "source", "learningObjectiveId", "score", "textScore",
)  # fmt: skip
BULK: tuple[Cell, Cell] = (None, None)  # status and date of a row in a bulk set
FIXED_TIME = (1980, 1, 1, 0, 0, 0)  # the same results give the same bytes


@dataclass(frozen=True, kw_only=True)
class Place:
    """The school's ids for where the set was given, and the day of the export (YYYY-MM-DD).

    `students` are the roster's ids → the school's; None where the school uses the roster's.
    """

    school: str
    klass: str
    session: str
    today: str
    students: Mapping[str, str] | None = None

    def sourced_id(self, student: str) -> str:
        """The school's id of a student, "" for one whom its lists do not have."""
        return student if self.students is None else self.students.get(student, "")


def unlisted(
    problem_set: ProblemSet, everything: Sequence[Graded], place: Place
) -> tuple[str, ...]:
    """Students who are left out, since the school's lists do not have them."""
    students = students_of(problem_set, everything)
    return tuple(s.id for s in students if not place.sourced_id(s.id))


def oneroster_zip(problem_set: ProblemSet, everything: Sequence[Graded], place: Place) -> bytes:
    """The zip archive. Raises InputError for an id that a spreadsheet would run as a formula."""
    students = [place.sourced_id(s.id) for s in students_of(problem_set, everything)]
    for id_ in (*students, place.school, place.klass, place.session):
        if safe_cell(id_) != id_:
            raise InputError(f"{shown(id_)}: an id that begins like a formula cannot be exported")
    tables: dict[str, list[Sequence[Cell]]] = {
        "categories": [CATEGORIES, ("quizgen", *BULK, "Problem sets", None)],
        "lineItems": [LINE_ITEMS, _line_item(problem_set, everything, place)],
        "results": [RESULTS, *_results(problem_set, everything, place)],
        "resultLearningObjectiveIds": [OBJECTIVES, *_objectives(problem_set, everything, place)],
    }
    tables = {name: rows for name, rows in tables.items() if len(rows) > 1}  # none without rows
    manifest: list[Sequence[Cell]] = [
        ("propertyName", "value"), ("manifest.version", "1.0"), ("oneroster.version", "1.2"),
        *((f"file.{name}", "bulk" if name in tables else "absent") for name in FILES),
        ("source.systemName", "quizgen"), ("source.systemCode", problem_set.token),
    ]  # fmt: skip
    return _zipped({"manifest": manifest, **tables})


def _zipped(tables: dict[str, list[Sequence[Cell]]]) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, rows in tables.items():
            archive.writestr(zipfile.ZipInfo(f"{name}.csv", FIXED_TIME), csv_text(rows).encode())
    return content.getvalue()


def _line(problem_set: ProblemSet) -> str:
    return f"quizgen-{problem_set.token}"


def _most(everything: Sequence[Graded]) -> int:
    """What all students could have had, or 0 where it differs."""
    found = {g.result.out_of for g in everything}
    return found.pop() if len(found) == 1 else 0


def _line_item(
    problem_set: ProblemSet, everything: Sequence[Graded], place: Place
) -> tuple[Cell, ...]:
    days = sorted(g.at[:10] for g in everything if g.at) or [place.today]
    most = _most(everything)
    return (
        _line(problem_set), *BULK, problem_set.title,
        problem_set.week if most else f"{problem_set.week} (per cent)".strip(), days[0], days[-1],
        place.klass, "quizgen", place.session, 0.0, float(most or 100), place.school,
    )  # fmt: skip


def _results(
    problem_set: ProblemSet, everything: Sequence[Graded], place: Place
) -> Iterator[tuple[Cell, ...]]:
    found = {g.given.student: g for g in everything}
    most = _most(everything)
    for student in students_of(problem_set, everything):
        if not (sourced_id := place.sourced_id(student.id)):
            continue
        graded = found.get(student.id)
        status, score, day = "not submitted", None, place.today
        if graded:
            status = "partially graded" if graded.result.pending else "fully graded"
            score = graded.result.points if most else _percent(graded.result)
            day = graded.at[:10] or place.today
        undecided = bool(graded and graded.result.pending)
        yield (
            f"{_line(problem_set)}-{student.id}", *BULK, _line(problem_set), sourced_id, status,
            score, day, None, None, place.klass, _truth(undecided), _truth(undecided),
            _truth(False), _truth(graded is None),
        )  # fmt: skip


def _objectives(
    problem_set: ProblemSet, everything: Sequence[Graded], place: Place
) -> Iterator[tuple[Cell, ...]]:
    topics = {slot.number: slot.topic for slot in problem_set.slots}
    for graded in (g for g in everything if place.sourced_id(g.result.student)):
        by_topic: dict[str, list[float]] = {}
        for mark in graded.result.marks:
            if mark.verdict not in ("withdrawn", "doubtful") and mark.item in topics:
                by_topic.setdefault(topics[mark.item], []).append(mark.points)
        result = f"{_line(problem_set)}-{graded.result.student}"
        for topic, points in sorted(by_topic.items()):
            share = round(100 * sum(points) / len(points), 2)
            yield (f"{result}-{topic}", *BULK, result, "unknown", topic, share, None)


def _percent(result: Result) -> float:
    return round(100 * result.share, 2)


def _truth(value: bool) -> str:
    return "true" if value else "false"
