"""The topic map: what questions can be about, in four groups.

Ids, names and explanations stand in `templates/coverage/topics.yaml`. A circuit template names its
topics of the group `circuits`; the others are worked out item by item (`quizgen.items.subjects`).
Sets that were built before an id was changed carry the old one: `renamed` in the file leads on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from quizgen.base.paths import data_folder
from quizgen.circuit.values import check_fields, text, texts, the_table
from quizgen.circuit.yaml_reader import fail, read_file

GROUPS = ("circuits", "faults", "instruments", "reasoning")


@dataclass(frozen=True)
class Topic:
    """`name` is what pages call it, `about` explains it in a line."""

    id: str
    group: str
    name: str
    about: str


FILE = "topics.yaml"


@cache
def topic_map() -> dict[str, Topic]:
    """Every topic by its id, in the order of the file. Raises FileError where the file is wrong."""
    table = read_file(data_folder("templates") / "coverage" / FILE)
    check_fields(table, ("format", "renamed", *GROUPS), GROUPS)
    found: dict[str, Topic] = {}
    for group in GROUPS:
        for name, tree in the_table(table.entries[group], "topics").entries.items():
            words = texts(tree, {})
            if len(words) != 2 or name in found:
                fail(tree, "a topic has an id of its own, a name and an explanation")
            found[name] = Topic(name, group, *words)
    return found


@cache
def topic_id(id: str) -> str:
    """What a topic is called by now. Raises FileError where the map is wrong."""
    table = read_file(data_folder("templates") / "coverage" / FILE)
    tree = table.get("renamed")
    renamed = the_table(tree, "old ids, each with the new one").entries if tree else {}
    for _ in renamed:  # one step for each name is as far as a chain can go
        if id in renamed:
            id = text(renamed[id], {})
    return id


def topic_name(id: str) -> str:
    """What pages call a topic; one that is not in the map is called by its id."""
    known = topic_map().get(id)
    return known.name if known else id.replace("-", " ")
