"""The files of a scenario folder, checked field by field.

Every mistake is a FileError with file, line and field; the YAML is the same small safe part
that circuit templates are written in.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from string import Formatter

from quizgen.base.paths import data_folder
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.values import check_fields, number, text, texts, the_items, the_scalar
from quizgen.circuit.values import the_table as table_of
from quizgen.circuit.yaml_reader import Table, Tree, fail, literal, read_file
from quizgen.scenario.records import Carried, Complaint, Machine, Value, Wording

FORMAT = 1
SYSTEM_VOLTS = (12, 24)


def check_head(root: Table, known: tuple[str, ...], required: tuple[str, ...]) -> None:
    """The fields of a file and its format number."""
    check_fields(root, ("format", *known), ("format", *required))
    if number(root.entries["format"], {}) != FORMAT:
        fail(root.entries["format"], f"expected format {FORMAT}, the one this program reads")


def whole(tree: Tree, least: int, most: int) -> int:
    """A whole number from `least` to `most`."""
    value = number(tree, {})
    if not isinstance(value, int) or not least <= value <= most:
        fail(tree, f"expected a whole number from {least} to {most}, found {shown(value)}")
    return value


def read_machines(root: Table) -> tuple[Machine, ...]:
    """fleet.yaml: the machines in the order of the file."""
    check_head(root, ("machines",), ("machines",))
    entries = table_of(root.entries["machines"], "machines by id").entries
    if not entries:
        fail(root.entries["machines"], "there is no machine")
    return tuple(_machine(name, tree) for name, tree in entries.items())


def _machine(name: str, tree: Tree) -> Machine:
    table = table_of(tree, "the fields of a machine")
    check_fields(
        table, ("name", "system", "about", "places", "carries"), ("name", "system", "carries")
    )
    volts = whole(table.entries["system"], 1, 48)
    if volts not in SYSTEM_VOLTS:
        fail(table.entries["system"], f"expected 12 or 24 (volts), found {volts}")
    carries = table_of(table.entries["carries"], "circuit families").entries
    places = table.get("places")
    about = table.get("about")
    return Machine(
        id=name,
        name=text(table.entries["name"], {}),
        system_volts=volts,
        about=text(about, {}) if about else "",
        carries=tuple(_carried(family, below) for family, below in carries.items()),
        places=tuple(
            (word, text(below, {})) for word, below in table_of(places, "places").entries.items()
        )
        if places
        else (),
    )


def _carried(family: str, tree: Tree) -> Carried:
    table = table_of(tree, "the fields called and settings")
    check_fields(table, ("called", "settings"), ("called",))
    settings = table.get("settings")
    pairs = table_of(settings, "parameters of the template").entries if settings else {}
    return Carried(
        family=family,
        called=text(table.entries["called"], {}),
        settings=tuple((name, _value(below)) for name, below in pairs.items()),
    )


def _value(tree: Tree) -> Value:
    return literal(the_scalar(tree, "one value"))


def read_wording(root: Table) -> Wording:
    """complaints.yaml: who speaks, in which situation, and what is said."""
    known = ("frames", "when", "complaints")
    check_head(root, known, known)
    frames = the_items(root.entries["frames"], "a list of sentences")
    families = table_of(root.entries["complaints"], "complaints by family").entries
    return Wording(
        frames=tuple(_sentence(tree, ("person", "machine", "words")) for tree in frames),
        when=dict(_when(table_of(root.entries["when"], "phrases by family"))),
        complaints=tuple(
            _complaint(family, tree)
            for family, listing in families.items()
            for tree in the_items(listing, "a list of complaints")
        ),
    )


def _when(root: Table) -> Iterator[tuple[tuple[str, str, str], str]]:
    for family, controls in root.entries.items():
        for control, positions in table_of(controls, "controls").entries.items():
            for position, tree in table_of(positions, "positions").entries.items():
                yield (family, control, position), text(tree, {})


def _complaint(family: str, tree: Tree) -> Complaint:
    table = table_of(tree, "a complaint")
    check_fields(table, ("parts", "does", "instead of", "says"), ("parts", "does", "says"))
    instead = table.get("instead of")
    says = the_items(table.entries["says"], "a list of sentences")
    if not says:
        fail(table.entries["says"], "there is no sentence")
    return Complaint(
        family=family,
        parts=texts(table.entries["parts"], {}),
        does=_level(table.entries["does"]),
        instead_of=_level(instead) if instead else "",
        says=tuple(_sentence(s, ("circuit", "machine", "load", "when")) for s in says),
    )


def _level(tree: Tree) -> str:
    """What a load is seen to do, in the program's own words for it."""
    words = text(tree, {})
    if words not in levels():
        fail(tree, f"no load is seen to do {shown(words)}{suggest(words, levels())}")
    return words


@cache
def levels() -> tuple[str, ...]:
    """Everything that loads can be seen to do, in the order of `templates/wording/loads.yaml`."""
    kinds = read_file(data_folder("templates") / "wording" / "loads.yaml").entries.values()
    return tuple(dict.fromkeys(w for kind in kinds for w in table_of(kind, "levels").entries))


def _sentence(tree: Tree, known: tuple[str, ...]) -> str:
    """A sentence whose placeholders are all among `known`."""
    words = text(tree, {})
    try:
        fields = [name for _, name, _, _ in Formatter().parse(words) if name is not None]
    except ValueError:
        fail(tree, f"a brace without its partner in {shown(words)}")
    for name in fields:
        if name not in known:
            fail(tree, f"unknown placeholder {{{name}}}{suggest(name, known)}")
    return words
