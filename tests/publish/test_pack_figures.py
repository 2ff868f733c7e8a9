"""Packs of real items: their figures survive the file, and have a drawing for a terminal."""

from __future__ import annotations

import random
from pathlib import Path

from quizgen.base.seeds import Seed
from quizgen.circuit.template import find_template
from quizgen.forms.problem_set import Form
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material
from quizgen.publish.circuit_figures import TERMINAL_COLUMNS, WIDE_COLUMNS, figure_of, with_terminal
from quizgen.publish.from_items import workbook_of
from quizgen.publish.pack import read_pack, seal_pack, write_pack
from quizgen.publish.view import Heading


def test_a_pack_of_a_real_item_is_read_back_with_its_drawing(tmp_path: Path) -> None:
    """What was written is what is read, and the drawing fits the terminal and names its parts."""
    rng = random.Random("a pack")
    material = draw_material(find_template("push-button-relay"), rng, machine="A machine")
    item = KINDS["shared-path"].item(material, Request(), rng)
    book = workbook_of(
        Heading(college="", course="", title=""), Form(code="A", items=(item,)), figure_of
    )
    pack = seal_pack(with_terminal(book, [item]), "4f21aa07", "", Seed(b"a secret of the course"))
    read = read_pack(write_pack(pack, tmp_path / "a.pack.json"))
    assert read == pack
    figure = read.book.problems[0].figure
    assert figure is not None
    for lines, columns in (
        (figure.terminal, TERMINAL_COLUMNS),
        (figure.wide_terminal, WIDE_COLUMNS),
    ):
        assert 20 < max(map(len, lines)) <= columns
        assert "F1" in "\n".join(lines)
