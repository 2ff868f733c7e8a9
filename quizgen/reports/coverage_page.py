"""The coverage report as a page: plain texts and drawings, ready for the templates.

A square of the heat map says with a word, a sign and a pattern what its tint says too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from quizgen.base.proportion import wilson
from quizgen.items.item import LEVELS
from quizgen.items.topics import GROUPS, topic_map, topic_name
from quizgen.publish.view import Heading
from quizgen.reports.charts import Bar, Chart, trend
from quizgen.reports.coverage import CellFigures, ClassCoverage, Coverage, ElementFigures
from quizgen.reports.coverage_counts import Figures
from quizgen.reports.wording import NONE, belief_name, percent

MOST_CLASSES = 12  # classes that a page shows in full
MOST_PRINTED = 60  # classes that paper lists; nobody looks up one of hundreds there
IDEAS = 4  # mistaken ideas that get a drawing
AT_RISK = 40  # students that a page lists

STATES = {
    "good": ("●", "enough are right"),
    "open": ("○", "undecided"),
    "weak": ("▼", "too few are right"),
    "unmet": ("□", "planned, not met"),
    "none": ("", "never planned"),
}
"""State of a square → its sign and word."""
GROUP_NAMES = dict(
    zip(GROUPS, ("Circuits", "Faults", "Instruments", "Reasoning"), strict=True)
) | {"": "No longer in the topic map"}  # fmt: skip
CELL_HEADS = (
    "Topic", "Level", "Planned", "Met", "Last met", "Weeks", "Asked", "Answered", "Right",
    "95 %", "Mastered", "Perhaps", "Behind", "Undecided",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Square:
    """One cell of the heat map; `told` is all of it in a sentence."""

    state: str
    text: str
    small: str
    told: str


@dataclass(frozen=True, kw_only=True)
class MapRow:
    """A topic and its squares by level."""

    topic: str
    squares: tuple[Square, ...]


@dataclass(frozen=True, kw_only=True)
class MapGroup:
    """Topics of one group; those that no set was about are named only."""

    name: str
    rows: tuple[MapRow, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ClassPage:
    """A class with everything about it."""

    anchor: str
    name: str
    about: str
    facts: tuple[tuple[str, str], ...]
    groups: tuple[MapGroup, ...]
    course: Chart | None
    ideas: tuple[tuple[str, Chart], ...]
    pair_heads: tuple[str, ...]
    pairs: tuple[tuple[str, ...], ...]
    at_risk: tuple[tuple[str, tuple[str, ...]], ...]
    more_at_risk: int
    replace: tuple[tuple[str, ...], ...]
    sets: tuple[tuple[str, ...], ...]
    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class CoveragePage:
    """The whole report; `classes` are those in full, `overview` all but `unlisted` of them."""

    facts: tuple[tuple[str, str], ...]
    cut: str
    groups: tuple[MapGroup, ...]
    overview: tuple[tuple[str, tuple[str, ...]], ...]  # anchor, cells
    unlisted: int
    elements: tuple[tuple[str, ...], ...]
    workshop: tuple[tuple[str, str], ...]
    classes: tuple[ClassPage, ...]


def coverage_page(report: Coverage, *, printed: bool = False) -> CoveragePage:
    """The page of a report. For print it lists of many classes those that need it most."""
    cut, many = report.wanted.cut, len(report.classes) > MOST_CLASSES
    shown = () if many else report.classes
    listed = {id(found) for found in (_weakest(report) if printed else report.classes)}
    anchors = [f"class-{number}" for number, _ in enumerate(report.classes, 1)]
    return CoveragePage(
        facts=(
            (str(len(report.classes)), "classes"),
            (str(sum(c.students for c in report.classes)), "students"),
            (str(sum(len(c.sets) for c in report.classes)), "sets"),
            (str(sum(s.asked for c in report.classes for s in c.sets)), "answers asked for"),
        ),
        cut=percent(cut),
        groups=tuple(_groups(report.cells, cut)),
        overview=tuple(
            ("" if many else anchor, _overview(found))
            for anchor, found in zip(anchors, report.classes, strict=True)
            if id(found) in listed
        ),
        unlisted=len(report.classes) - len(listed),
        elements=element_rows(report.elements),
        workshop=workshop_rows(report.elements),
        classes=tuple(
            class_page(found, cut, anchor) for anchor, found in zip(anchors, shown, strict=False)
        ),
    )  # fmt: skip


def heading_of_report(report: Coverage, title: str = "Topics met and mastered") -> Heading:
    """The top of the page."""
    wanted = report.wanted
    said = (wanted.school_class, wanted.course, wanted.term)
    return Heading(
        college="", course=" · ".join(filter(None, said)), title=title,
        week=f"Until {wanted.day}", instructor=wanted.instructor,
    )  # fmt: skip


def class_page(found: ClassCoverage, cut: float, anchor: str = "") -> ClassPage:
    """Everything about one class."""
    heads, pairs = _pairs(found)
    given = [s for s in found.sets if s.asked]
    said = (found.course, found.term, ", ".join(found.instructors))
    return ClassPage(
        anchor=anchor, name=class_name(found), about=" · ".join(filter(None, said)),
        facts=(
            (str(found.students), "students"), (str(len(found.sets)), "sets planned"),
            (str(found.answered), "sets answered"),
            (str(found.pending), "doubtful marks left out"),
        ),
        groups=tuple(_groups(found.cells, cut)),
        course=trend([_bar(s.day[5:], s.right, s.asked) for s in given],
                     "Share of right answers, set by set") if given else None,
        ideas=tuple(
            (f"{belief_name(b.name)}: {b.shown} of {b.chances} answers",
             trend([_bar(day[5:], shown, n) for day, shown, n in b.course],
                   f"Share of answers that show: {belief_name(b.name)}"))
            for b in found.beliefs[:IDEAS]
        ),
        pair_heads=heads, pairs=pairs,
        at_risk=tuple((f"{a.name} ({a.student})" if a.name else a.student, a.evidence)
                      for a in found.at_risk[:AT_RISK]),
        more_at_risk=max(0, len(found.at_risk) - AT_RISK),
        replace=tuple((r.set, f"{r.form}/{r.number}", f"{r.right} of {r.students}", r.why)
                      for r in found.replace),
        sets=tuple((s.day, s.name, s.instructor or NONE, str(s.questions), str(s.handed_in),
                    _share(s.right, s.asked)) for s in found.sets),
        cells=tuple(cell_row(cell) for cell in found.cells),
    )  # fmt: skip


def class_name(found: ClassCoverage) -> str:
    """The class, or what stands for none."""
    return found.name or "Sets without a class"


def _bar(label: str, count: int, total: int) -> Bar:
    low, high = wilson(count, total)
    return Bar(label=label, share=count / total if total else 0.0, low=low, high=high)


def _share(count: int, total: int) -> str:
    return percent(count / total) if total else NONE


def _weakest(report: Coverage) -> list[ClassCoverage]:
    """The classes with the smallest share of right answers; none where nobody answered."""

    def share(found: ClassCoverage) -> float:
        asked = sum(s.asked for s in found.sets)
        return sum(s.right for s in found.sets) / asked if asked else 1.0

    return sorted(report.classes, key=share)[:MOST_PRINTED]


def _overview(found: ClassCoverage) -> tuple[str, ...]:
    asked, right = (sum(getattr(s, name) for s in found.sets) for name in ("asked", "right"))
    return (
        class_name(found), found.term or NONE, ", ".join(found.instructors) or NONE,
        str(found.students), f"{found.answered} of {len(found.sets)}", _share(right, asked),
        str(len(found.at_risk)),
    )  # fmt: skip


def _groups(cells: Iterable[CellFigures], cut: float) -> Iterator[MapGroup]:
    """The heat map, group by group; a group without any cell is left out."""
    found = {(c.topic, c.level): c for c in cells}
    there = dict.fromkeys(topic for topic, _ in found)
    known = topic_map()
    for group in (*GROUPS, ""):
        of_group = [t.id for t in known.values() if t.group == group]
        topics = of_group if group else [topic for topic in there if topic not in known]
        rows = tuple(
            MapRow(
                topic=topic_name(topic),
                squares=tuple(_square(topic, v, found.get((topic, v)), cut) for v in LEVELS),
            )
            for topic in topics
            if topic in there
        )
        if rows:
            left_out = tuple(topic_name(topic) for topic in topics if topic not in there)
            yield MapGroup(name=GROUP_NAMES[group], rows=rows, left_out=left_out)


def state_of(figures: Figures, cut: float) -> str:
    """Which of `STATES` a cell is in, by the whole interval of the class's share."""
    if not figures.asked:
        return "unmet" if figures.planned else "none"
    low, high = wilson(figures.right, figures.asked)
    return "good" if low >= cut else "weak" if high < cut else "open"


def _square(topic: str, level: str, cell: CellFigures | None, cut: float) -> Square:
    figures = cell.figures if cell else Figures()
    state = state_of(figures, cut)
    where = f"{topic_name(topic)}, {level}: {STATES[state][1]}"
    if cell is None or state == "none":
        return Square(state="none", text="", small="", told=where)
    if state == "unmet":
        return Square(state=state, text=STATES[state][0], small=f"{figures.planned} planned",
                      told=f"{where}, {figures.planned} places")  # fmt: skip
    share = _share(figures.right, figures.asked)
    return Square(
        state=state, text=f"{STATES[state][0]} {share}",
        small=f"{figures.mastered}/{figures.students} · {cell.weeks} wk",
        told=f"{where}, {share} right of {figures.asked}, mastered by {figures.mastered} of "
        f"{figures.students} students, met last {cell.weeks} weeks ago",
    )  # fmt: skip


def cell_row(cell: CellFigures) -> tuple[str, ...]:
    """A cell under `CELL_HEADS`."""
    f = cell.figures
    return (topic_name(cell.topic), cell.level, *figure_cells(f, cell.weeks))


def figure_cells(f: Figures, weeks: int | None) -> tuple[str, ...]:
    """The figures behind topic and level."""
    low, high = wilson(f.right, f.asked)
    return (
        str(f.planned), str(f.delivered), f.last or NONE, NONE if weeks is None else str(weeks),
        str(f.asked), str(f.answered), _share(f.right, f.asked),
        f"{low * 100:.0f}–{high * 100:.0f}" if f.asked else NONE,
        str(f.mastered), str(f.likely), str(f.behind), str(f.too_little),
    )  # fmt: skip


def element_rows(elements: Sequence[ElementFigures]) -> tuple[tuple[str, ...], ...]:
    """Competencies that paper can show."""
    return tuple(
        (e.element.code, e.element.label, str(e.figures.planned), str(e.figures.delivered),
         str(e.figures.asked), _share(e.figures.right, e.figures.asked),
         f"{e.figures.mastered} of {e.figures.students}" if e.figures.asked
         else "not enough evidence")
        for e in elements if e.on_paper
    )  # fmt: skip


def workshop_rows(elements: Sequence[ElementFigures]) -> tuple[tuple[str, str], ...]:
    """Competencies that only the workshop can show."""
    return tuple((e.element.code, e.element.label) for e in elements if not e.on_paper)


def _pairs(found: ClassCoverage) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Faults down, instruments across."""
    met = {(p.fault, p.instrument): p.places for p in found.pairs}
    tools = [t for t in topic_map() if any(tool == t for _, tool in met)]
    faults = [t for t in topic_map() if any(fault == t for fault, _ in met)]
    rows = tuple(
        (topic_name(fault), *(str(met.get((fault, tool), NONE)) for tool in tools))
        for fault in faults
    )
    return ("Fault", *(topic_name(tool) for tool in tools)), rows
