"""Next week's plan: questions on the largest holes of a class, each with its reason.

A hole is a cell (topic and level) that was never met, whose answers are surely below the cut, that
was met too long ago, or that too few answers speak about; in this order, but at most every other
question goes to what is new while something older waits. Only topics of circuits can be planned;
faults, instruments and reasoning come with them. A cell is suggested only where several pairs of
circuit and kind can fill it, so that the plan can be built whatever one of them yields.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from math import ceil

from quizgen.circuit.template import shipped_templates
from quizgen.forms.plan import all_topics, topics_of
from quizgen.items.item import LEVELS
from quizgen.items.kinds import KINDS
from quizgen.items.topics import topic_id, topic_name
from quizgen.reports.coverage import CellFigures, Coverage
from quizgen.reports.coverage_page import state_of
from quizgen.reports.wording import percent
from quizgen.scenario.scenario import Scenario

FEWEST_WAYS = 3  # pairs of circuit and kind that can fill a cell
LONG_AGO = 4  # weeks
NEW = "never met"
TWICE = 2  # questions on a weak cell


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A cell worth asking about: how urgent, how many questions, and why."""

    topic: str
    level: str
    weight: float
    count: int
    why: str


def families_of(scenario: Scenario) -> tuple[str, ...]:
    """The circuits that the scenario's machines carry."""
    carried = {c.family for machine in scenario.machines for c in machine.carries}
    return tuple(f for f in shipped_templates() if f in carried)


def holes(report: Coverage, families: Sequence[str]) -> tuple[Hole, ...]:
    """All holes that `families` can close, the largest first."""
    found = {(c.topic, c.level): c for c in report.cells}
    kinds = Counter(kind.level for kind in KINDS.values())
    known = {topic: sum(topic in topics_of(f) for f in families) for topic in all_topics(families)}
    every = [
        hole
        for topic, circuits in known.items()
        for level in LEVELS
        if circuits * kinds[level] >= FEWEST_WAYS
        and (hole := _hole(topic, level, found.get((topic_id(topic), level)), report.wanted.cut))
    ]
    # of two that are as urgent, the topic that more circuits are about, and the easier level
    order = {level: i for i, level in enumerate(LEVELS)}
    return tuple(sorted(every, key=lambda h: (-h.weight, -known[h.topic], order[h.level], h.topic)))


def _hole(topic: str, level: str, cell: CellFigures | None, cut: float) -> Hole | None:
    if cell is None:
        return Hole(topic=topic, level=level, weight=3.0, count=1, why=NEW)
    f, weeks = cell.figures, cell.weeks
    if not f.delivered or weeks is None:
        return None  # a set that waits for its day is about it
    share = f"{f.right} of {f.asked} right ({percent(f.right / f.asked)})" if f.asked else ""
    ago = "this week" if weeks == 0 else f"{weeks} week{'s' if weeks > 1 else ''} ago"
    if state_of(f, cut) == "weak":
        weight = 2.0 + cut - f.right / f.asked
        why = f"{share}, surely below {percent(cut)}; met {ago}"
        return Hole(topic=topic, level=level, weight=weight, count=TWICE, why=why)
    if weeks >= LONG_AGO:
        why = f"met last {ago}; {share or 'no answers'}"
        return Hole(topic=topic, level=level, weight=1.0 + weeks / 100, count=1, why=why)
    if f.too_little * 2 > f.students:
        why = f"too few answers to say of {f.too_little} of {f.students} students"
        return Hole(topic=topic, level=level, weight=f.too_little / f.students, count=1, why=why)
    return None


def chosen_holes(every: Iterable[Hole], items: int) -> tuple[Hole, ...]:
    """As many as `items` questions close: spread over topics and levels before any comes again."""
    every = list(every)
    new, old = ([h for h in every if (h.why == NEW) is fresh] for fresh in (True, False))
    every = [h for pair in zip_longest(new, old) for h in pair if h]
    levels = max(1, len({h.level for h in every}))
    taken: list[Hole] = []
    for most in range(1, len(LEVELS) + 1):
        topics, by_level = Counter(h.topic for h in taken), Counter(h.level for h in taken)
        for hole in every:
            left = items - sum(h.count for h in taken)
            full = by_level[hole.level] >= most * ceil(items / levels)
            if hole in taken or topics[hole.topic] >= most or full or hole.count > left:
                continue
            taken.append(hole)
            topics[hole.topic] += 1
            by_level[hole.level] += 1
    return tuple(taken)


def plan_text(
    report: Coverage, scenario: Scenario, name: str, week: str, chosen: Sequence[Hole]
) -> str:
    """The plan file, with the reason above each count."""
    wanted = report.wanted
    who = wanted.school_class or "all classes together"
    topics: dict[str, list[Hole]] = {}
    for hole in chosen:
        topics.setdefault(hole.topic, []).append(hole)
    title = ", ".join(topic_name(topic) for topic in list(topics)[:3])
    lines = [
        f"# Next week for {who}: the largest holes on {wanted.day}.".replace("\n", " "),
        f"# Build it:  quizgen set build {name}.yaml --secret course-secret.txt",
        "format: 1",
        f"name: {name}",
        f"title: {title[:1].upper()}{title[1:]}",
        f"week: {week}",
        f"scenario: {scenario.name}",
        "forms: 2",
        "# The class: a CSV file with columns id and name; without it the scenario's students.",
        "# roster: class.csv",
        "",
        "blueprint:",
        *_blueprint(topics),
    ]
    return "\n".join(lines) + "\n"


def _blueprint(topics: Mapping[str, Sequence[Hole]]) -> Iterator[str]:
    for topic, those in topics.items():
        yield f"  {topic}:"
        for hole in sorted(those, key=lambda h: LEVELS.index(h.level)):
            yield f"    # {hole.why}"
            yield f"    {hole.level}: {hole.count}"
