"""From topics and levels to the codes of a published framework.

A mapping is a CSV file with the columns framework, code, label, topic, level. A code may have many
rows; an empty level stands for every level. A row without a topic says that paper cannot show it:
it has to be seen in the workshop. Labels are in the words of whoever wrote the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.paths import data_folder
from quizgen.base.suggest import shown, suggest
from quizgen.base.table_rows import table_rows
from quizgen.items.item import LEVELS
from quizgen.items.topics import topic_id, topic_map

COLUMNS = ("framework", "code", "label", "topic", "level")


@dataclass(frozen=True, kw_only=True)
class Element:
    """One code. `cells` are pairs of topic and level, the level "" for every one.

    Without cells it can only be assessed in the workshop.
    """

    framework: str
    code: str
    label: str
    cells: tuple[tuple[str, str], ...] = ()

    def met_by(self, topic: str, level: str) -> bool:
        """Whether a question about `topic` at `level` says something about it."""
        return (topic, level) in self.cells or (topic, "") in self.cells


def shipped_mapping() -> Path:
    """The mapping that travels with the program."""
    return data_folder("templates") / "coverage" / "competencies.csv"


def read_competencies(path: Path) -> tuple[Element, ...]:
    """The elements of a mapping, in its order. Raises InputError or FileError."""
    filled = [(line, row) for line, row in table_rows(path, separators=",", remark="#") if any(row)]
    if not filled:
        raise InputError(f"{path}: is empty; expected the columns {', '.join(COLUMNS)}")
    line, head = filled[0]
    names = [cell.strip().casefold() for cell in head]
    for column in COLUMNS:
        if names.count(column) != 1:
            raise FileError(
                Place(path, line), f"expected one column {column}{suggest(column, names)}"
            )
    return tuple(_elements(path, [names.index(c) for c in COLUMNS], filled[1:]))


def _elements(
    path: Path, places: list[int], rows: list[tuple[int, list[str]]]
) -> Iterator[Element]:
    found: dict[tuple[str, str], Element] = {}
    for line, row in rows:
        cells = [*row, *[""] * (max(places) + 1 - len(row))]
        framework, code, label, topic, level = (" ".join(cells[i].split()) for i in places)
        where = Place(path, line)
        if not framework or not code:
            raise FileError(where, "a row needs a framework and a code")
        if topic and topic_id(topic) not in topic_map():
            raise FileError(where, f"no topic {shown(topic)}{suggest(topic, topic_map())}")
        if level and level not in LEVELS:
            raise FileError(where, f"no level {shown(level)}{suggest(level, LEVELS)}")
        if level and not topic:
            raise FileError(where, f"the level {shown(level)} has no topic beside it")
        held = found.get((framework, code))
        pairs = ((topic_id(topic), level),) if topic else ()
        found[framework, code] = Element(
            framework=framework, code=code, label=held.label if held else label,
            cells=(*(held.cells if held else ()), *pairs),
        )  # fmt: skip
    yield from found.values()
