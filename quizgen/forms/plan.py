"""The plan of one problem set, as an instructor writes it.

A plan asks for questions by *cell*: a topic, a level, and how many. `any` stands for every
topic or level, so that "eight questions, whatever they are" is a plan too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from quizgen.base.record_file import GOOD_NAMES, names_files
from quizgen.base.seeds import FEWEST_SECRET_BYTES
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.circuit.values import number, text, the_items
from quizgen.circuit.values import the_table as table_of
from quizgen.circuit.yaml_reader import Listing, Scalar, Table, Tree, fail, read_file
from quizgen.items.item import LEVELS
from quizgen.items.kinds import KINDS
from quizgen.scenario.reading import check_head, whole
from quizgen.scenario.scenario import find_scenario, shipped_scenarios

ANY = "any"
PER_STUDENT = "one per student"
MOST_FORMS = 26  # form codes are the letters A to Z
MOST_ITEMS = 60
FEWEST_OPTIONS, MOST_OPTIONS = 3, 4
_REQUIRED = ("name", "title", "scenario", "forms")
_OPTIONAL = (
    "week", "secret", "items", "blueprint", "circuits", "without", "kinds", "options",
    "difficulty", "roster", "instructor",
)  # fmt: skip


@dataclass(frozen=True)
class Cell:
    """So many questions on a topic at a level; either may be `any`."""

    topic: str
    level: str
    count: int

    def __str__(self) -> str:
        return f"{self.topic} x {self.level}"


@dataclass(frozen=True)
class Plan:
    """What to build. `secret` decides every draw; who has it and the plan has the key.

    It is empty where the course keeps its secret in a file of its own. `forms` 0 stands for
    one form per student of the scenario's roster. `circuits` and `kinds` are those allowed;
    `difficulty` is the range of the predicted share of right answers.
    """

    name: str
    title: str
    week: str
    scenario: str
    forms: int
    cells: tuple[Cell, ...]
    circuits: tuple[str, ...]
    kinds: tuple[str, ...]
    options: int
    difficulty: tuple[float, float]
    secret: str
    roster: Path | None = None  # a CSV file; without it the scenario's students
    instructor: str = ""  # whose name stands on the pages; without it the scenario's first

    @property
    def form_codes(self) -> tuple[str, ...]:
        """A, B, C and so on; none where there is one form per student."""
        return tuple(chr(ord("A") + n) for n in range(self.forms))

    @property
    def items(self) -> int:
        """Questions in a form."""
        return sum(cell.count for cell in self.cells)


@cache
def topics_of(family: str) -> tuple[str, ...]:
    """The topics that questions on a circuit family can stand for."""
    return find_template(family).topics


def all_topics(families: Iterable[str]) -> tuple[str, ...]:
    """The topics of all `families`, sorted."""
    return tuple(sorted({topic for family in families for topic in topics_of(family)}))


def load_plan(path: Path) -> Plan:
    """Read a plan file. Raises InputError or FileError for what is wrong."""
    root = read_file(path)
    check_head(root, (*_REQUIRED, *_OPTIONAL), _REQUIRED)
    fields = root.entries
    circuits = _circuits(root, path.parent)
    known = {t: t for t in all_topics(circuits)}
    secret = text(fields["secret"], {}) if "secret" in fields else ""
    if "secret" in fields and len(secret.encode()) < FEWEST_SECRET_BYTES:
        fail(
            fields["secret"],
            f"a secret of fewer than {FEWEST_SECRET_BYTES} characters can be guessed",
        )
    return Plan(
        name=_name(fields["name"]),
        title=text(fields["title"], {}),
        week=text(fields["week"], {}) if "week" in fields else "",
        scenario=_scenario(root, path.parent),
        forms=_forms(fields["forms"]),
        cells=_cells(root, known),
        circuits=circuits,
        kinds=_named(root, "kinds", KINDS, "question kind") or tuple(KINDS),
        options=whole(fields["options"], FEWEST_OPTIONS, MOST_OPTIONS)
        if "options" in fields
        else FEWEST_OPTIONS,
        difficulty=_difficulty(root),
        secret=secret,
        roster=path.parent / text(fields["roster"], {}) if "roster" in fields else None,
        instructor=text(fields["instructor"], {}) if "instructor" in fields else "",
    )


def _forms(tree: Tree) -> int:
    if isinstance(tree, Scalar) and tree.text == PER_STUDENT:
        return 0
    return whole(tree, 1, MOST_FORMS)


def _circuits(root: Table, folder: Path) -> tuple[str, ...]:
    """Families in, less those out; without any, all that the scenario's machines carry.

    A circuit of one's own is named by its file, as seen from the plan.
    """
    scenario = _scenario(root, folder)
    own = {str(name): str(folder / name) for name in _own_files(root)}
    named = _named(root, "circuits", (*shipped_templates(), *own), "circuit family")
    if not named:
        carried = {c.family for m in find_scenario(scenario).machines for c in m.carries}
        named = tuple(name for name in shipped_templates() if name in carried)
    out = _named(root, "without", named, "circuit family of this plan")
    left = tuple(own.get(name, name) for name in named if name not in out)
    if not left:
        fail(root.entries["without"], "no circuit family is left")
    return left


def _own_files(root: Table) -> Iterator[str]:
    """The entries of `circuits` that name files."""
    tree = root.get("circuits")
    for item in tree.items if isinstance(tree, Listing) else ():
        word = item.text if isinstance(item, Scalar) else ""
        if word.endswith((".yaml", ".yml")):
            yield word


def _name(tree: Tree) -> str:
    """What the files of the set are called."""
    name = text(tree, {})
    if not names_files(name):
        fail(tree, f"{shown(name)} is no name for files; {GOOD_NAMES}")
    return name


def _scenario(root: Table, folder: Path) -> str:
    """A shipped scenario's name, or a folder as seen from the plan or from here."""
    name = text(root.entries["scenario"], {})
    beside = folder / name
    return str(beside) if name not in shipped_scenarios() and beside.is_dir() else name


def _named(root: Table, field: str, known: Iterable[str], what: str) -> tuple[str, ...]:
    """A list of known names, none twice; () where the field is missing."""
    tree = root.get(field)
    if tree is None:
        return ()
    names = list(_words(tree, known, what))
    if not names:
        fail(tree, f"there is no {what}")
    if len(set(names)) < len(names):
        fail(tree, f"a {what} is named twice")
    return tuple(names)


def _words(tree: Tree, known: Iterable[str], what: str) -> Iterator[str]:
    names = tuple(known)
    for item in the_items(tree, f"a list, each a {what}"):
        word = text(item, {})
        if word not in names:
            fail(item, f"no {what} {shown(word)}{suggest(word, names)}")
        yield word


def _cells(root: Table, topics: Iterable[str]) -> tuple[Cell, ...]:
    """The blueprint, or one cell of everything; the two fields must agree where both stand."""
    blueprint, items = root.get("blueprint"), root.get("items")
    count = whole(items, 1, MOST_ITEMS) if items else 0
    if blueprint is None:
        if items is None:
            fail(root, "expected a blueprint, or how many items")
        return (Cell(ANY, ANY, count),)
    cells = tuple(_blueprint(blueprint, topics))
    total = sum(cell.count for cell in cells)
    if not 1 <= total <= MOST_ITEMS:
        fail(blueprint, f"expected 1 to {MOST_ITEMS} questions in all, found {total}")
    if items and count != total:
        fail(items, f"the blueprint asks for {total} questions, items for {count}")
    return cells


def _blueprint(tree: Tree, topics: Iterable[str]) -> Iterator[Cell]:
    known = (ANY, *topics)
    for topic, row in table_of(tree, "topics, each with its levels").entries.items():
        if topic not in known:
            fail(row, f"no topic {shown(topic)} in these circuits{suggest(topic, known)}")
        for level, count in table_of(row, "levels, each with a count").entries.items():
            if level not in (ANY, *LEVELS):
                fail(count, f"no level {shown(level)}{suggest(level, (ANY, *LEVELS))}")
            wanted = whole(count, 0, MOST_ITEMS)
            if wanted:
                yield Cell(topic, level, wanted)


def _difficulty(root: Table) -> tuple[float, float]:
    tree = root.get("difficulty")
    if tree is None:
        return (0.0, 1.0)
    ends = [number(item, {}) for item in the_items(tree, "two shares of right answers")]
    if len(ends) != 2 or not 0.0 <= ends[0] < ends[1] <= 1.0:
        fail(tree, "expected two shares of right answers, such as [0.3, 0.8]")
    return (float(ends[0]), float(ends[1]))
