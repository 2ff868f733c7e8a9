"""A whole set written to a folder: nothing for students tells anything of the keys.

Two ways: files of sets that differ in their keys only are compared byte for byte, and every
file is searched, after unpacking, for words of the instructor's half.
"""

from __future__ import annotations

import base64
import dataclasses
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from quizgen.base.seeds import Seed
from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet
from quizgen.forms.roster import Student
from quizgen.forms.slots import Slot
from quizgen.items.item import Item, Origin
from quizgen.pipeline import write_set
from quizgen.publish.page_options import PageOptions
from tests.publish.samples import HEADING
from tests.publish.test_from_items import item, numerical, ordering, several

SECRET = b"hidden secret of the course"
SEED = Seed(SECRET).under("plan", "week-01")
HIDDEN = ("hidden", "is_key", "rationale", "misconception", "refuted")


def with_circuit(made: Item, fault: str) -> Item:
    """The item about a circuit that exists, with `fault` in it."""
    origin = Origin(template="washer-pump", parameters=(), positions=(), fault=fault)
    return dataclasses.replace(made, origin=origin)


def problem_set(turn: int) -> ProblemSet:
    """A set whose keys, orders, right figures, faults and topics differ with `turn` only."""
    order = ordering()
    number = numerical()
    assert number.number is not None
    moved = dataclasses.replace(number.number, value=11.9 - turn, low=11.8 - turn, high=12.0 - turn)
    chosen = several()
    options = tuple(
        dataclasses.replace(option, is_key=n != turn) for n, option in enumerate(chosen.options)
    )
    items = (
        item(10 * turn + 1, key=turn),
        dataclasses.replace(chosen, options=options),
        dataclasses.replace(order, order=order.order[turn:] + order.order[:turn]),
        dataclasses.replace(number, number=moved),
    )
    fault = ("W1:open", "W2:open", "F1:blown", "")[turn]
    return ProblemSet(
        format=FILE_FORMAT,
        name="week-01",
        token=SEED.token(),
        title="Leaks",
        week="Week 1",
        scenario="x",
        circuits=("washer-pump",),
        slots=tuple(Slot(n, "x", "hidden-kind", "hidden-topic", "read") for n in (1, 2, 3, 4)),
        forms=(Form(code="A", items=tuple(with_circuit(one, fault) for one in items)),),
        students=(Student(id="s-117", name="Marta Öberg", form="A"),),
    )


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The files of two sets that differ in their keys."""
    made = []
    for turn in (0, 2):
        out = tmp_path_factory.mktemp(f"set{turn}")
        write_set(HEADING, problem_set(turn), SEED, out, PageOptions())
        made.append(out)
    return made


def for_students(folder: Path) -> list[Path]:
    """All files but the instructor's, which are the set and the key."""
    return [f for f in sorted(folder.iterdir()) if not re.search(r"\.(instructor|key)\.", f.name)]


def test_files_for_students_do_not_depend_on_the_keys(folders: list[Path]) -> None:
    """Same names, same bytes: paper, screen, pack, answer sheet. The instructor's differ."""
    first, second = ([(f.name, f.read_bytes()) for f in for_students(folder)] for folder in folders)
    assert [name for name, _ in first] == [
        "week-01-A.pack.json", "week-01-A.workbook.html", "week-01-A.workbook.pdf",
        "week-01.sheets.pdf",
    ]  # fmt: skip
    assert first == second
    for name in ("week-01.instructor.json", "week-01.key.html"):
        assert len({(folder / name).read_bytes() for folder in folders}) == 2, name


def test_no_file_for_students_holds_a_word_of_the_instructors_half(folders: list[Path]) -> None:
    """Text, metadata, every unpacked object of the PDFs, embedded pictures, source, file names."""
    for path in for_students(folders[0]):
        content = unpacked(path).lower()
        for word in HIDDEN:
            assert word not in content, (path.name, word)
            assert word not in path.name.lower()
        for secret in (SECRET, SEED.under("pack", "A").token().encode()):
            assert secret not in path.read_bytes()
    assert "hidden" in unpacked(folders[0] / "week-01.key.pdf").lower()  # the search can find it


def unpacked(path: Path) -> str:
    """All that can be read in a file: of a PDF the text and each stream and string."""
    if path.suffix != ".pdf":
        raw = path.read_text(encoding="utf-8")
        held = re.findall(r"data:image/[a-z+]+;base64,([A-Za-z0-9+/=]+)", raw)
        return raw + "".join(base64.b64decode(one).decode("utf-8", "replace") for one in held)
    reader = PdfReader(path)
    parts = [page.extract_text() for page in reader.pages] + [str(reader.metadata)]
    for number in reader.xref_objStm.keys() | reader.xref.get(0, {}).keys():
        found = reader.get_object(number)
        parts.append(str(found))
        if hasattr(found, "get_data"):
            parts.append(found.get_data().decode("latin-1"))
    return "\n".join(parts)
