"""The term that is demonstrated, as its file describes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.circuit.values import check_fields, number, text, the_items, word_of
from quizgen.circuit.values import the_table as table_of
from quizgen.circuit.yaml_reader import Table, Tree, fail, read_file
from quizgen.scenario.reading import check_head, whole

HANDS_IN = ("sheets", "terminal", "table")
PRINTS = ("every", "last")
_HEAD = ("name", "scenario", "course", "starts", "seed", "secret", "classes", "weeks")
_WITHDRAWN = ("class", "week", "item", "why")
_CLASS = ("name", "instructor", "students", "day", "hands_in", "prints", "level", "spread")
_WEEK = ("title", "circuits", "blueprint")


@dataclass(frozen=True, kw_only=True)
class Group:
    """A class. `day` counts from the term's first; `level` and `spread` are logits of ability."""

    name: str
    instructor: int
    students: int
    day: int
    hands_in: str
    prints: str
    level: float
    spread: float

    @property
    def folder(self) -> str:
        """Its name as that of a folder."""
        return self.name.lower().replace(" ", "-")


@dataclass(frozen=True, kw_only=True)
class Week:
    """A week: `blueprint` as in a plan, topic → level → how many questions."""

    number: int
    title: str
    circuits: tuple[str, ...]
    blueprint: Mapping[str, Mapping[str, int]]


@dataclass(frozen=True, kw_only=True)
class Withdrawn:
    """A question that does not count after all; `item` as in `quizgen grade amend`."""

    group: str
    week: int
    item: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Term:
    """All of it; `secret` decides the questions and `seed` the people and what they answer."""

    name: str
    scenario: str
    course: str
    starts: date
    seed: int
    secret: str
    groups: tuple[Group, ...]
    weeks: tuple[Week, ...]
    withdrawn: tuple[Withdrawn, ...] = ()

    def day(self, group: Group, week: Week) -> date:
        """When a class meets in a week."""
        return self.starts + timedelta(weeks=week.number - 1, days=group.day)

    @property
    def ends(self) -> date:
        """The Sunday of the last week."""
        return self.starts + timedelta(days=7 * len(self.weeks) - 1)


def load_term(path: Path) -> Term:
    """Read a term's file. Raises InputError or FileError for what is wrong."""
    root = read_file(path)
    check_head(root, (*_HEAD, "withdrawn"), _HEAD)
    fields = root.entries
    groups = tuple(_group(tree) for tree in the_items(fields["classes"], "a list of classes"))
    names = [group.name for group in groups]
    return Term(
        name=text(fields["name"], {}),
        scenario=text(fields["scenario"], {}),
        course=text(fields["course"], {}),
        starts=_date(fields["starts"]),
        seed=whole(fields["seed"], 0, 10**9),
        secret=text(fields["secret"], {}),
        groups=groups,
        weeks=tuple(
            _week(number, tree)
            for number, tree in enumerate(the_items(fields["weeks"], "a list of weeks"), 1)
        ),
        withdrawn=tuple(_withdrawn(tree, names) for tree in _listed(root, "withdrawn")),
    )


def _listed(root: Table, field: str) -> tuple[Tree, ...]:
    return the_items(root.entries[field], "a list") if field in root.entries else ()


def _date(tree: Tree) -> date:
    written = text(tree, {})
    try:
        return date.fromisoformat(written)
    except ValueError:
        fail(tree, f"expected a day such as 2026-09-07, found {written}")


def _fields(tree: Tree, what: str, known: tuple[str, ...]) -> Mapping[str, Tree]:
    table = table_of(tree, what)
    check_fields(table, known, known)
    return table.entries


def _group(tree: Tree) -> Group:
    fields = _fields(tree, "a class", _CLASS)
    hands_in = word_of(fields["hands_in"], {}, HANDS_IN)
    prints = word_of(fields["prints"], {}, PRINTS)
    if hands_in == "sheets" and prints != "every":
        fail(fields["prints"], "a class that answers on sheets needs pages every week")
    return Group(
        name=text(fields["name"], {}),
        instructor=whole(fields["instructor"], 1, 9),
        students=whole(fields["students"], 1, 60),
        day=whole(fields["day"], 0, 6),
        hands_in=hands_in,
        prints=prints,
        level=float(number(fields["level"], {})),
        spread=float(number(fields["spread"], {})),
    )


def _withdrawn(tree: Tree, groups: Sequence[str]) -> Withdrawn:
    fields = _fields(tree, "a question withdrawn", _WITHDRAWN)
    return Withdrawn(
        group=word_of(fields["class"], {}, groups),
        week=whole(fields["week"], 1, 60),
        item=text(fields["item"], {}),
        why=text(fields["why"], {}),
    )


def _week(number: int, tree: Tree) -> Week:
    fields = _fields(tree, "a week", _WEEK)
    cells = table_of(fields["blueprint"], "a blueprint")
    return Week(
        number=number,
        title=text(fields["title"], {}),
        circuits=tuple(text(name, {}) for name in the_items(fields["circuits"], "circuits")),
        blueprint={topic: _levels(levels) for topic, levels in cells.entries.items()},
    )


def _levels(tree: Tree) -> Mapping[str, int]:
    table: Table = table_of(tree, "levels with numbers")
    return {level: whole(count, 1, 60) for level, count in table.entries.items()}


def need_instructors(term: Term, there: int) -> None:
    """Raises InputError where a class has an instructor that the scenario does not."""
    for group in term.groups:
        if group.instructor > there:
            raise InputError(
                f"{term.name}: {group.name} has instructor {group.instructor}, and "
                f"{term.scenario} has {there}"
            )
