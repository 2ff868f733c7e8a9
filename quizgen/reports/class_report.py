"""The class report as it stands on the page: words, tables, charts.

First what to do (teach again, look at), then what it rests on, then every question.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import mean, median, pstdev

from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import Amendment, item_at
from quizgen.publish.view import Heading
from quizgen.reports.charts import Bar, Chart, histogram, intervals, score_bins, short
from quizgen.reports.class_figures import Belief, ClassFigures, Reliability
from quizgen.reports.question_figures import Choice, QuestionFigures
from quizgen.reports.remarks import Check, checks, reteach, warnings
from quizgen.reports.wording import (
    NONE,
    belief_name,
    belief_sentence,
    heading_of,
    percent,
    plain,
    points_words,
    signed,
)
from quizgen.store.contents import Graded

MOST_LISTED = 60  # students; a larger class is in the export
MOST_BELIEFS = 10
MOST_TABLES = 60  # questions with a table of their options
MOST_ROWS = 120  # questions in one table
LABEL = 40  # characters beside a bar
FEWEST = 2  # students of a form, for its questions to be shown apart
NAMED = 8  # questions named after a mistaken idea


@dataclass(frozen=True, kw_only=True)
class Taught:
    """A mistaken idea to teach again: its name, why one falls for it, how common, where."""

    name: str
    why: str
    share: str
    where: str


@dataclass(frozen=True, kw_only=True)
class OptionTable:
    """A question with a row for every option: letter, text, n, share, r, thirds, idea."""

    name: str
    about: str
    text: str
    figures: str
    rows: tuple[tuple[bool, tuple[str, ...]], ...]  # right?, cells
    blank: int
    several: bool


@dataclass(frozen=True, kw_only=True)
class ClassReport:
    """All that is printed."""

    heading: Heading
    facts: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    taught: tuple[Taught, ...]
    checks: tuple[Check, ...]
    scores: Chart | None
    difficulty: Chart | None
    beliefs: Chart | None
    reliabilities: tuple[tuple[str, ...], ...]
    questions: tuple[tuple[str, ...], ...]
    labelled: bool  # whether questions carry labels
    tables: tuple[OptionTable, ...]
    amendments: tuple[tuple[str, ...], ...]
    students: tuple[tuple[str, ...], ...]
    unlisted: int  # students that do not stand in the table
    missing: tuple[str, ...]


def class_report(
    problem_set: ProblemSet, figures: ClassFigures, everything: Sequence[Graded],
    amendments: Sequence[Amendment] = (),
) -> ClassReport:  # fmt: skip
    """The report on a set's results."""
    shown = figures.places or figures.questions
    out_of = max((g.result.out_of for g in everything), default=0)
    alike = len({g.result.out_of for g in everything}) < 2
    bins, axis = score_bins(figures.shares, out_of if alike else 0)
    listed = len(everything) <= MOST_LISTED
    apart = [q for q in figures.questions if q.withdrawn or q.students >= FEWEST]
    return ClassReport(
        heading=heading_of(problem_set), facts=tuple(_facts(figures, out_of)),
        warnings=warnings(figures), taught=tuple(_taught(b) for b in reteach(figures)),
        checks=checks(figures),
        scores=histogram(bins, axis) if figures.shares else None,
        difficulty=_difficulty(shown),
        beliefs=_belief_chart(figures.beliefs[:MOST_BELIEFS]),
        reliabilities=tuple(
            _reliability(r) for r in figures.reliabilities if not r.form or r.students >= FEWEST
        ),
        questions=tuple(_question(q) for q in (*figures.places, *apart)[:MOST_ROWS]),
        labelled=any(q.label for q in figures.questions),
        tables=tuple(_table(q, problem_set) for q in apart[:MOST_TABLES] if not q.withdrawn),
        amendments=tuple(_amendment(a) for a in amendments),
        students=tuple(_students(problem_set, everything)) if listed else (),
        unlisted=0 if listed else len(everything),
        missing=figures.missing[:MOST_LISTED],
    )  # fmt: skip


def _facts(figures: ClassFigures, out_of: int) -> Iterator[tuple[str, str]]:
    """Large figures with what they are."""
    yield str(figures.students), "students"
    if figures.missing:
        yield str(len(figures.missing)), "without answers"
    if not figures.shares:
        return
    yield percent(mean(figures.shares)), "mean of the points"
    yield percent(median(figures.shares)), "median"
    yield percent(pstdev(figures.shares)), "standard deviation"
    whole = figures.reliabilities[0]
    if not math.isnan(whole.alpha):
        yield f"{whole.alpha:.2f}".replace("-", "−"), "reliability (alpha)"
        yield f"±{whole.error:.1f}", f"points of {out_of}, standard error"


def _taught(belief: Belief) -> Taught:
    low, high = belief.interval
    names = ", ".join(f"{form}/{number}" for form, number in belief.questions[:NAMED])
    if (more := len(belief.questions) - NAMED) > 0:
        names += f" and {more} more"
    word = "Question" if len(belief.questions) == 1 else "Questions"
    return Taught(
        name=belief_name(belief.name), why=belief_sentence(belief.name),
        share=f"{belief.shown} of {belief.chances} answers that could show it, by "
        f"{belief.students} students ({percent(low)} to {percent(high)})",
        where=f"{word} {names}",
    )  # fmt: skip


def _difficulty(questions: Sequence[QuestionFigures]) -> Chart | None:
    bars = [
        Bar(
            label=short(f"{q.name}  {plain(q.topic)}, {q.level}", LABEL), share=q.p,
            low=q.p_interval[0], high=q.p_interval[1],
            note=f"{percent(q.p)}, r {signed(q.r)}",
        )
        for q in questions[:MOST_TABLES] if not q.withdrawn
    ]  # fmt: skip
    return intervals(bars, "Share of points for each question, 95 % interval") if bars else None


def _belief_chart(beliefs: Sequence[Belief]) -> Chart | None:
    bars = [
        Bar(
            label=short(belief_name(b.name), LABEL), share=b.shown / b.chances,
            low=b.interval[0], high=b.interval[1], note=f"{b.shown} of {b.chances}",
        )
        for b in beliefs
    ]  # fmt: skip
    return (
        intervals(bars, "Answers that show a mistaken idea, of those that could") if bars else None
    )


def _reliability(r: Reliability) -> tuple[str, ...]:
    low, high = (_two(end) for end in r.interval)
    return (
        f"Form {r.form}" if r.form else "All", str(r.students), str(r.questions), _two(r.alpha),
        f"{low} to {high}", NONE if math.isnan(r.error) else f"{r.error:.2f}",
    )  # fmt: skip


def _two(value: float) -> str:
    return NONE if math.isnan(value) else f"{value:.2f}".replace("-", "−")


def _question(q: QuestionFigures) -> tuple[str, ...]:
    about = f"{plain(q.topic)}, {q.level}"
    if q.withdrawn:
        return (q.name, about, "withdrawn", "", "", "", "")
    p_low, p_high = (percent(end) for end in q.p_interval)
    r_low, r_high = (signed(end) for end in q.r_interval)
    interval = "" if math.isnan(q.r) else f" ({r_low} to {r_high})"
    return (
        q.name, about, str(q.students), f"{percent(q.p)} ({p_low} to {p_high})",
        f"{signed(q.r)}{interval}", signed(q.d), q.label,
    )  # fmt: skip


def _table(q: QuestionFigures, problem_set: ProblemSet) -> OptionTable:
    item = item_at(problem_set, (q.form, q.number))
    return OptionTable(
        name=q.name, about=f"{item.machine} · {plain(q.kind)} · {q.item}", text=q.text,
        figures=f"Right is {q.key}. {q.students} students, {percent(q.p)} of the points, "
        f"r {signed(q.r)}, D {signed(q.d)}.",
        rows=tuple((c.right, _choice(c)) for c in q.choices), blank=q.blank,
        several=item.response == "several",
    )  # fmt: skip


def _choice(c: Choice) -> tuple[str, ...]:
    said = [belief_name(c.misconception)] if c.misconception else []
    said += ["hardly chosen"] * c.idle + ["drew the better ones"] * c.suspect
    return (
        c.letter, c.text, str(c.count), percent(c.share), signed(c.r),
        f"{percent(c.low)} / {percent(c.high)}", "; ".join(said),
    )  # fmt: skip


def _amendment(a: Amendment) -> tuple[str, ...]:
    change = {"withdraw": "withdrawn", "restore": "printed key again"}.get(
        a.change, f"right is {' or '.join(a.texts)}"
    )
    return (f"{a.form}/{a.number}", change, a.why, a.who)


def _students(problem_set: ProblemSet, everything: Sequence[Graded]) -> Iterator[tuple[str, ...]]:
    names = problem_set.student_names
    for graded in everything:
        result = graded.result
        pending = f", {result.pending} undecided" if result.pending else ""
        yield (
            result.student, names.get(result.student, ""), result.form,
            f"{points_words(result.points)} of {result.out_of}{pending}", percent(result.share),
        )  # fmt: skip
