"""The shape of a template file: its sections, and what each part and wire is.

Everything that needs no parameter values is checked here: sections, kinds, field names,
identifiers, expressions that can be read and name known parameters. `quizgen.circuit.build`
does the rest for one setting.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from quizgen.base.errors import Place
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.components import KINDS, Part, Wire
from quizgen.circuit.fields import known_fields, part_kinds, required_fields
from quizgen.circuit.netlist import CHASSIS
from quizgen.circuit.parameters import Parameters, read_parameters
from quizgen.circuit.values import (
    check_fields,
    expression_of,
    expressions,
    number,
    text,
    texts,
    the_scalar,
    the_table,
)
from quizgen.circuit.yaml_reader import Listing, Scalar, Table, Tree, fail

FORMAT = 1
MAX_PARTS = 400  # parts and wires; more would not fit on a page
MAX_POSITIONS = 24
ID = re.compile(r"[A-Z][A-Za-z0-9]{0,15}\Z")
NODE = re.compile(r"[A-Za-z0-9_+]{1,24}\Z")
POSITION = re.compile(r"[A-Za-z0-9+]([A-Za-z0-9 +_-]{0,22}[A-Za-z0-9+])?\Z")
TOPIC = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")

_SECTIONS = (
    "format", "name", "title", "summary", "topics", "cautions", "system", "reference",
    "parameters", "require", "conditions", "parts", "wires", "feeds", "layout",
)  # fmt: skip
_REQUIRED = ("format", "name", "title", "system", "parts")


@dataclass(frozen=True)
class PartSpec:
    """One alternative of a part or wire, as written."""

    id: str
    cls: type[Part]
    table: Table
    when: Tree | None

    @property
    def place(self) -> Place:
        """Where it is written."""
        return self.table.place


@dataclass(frozen=True)
class Condition:
    """A condition of the machine that moves parts: switches, senders, an alternator, a timer."""

    name: str
    positions: tuple[str, ...]
    rest: str
    label: str


@dataclass(frozen=True)
class Specs:
    """A template file, read and checked as far as no values are needed."""

    root: Table
    name: str
    title: Scalar
    summary: Scalar | None
    topics: tuple[str, ...]
    cautions: tuple[str, ...]
    reference: str
    parameters: Parameters
    conditions: dict[str, Condition]
    parts: dict[str, tuple[PartSpec, ...]]
    wires: dict[str, tuple[PartSpec, ...]]
    feeds: dict[str, Tree]
    layout: dict[str, Tree]


def read_specs(root: Table) -> Specs:
    """The sections of a template file. Raises FileError at the first thing that is wrong."""
    _check_format(root)
    check_fields(root, _SECTIONS, _REQUIRED)
    name = text(root.entries["name"], {})
    if not TOPIC.match(name):
        fail(root.entries["name"], f"name {shown(name)}: use small letters, digits and -")
    parameters = read_parameters(name, root.get("parameters"), root.get("require"))
    _check_names(root)
    reference = text(root.entries["reference"], {}) if root.get("reference") else CHASSIS
    if not NODE.match(reference):
        fail(root.entries["reference"], f"{shown(reference)} cannot be the name of a node")
    parts = dict(_parts(root.entries["parts"]))
    wires = dict(_wires(root.get("wires"), parts))
    if len(parts) + len(wires) > MAX_PARTS:
        fail(root.entries["parts"], f"more than {MAX_PARTS} parts and wires")
    conditions = dict(_conditions(root.get("conditions")))
    _check_conditions_used(root.get("conditions"), parts, conditions)
    summary = root.get("summary")
    return Specs(
        root=root, name=name, title=the_scalar(root.entries["title"], "a text"),
        summary=None if summary is None else the_scalar(summary, "a text"),
        topics=_topics(root.get("topics")), cautions=_texts(root.get("cautions")),
        reference=reference, parameters=parameters,
        conditions=conditions,
        parts=parts, wires=wires,
        feeds=_by_name(root.get("feeds"), "a text by point, such as {GB1.+: live at all times}"),
        layout=_layout(root.get("layout"), {**parts, **wires}),
    )  # fmt: skip


def _check_names(root: Table) -> None:
    """Read every expression; each name in it is a parameter, and each parameter is used."""
    section = root.get("parameters")
    known = the_table(section, "parameters by name").entries if section else {}
    used: set[str] = set()
    for scalar in expressions(root):
        for name in sorted(expression_of(scalar).names):
            if name not in known:
                hint = suggest(name, known)
                fail(scalar, f"{shown(scalar.text)}: no parameter {shown(name)}{hint}")
            used.add(name)
    for name, tree in known.items():
        if name not in used:
            fail(tree, f"no expression uses the parameter {name}; use it or remove it")


def _check_conditions_used(
    section: Tree | None, parts: dict[str, tuple[PartSpec, ...]], conditions: Collection[str]
) -> None:
    controls = [
        tree
        for options in parts.values()
        for spec in options
        for key in ("control", "timer")
        if (tree := spec.table.get(key))
    ]
    if any(isinstance(t, Scalar) and t.is_expression for t in controls):
        return  # which condition it names depends on the setting
    used = {t.text for t in controls if isinstance(t, Scalar)}
    if used - set(conditions) - set(parts):
        return  # a name that is no condition; the part that has it says so
    for name in conditions:
        if name not in used and isinstance(section, Table):
            fail(
                section.entries[name],
                f"nothing is moved by the condition {name}; name it as the "
                "control of a switch, sender or alternator or the timer of a relay, or remove it",
            )


def _check_format(root: Table) -> None:
    tree = root.get("format")
    if tree is None:
        fail(
            root, "the field 'format' is missing; this is not a circuit template, or add format: 1"
        )
    if number(tree, {}) != FORMAT:
        fail(tree, f"this program reads format {FORMAT}, found {the_scalar(tree, 'a number').text}")


def _texts(tree: Tree | None) -> tuple[str, ...]:
    return () if tree is None else texts(tree, {})


def _by_name(tree: Tree | None, wanted: str) -> dict[str, Tree]:
    return {} if tree is None else dict(the_table(tree, wanted).entries)


def _topics(tree: Tree | None) -> tuple[str, ...]:
    topics = _texts(tree)
    for topic in topics:
        if tree is not None and not TOPIC.match(topic):
            fail(tree, f"topic {shown(topic)}: use small letters, digits and -")
    return topics


def _alternatives(tree: Tree) -> tuple[Table, ...]:
    wanted = "the fields of a part, or a list of alternatives"
    if isinstance(tree, Listing):
        if not tree.items:
            fail(tree, "expected at least one alternative")
        return tuple(the_table(item, wanted) for item in tree.items)
    return (the_table(tree, wanted),)


def _check_id(part_id: str, tree: Tree) -> None:
    if not ID.match(part_id):
        fail(
            tree, f"{shown(part_id)} is no reference; write a capital letter and a number, as in K1"
        )


def _parts(section: Tree) -> Iterator[tuple[str, tuple[PartSpec, ...]]]:
    table = the_table(section, "parts by reference, such as K1: {...}")
    if not table.entries:
        fail(table, "expected at least one part")
    for part_id, tree in table.entries.items():
        _check_id(part_id, tree)
        yield part_id, _reachable(_part(part_id, t) for t in _alternatives(tree))


def _reachable(options: Iterable[PartSpec]) -> tuple[PartSpec, ...]:
    """The alternatives, none of them behind one that is always taken."""
    specs = tuple(options)
    for before, spec in pairwise(specs):
        if before.when is None:
            fail(spec.table, "never used: the alternative before it has no 'when'")
    return specs


def _part(part_id: str, table: Table) -> PartSpec:
    kind_tree = table.get("kind")
    if kind_tree is None:
        fail(table, "the field 'kind' is missing, such as kind: lamp")
    kind = the_scalar(kind_tree, "a kind of part").text
    if kind == "wire":
        fail(kind_tree, "wires stand in the section 'wires'")
    if kind not in part_kinds():
        fail(kind_tree, f"unknown kind {shown(kind)}{suggest(kind, part_kinds())}")
    cls = KINDS[kind]
    if not part_id.startswith(cls.letters):
        letters = " or ".join(cls.letters)
        fail(table, f"the reference of a {kind} begins with {letters} (IEC 81346-2)")
    return _spec(part_id, cls, table)


def _spec(part_id: str, cls: type[Part], table: Table) -> PartSpec:
    check_fields(table, known_fields(cls), required_fields(cls))
    when = table.get("when")
    if when is not None:
        the_scalar(when, "a condition such as 'speeds == 4'")
    return PartSpec(part_id, cls, table, when)


def _wires(
    section: Tree | None, parts: dict[str, tuple[PartSpec, ...]]
) -> Iterator[tuple[str, tuple[PartSpec, ...]]]:
    if section is None:
        return
    for wire_id, tree in the_table(
        section, "wires by reference, such as W1: {...}"
    ).entries.items():
        _check_id(wire_id, tree)
        if wire_id in parts:
            fail(tree, f"{wire_id} is also the reference of a part; each is used once")
        if not wire_id.startswith("W"):
            fail(tree, "the reference of a wire begins with W (IEC 81346-2)")
        yield wire_id, _reachable(_spec(wire_id, Wire, t) for t in _alternatives(tree))


def _conditions(section: Tree | None) -> Iterator[tuple[str, Condition]]:
    if section is None:
        return
    for name, tree in the_table(section, "conditions by name").entries.items():
        if not TOPIC.match(name.replace("_", "-")):
            fail(tree, f"condition {shown(name)}: use small letters, digits, - and _")
        table = the_table(tree, "positions, rest and label")
        check_fields(table, ("positions", "rest", "label"), ("positions",))
        positions = position_names(table.entries["positions"])
        rest_tree = table.get("rest")
        rest = text(rest_tree, {}) if rest_tree else positions[0]
        if rest not in positions:
            fail(rest_tree or table, f"no position {shown(rest)}{suggest(rest, positions)}")
        label = text(table.entries["label"], {}) if table.get("label") else name
        yield name, Condition(name, positions, rest, label)


def position_names(tree: Tree, names: tuple[str, ...] | None = None) -> tuple[str, ...]:
    """The position names in a list (or `names`, from the keys of a mapping), two at least."""
    positions = texts(tree, {}) if names is None else names
    if not 2 <= len(positions) <= MAX_POSITIONS:
        fail(tree, f"expected 2 to {MAX_POSITIONS} positions, found {len(positions)}")
    for index, position in enumerate(positions):
        if not POSITION.match(position):
            fail(
                tree, f"{shown(position)} cannot be the name of a position; use letters and digits"
            )
        if position in positions[:index]:
            fail(tree, f"the position {shown(position)} is there twice")
    return positions


def _layout(tree: Tree | None, known: dict[str, tuple[PartSpec, ...]]) -> dict[str, Tree]:
    entries = _by_name(tree, "drawing hints by reference")
    for part_id, hints in entries.items():
        if part_id not in known:
            fail(hints, f"no part {shown(part_id)}{suggest(part_id, known)}")
        the_table(hints, "drawing hints such as {column: 3}")
    return entries
