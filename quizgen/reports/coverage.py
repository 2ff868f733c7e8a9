"""Coverage: what was planned, delivered, answered and mastered, class by class.

The records here are what every form of the report is made from: terminal, JSON, CSV, pages.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import chain

import msgspec

from quizgen.base.collecting import no_collecting
from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.items.item import LEVELS
from quizgen.items.topics import topic_id, topic_map
from quizgen.reports.competencies import Element
from quizgen.reports.coverage_answers import Columns, Key, KeysOf
from quizgen.reports.coverage_counts import ClassCounts, Figures, count_classes, together
from quizgen.reports.coverage_watch import AtRisk, Replace, at_risk, to_replace
from quizgen.reports.mastery import CUT
from quizgen.store.classes import SchoolClass, Taught, instructors, school_classes, taught
from quizgen.store.database import Store


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What to report on; "" stands for all. `day` is what weeks are counted back from."""

    day: date
    school_class: str = ""
    course: str = ""
    term: str = ""
    instructor: str = ""
    cut: float = CUT


class CellFigures(msgspec.Struct, frozen=True):
    """A topic at a level. `weeks` since it was met last; None for never."""

    topic: str
    level: str
    figures: Figures
    weeks: int | None


@dataclass(frozen=True, kw_only=True)
class ElementFigures:
    """A competency; `on_paper` is False for what only the workshop can show."""

    element: Element
    figures: Figures
    on_paper: bool


class Pair(msgspec.Struct, frozen=True):
    """At how many places a fault was met with an instrument."""

    fault: str
    instrument: str
    places: int


@dataclass(frozen=True, kw_only=True)
class BeliefCourse:
    """A mistaken idea over time: (day, shown, chances) for each set that could show it."""

    name: str
    course: tuple[tuple[str, int, int], ...]

    @property
    def shown(self) -> int:
        """How often, in all."""
        return sum(shown for _, shown, _ in self.course)

    @property
    def chances(self) -> int:
        """Of how many answers."""
        return sum(chances for _, _, chances in self.course)


@dataclass(frozen=True, kw_only=True)
class SetFigures:
    """One set of a class: how many handed it in, how much of what was asked was right."""

    name: str
    day: str
    instructor: str
    questions: int
    handed_in: int
    asked: int
    right: int


@dataclass(frozen=True, kw_only=True)
class ClassCoverage:
    """All about one class. Its name is "" where sets were given to none."""

    name: str
    course: str
    term: str
    instructors: tuple[str, ...]
    students: int
    pending: int
    sets: tuple[SetFigures, ...]
    cells: tuple[CellFigures, ...]
    elements: tuple[ElementFigures, ...]
    pairs: tuple[Pair, ...]
    beliefs: tuple[BeliefCourse, ...]
    at_risk: tuple[AtRisk, ...]
    replace: tuple[Replace, ...]

    @property
    def answered(self) -> int:
        """Sets that somebody handed in."""
        return sum(s.handed_in > 0 for s in self.sets)


@dataclass(frozen=True, kw_only=True)
class Coverage:
    """The report. `cells` and `elements` take all classes together."""

    wanted: Wanted
    classes: tuple[ClassCoverage, ...]
    cells: tuple[CellFigures, ...]
    elements: tuple[ElementFigures, ...]


def coverage(
    store: Store, wanted: Wanted, elements: Sequence[Element] = (),
    progress: Callable[[str], None] = lambda _: None,
) -> Coverage:  # fmt: skip
    """The coverage of the classes that are wanted; without classes where the store is empty.

    Raises InputError for a class, course, term or instructor that the store does not know.
    """
    _check(store, wanted)
    with no_collecting():
        counted = count_classes(
            _taught(store, wanted, progress), Columns(_keys_of(elements)), Columns(_pairs_of),
            wanted.cut,
        )  # fmt: skip
        classes = [_of_class(found, counts, elements, wanted) for found, counts in counted]
        return Coverage(
            wanted=wanted, classes=tuple(classes), cells=_merged(classes, wanted.day),
            elements=tuple(
                ElementFigures(
                    element=element, on_paper=bool(element.cells),
                    figures=together(c.elements[i].figures for c in classes),
                )
                for i, element in enumerate(elements)
            ),
        )  # fmt: skip


def _taught(store: Store, wanted: Wanted, progress: Callable[[str], None]) -> Iterator[Taught]:
    """The classes that are wanted, with the lessons that are."""
    for every in taught(store, lambda c: _chosen(c, wanted)):
        mine = (k for k in every.lessons if wanted.instructor in ("", k.instructor))
        found = replace(every, lessons=tuple(mine))
        if found.lessons or not wanted.instructor:
            progress(f"class {found.school_class.name}")
            yield found


def _check(store: Store, wanted: Wanted) -> None:
    known = school_classes(store)
    for what, word, names in (
        ("class", wanted.school_class, [c.name for c in known]),
        ("course", wanted.course, [c.course for c in known]),
        ("term", wanted.term, [c.term for c in known]),
        ("instructor", wanted.instructor, instructors(store)),
    ):
        if word and word not in names:
            raise InputError(f"no {what} {shown(word)}{suggest(word, dict.fromkeys(names))}")


def _chosen(school_class: SchoolClass, wanted: Wanted) -> bool:
    return (
        wanted.school_class in ("", school_class.name)
        and wanted.course in ("", school_class.course)
        and wanted.term in ("", school_class.term)
    )


def _keys_of(elements: Sequence[Element]) -> KeysOf:
    """What a question counts for: its cells and the competencies that they belong to."""

    @cache
    def keys_of_topic(topic: str, level: str) -> tuple[Key, ...]:
        now = topic_id(topic)
        met = (("element", e.framework, e.code) for e in elements if e.met_by(now, level))
        return (("cell", now, level), *met)

    def keys(subjects: tuple[str, ...], level: str) -> Iterator[Key]:
        return chain.from_iterable(keys_of_topic(topic, level) for topic in subjects)

    return keys


def _group(topic: str) -> str:
    return topic_map()[topic].group if topic in topic_map() else ""


def _pairs_of(subjects: tuple[str, ...], level: str) -> tuple[Key, ...]:
    """Each fault that a question is about with each of its instruments, at any level."""
    now = [topic_id(subject) for subject in subjects]
    faults = dict.fromkeys(topic for topic in now if _group(topic) == "faults")
    tools = dict.fromkeys(topic for topic in now if _group(topic) == "instruments")
    return tuple(("pair", fault, tool) for fault in faults for tool in tools)


def _of_class(
    found: Taught, counts: ClassCounts, elements: Sequence[Element], wanted: Wanted
) -> ClassCoverage:
    nobody = Figures(too_little=len(counts.students))
    return ClassCoverage(
        name=found.school_class.name, course=found.school_class.course,
        term=found.school_class.term, students=len(counts.students), pending=counts.pending,
        instructors=tuple(sorted({k.instructor for k in found.lessons} - {""})),
        sets=tuple(_sets(found, counts)),
        cells=_cells(
            [((t, lv), f) for (sort, t, lv), f in counts.figures.items() if sort == "cell"],
            wanted.day,
        ),
        elements=tuple(
            ElementFigures(
                element=e, on_paper=bool(e.cells),
                figures=counts.figures.get(("element", e.framework, e.code), nobody),
            )
            for e in elements
        ),
        pairs=tuple(
            Pair(fault, tool, places)
            for (_, fault, tool), places in sorted(counts.places.items())
        ),
        beliefs=_beliefs(found), at_risk=at_risk(found, counts, wanted.cut),
        replace=to_replace(found, counts),
    )  # fmt: skip


def _cells(
    figures: Iterable[tuple[tuple[str, str], Figures]], day: date
) -> tuple[CellFigures, ...]:
    """Cells in the order of the topic map, unknown topics last, and of the levels."""
    found = sorted(figures, key=lambda pair: _place(pair[0]))
    return tuple(CellFigures(*cell, f, weeks_since(f.last, day)) for cell, f in found)


@cache
def _place(cell: tuple[str, str]) -> tuple[int, str, int, str]:
    topic, level = cell
    order = {known: i for i, known in enumerate(topic_map())}
    levels = {known: i for i, known in enumerate(LEVELS)}
    return order.get(topic, len(order)), topic, levels.get(level, len(levels)), level


@cache
def weeks_since(last: str, day: date) -> int | None:
    """Whole weeks from a day (ISO 8601) to `day`; None for "", 0 for a day still to come.

    >>> weeks_since("2026-09-01", date(2026, 9, 20)), weeks_since("", date(2026, 9, 20))
    (2, None)
    """
    return max(0, (day - date.fromisoformat(last)).days // 7) if last else None


def _merged(classes: Sequence[ClassCoverage], day: date) -> tuple[CellFigures, ...]:
    """All classes together; who never met a cell counts as undecided."""
    parts: dict[tuple[str, str], list[Figures]] = defaultdict(list)
    for found in classes:
        for cell in found.cells:
            parts[cell.topic, cell.level].append(cell.figures)
    students = sum(found.students for found in classes)
    merged = []
    for where, those in parts.items():
        sums = together(those)
        apart = students - sums.students
        more = sums.too_little + apart
        merged.append((where, msgspec.structs.replace(sums, too_little=more)))
    return _cells(merged, day)


def _sets(found: Taught, counts: ClassCounts) -> Iterator[SetFigures]:
    asked, right = counts.asked.sum(axis=1).tolist(), counts.right.sum(axis=1).tolist()
    for i, lesson in enumerate(found.lessons):
        yield SetFigures(
            name=lesson.name, day=lesson.day, instructor=lesson.instructor,
            questions=max(lesson.tally.forms.values(), default=0),
            handed_in=len(lesson.tally.students),
            asked=asked[i], right=right[i],
        )  # fmt: skip


def _beliefs(found: Taught) -> tuple[BeliefCourse, ...]:
    """Mistaken ideas, the most often shown first."""
    courses: dict[str, list[tuple[str, int, int]]] = defaultdict(list)
    for lesson in found.lessons:
        for belief, (times, chances) in lesson.tally.beliefs.items():
            if chances:
                courses[belief].append((lesson.day, times, chances))
    every = (BeliefCourse(name=b, course=tuple(c)) for b, c in courses.items())
    return tuple(sorted((b for b in every if b.shown), key=lambda b: (-b.shown, b.name)))
