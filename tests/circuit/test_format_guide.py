"""The description of the file format is true: its examples load, its tables are complete."""

from __future__ import annotations

import random
import re

import pytest

from quizgen.base.errors import FileError
from quizgen.base.paths import data_folder
from quizgen.circuit.components import KINDS, Connector, Relay, ResistorPack, Wire
from quizgen.circuit.fields import known_fields, part_kinds, required_fields
from quizgen.circuit.specs import read_specs
from quizgen.circuit.template import parse_template
from quizgen.circuit.wire_data import COLOURS, MILLIOHM_PER_METRE
from quizgen.circuit.yaml_reader import parse

GUIDE = (data_folder("templates") / "circuits" / "README.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```yaml\n(.*?)```", GUIDE, flags=re.DOTALL)
OF_ANY_PART = {"kind", "name", "place", "access_minutes", "weights", "when", "unused", "at"}


def section(title: str) -> str:
    """The text under a heading of the guide."""
    return GUIDE.split(f"\n### {title}\n")[1].split("\n### ")[0].split("\n## ")[0]


def rows(text: str) -> dict[str, list[str]]:
    """First cell, without its back quotes → all cells of the tables in `text`."""
    lines = [line.split("|")[1:-1] for line in text.splitlines() if line.startswith("| `")]
    return {cells[0].strip(" `"): [cell.strip() for cell in cells] for cells in lines}


@pytest.mark.parametrize("text", EXAMPLES, ids=["network", "vehicle"])
def test_an_example_of_the_guide_loads(text: str) -> None:
    """As it stands, and at random settings."""
    template = parse_template(text)
    for seed in range(20):
        assert template.build(template.draw(random.Random(seed))).parts


def test_the_error_shown_in_the_guide_is_the_one_you_get() -> None:
    """Word for word, but for the line number."""
    shown = re.search(r"```text\n(.*?)\n```", GUIDE, flags=re.DOTALL)
    assert shown
    wrong = EXAMPLES[1].replace("coil_ohm:", "coil_ohms:")
    with pytest.raises(FileError) as caught:
        parse_template(wrong, "sprayer-pump.yaml")
    line = re.compile(r"line \d+")
    assert line.sub("line", str(caught.value)) == line.sub("line", shown[1])


def test_the_table_of_kinds_is_complete() -> None:
    """Every kind with its letters and exactly the fields that a file may give it."""
    table = {k: cells for k, cells in rows(section("Parts")).items() if k in KINDS}
    assert sorted(table) == sorted(part_kinds())
    for kind, (_, letters, _, described, _) in table.items():
        cls = KINDS[kind]
        assert tuple(letters.split()) == cls.letters, kind
        named = set(re.findall(r"`(\w+)`", described))
        own = set(known_fields(cls)) - OF_ANY_PART - {"unobserved"}
        assert named == own, kind
        assert set(required_fields(cls)) <= named, kind


def test_the_table_of_kinds_gives_the_terminals() -> None:
    """The names that wires end at."""
    assert " 86 85 30 87 87a " in GUIDE
    relay = Relay(id="K1", nodes=(), contact="changeover")
    assert relay.terminals == ("86", "85", "30", "87", "87a")
    assert ResistorPack(id="R1", nodes=(), ohms=(1.0, 2.0)).terminals == ("1", "2", "3")
    connector = Connector(id="X1", nodes=(), cavities=("1", "2"), cavity_ohm=(0.0, 0.0))
    assert connector.terminals == ("1a", "1b", "2a", "2b")


def test_every_field_of_a_wire_is_described() -> None:
    """So are the colours and cross-sections there are."""
    text = section("Wires")
    assert set(re.findall(r"`(\w+)`", text)) >= set(known_fields(Wire))
    assert " ".join(COLOURS) in text
    assert " ".join(f"{size:g}" for size in MILLIOHM_PER_METRE) in text


def test_every_section_of_a_file_is_described() -> None:
    """A field at the top that the guide does not know is refused, and the other way round."""
    described = rows(GUIDE.split("\n## The sections\n")[1].split("\n### ")[0])
    with pytest.raises(FileError, match="unknown field 'zzzz'; known: ") as caught:
        read_specs(parse("format: 1\nzzzz: 1\n", "x"))
    assert set(described) == set(caught.value.problem.split("known: ")[1].split(", "))
