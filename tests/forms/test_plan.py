"""A plan file: what it may say, and the one line that tells what is wrong with it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from quizgen.base.errors import FileError, UnprovableError
from quizgen.base.paths import data_folder
from quizgen.base.seeds import Seed
from quizgen.forms.assemble import make_forms
from quizgen.forms.candidates import Workshop
from quizgen.forms.plan import ANY, Cell, load_plan
from quizgen.items.kinds import KINDS
from quizgen.items.verify import verify_item
from quizgen.scenario.scenario import find_scenario

HEAD = """format: 1
name: week
title: A week
scenario: brindlemere
forms: 2
"""


def plan_file(folder: Path, text: str, head: str = HEAD) -> Path:
    """A plan with `text` under the usual head."""
    path = folder / "plan.yaml"
    path.write_text(head + text, encoding="utf-8")
    return path


def test_the_blueprint_is_read_cell_by_cell(tmp_path: Path) -> None:
    """Topics by levels by counts, in the order of the file; a count of 0 is no cell."""
    text = "blueprint:\n  relay-control: {interpret: 2, read: 0}\n  any: {any: 3}\n"
    plan = load_plan(plan_file(tmp_path, text))
    assert plan.cells == (Cell("relay-control", "interpret", 2), Cell(ANY, ANY, 3))
    assert plan.items == 5


def test_without_a_blueprint_anything_goes(tmp_path: Path) -> None:
    """`items` alone asks for so many questions of any topic and level, of every kind."""
    plan = load_plan(plan_file(tmp_path, "items: 7\n"))
    assert plan.cells == (Cell(ANY, ANY, 7),)
    assert plan.kinds == tuple(KINDS)
    assert plan.options == 3
    assert plan.difficulty == (0.0, 1.0)


def test_families_can_be_left_out(tmp_path: Path) -> None:
    """`without` takes families from those of the scenario's machines."""
    every = load_plan(plan_file(tmp_path, "items: 7\n")).circuits
    fewer = load_plan(plan_file(tmp_path, "items: 7\nwithout: [starter]\n")).circuits
    assert set(every) - set(fewer) == {"starter"}


def test_one_form_per_student(tmp_path: Path) -> None:
    """No letters then: the roster numbers the forms."""
    head = HEAD.replace("forms: 2", "forms: one per student")
    plan = load_plan(plan_file(tmp_path, "items: 7\n", head))
    assert plan.forms == 0
    assert plan.form_codes == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "expected a blueprint, or how many items"),
        ("blueprint:\n  relays: {read: 1}\n", "no topic 'relays'"),
        ("blueprint:\n  relay-contol: {read: 1}\n", "did you mean relay-control?"),
        ("blueprint:\n  any: {interpet: 1}\n", "did you mean interpret?"),
        ("blueprint:\n  any: {read: -1}\n", "from 0 to 60, found -1"),
        ("blueprint:\n  any: {read: 0}\n", "1 to 60 questions in all, found 0"),
        ("blueprint: [read]\n", "expected topics"),
        ("items: 3\nblueprint:\n  any: {read: 2}\n", "the blueprint asks for 2"),
        ("items: 3\ncircuits: [starer]\n", "did you mean starter?"),
        ("items: 3\ncircuits: []\n", "there is no circuit family"),
        ("items: 3\ncircuits: [starter]\nwithout: [starter]\n", "no circuit family is left"),
        ("items: 3\nkinds: [fault-from-reading]\n", "did you mean fault-from-readings?"),
        ("items: 3\noptions: 2\n", "from 3 to 4, found 2"),
        ("items: 3\ndifficulty: [0.8, 0.3]\n", "two shares of right answers"),
        ("items: 3\ndifficulty: [hard, easy]\n", "expected a number"),
        ("items: 3\nkind: [trace-path]\n", "did you mean kinds?"),
    ],
)
def test_a_mistake_is_one_line_with_its_place(tmp_path: Path, text: str, message: str) -> None:
    """File, line, field, and what was expected."""
    path = plan_file(tmp_path, text)
    with pytest.raises(FileError, match="line") as caught:
        load_plan(path)
    assert message in str(caught.value)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["../week-01", "a/b", "'c:week'", "'.hidden'", "x" * 101])
def test_the_name_of_a_set_is_no_path(tmp_path: Path, name: str) -> None:
    """Its files go where --out says; nor may it be one that some system cannot write."""
    path = plan_file(tmp_path, "items: 3\n", HEAD.replace("name: week\n", f"name: {name}\n"))
    with pytest.raises(FileError, match=r"name: .* is no name for files"):
        load_plan(path)


def test_a_circuit_of_ones_own_is_named_by_its_file(tmp_path: Path) -> None:
    """As seen from the plan; it needs no machine of the scenario."""
    source = (data_folder("templates") / "circuits" / "horn-pair.yaml").read_text("utf-8")
    own = source.replace("name: horn-pair", "name: my-horns")
    (tmp_path / "my-horns.yaml").write_text(own, encoding="utf-8")
    plan = load_plan(plan_file(tmp_path, "items: 1\ncircuits: [my-horns.yaml]\n"))
    assert plan.circuits == (str(tmp_path / "my-horns.yaml"),)
    workshop = Workshop(plan, find_scenario("brindlemere"), Seed(b"sixteen letters or more"))
    _, forms = make_forms(workshop, ("A",), lambda text: None)
    item = forms[0].items[0]
    assert item.origin.template == str(tmp_path / "my-horns.yaml")
    assert verify_item(item) == ()


def test_a_difficulty_that_nothing_meets_is_one_line_soon(tmp_path: Path) -> None:
    """The cell, what was made instead, what the plan asks for; not every pair is tried."""
    text = "items: 1\ncircuits: [horn-pair, washer-pump]\nkinds: [trace-path, shared-path]\n"
    plan = load_plan(plan_file(tmp_path, text + "difficulty: [0.001, 0.002]\n"))
    workshop = Workshop(plan, find_scenario("brindlemere"), Seed(b"sixteen letters or more"))
    told: list[str] = []
    with pytest.raises(UnprovableError) as caught:
        make_forms(workshop, ("A",), told.append)
    words = str(caught.value)
    assert "\n" not in words
    assert re.search(r"predicted to be answered by \d+% to \d+%, .* 0\.001 to 0\.002", words)
    assert len(told) <= 4


def test_a_scenario_of_ones_own_is_found_beside_the_plan(tmp_path: Path) -> None:
    """A folder named in the plan is looked for where the plan is."""
    shutil.copytree(data_folder("scenarios") / "brindlemere", tmp_path / "mine")
    setting = tmp_path / "mine" / "setting.yaml"
    setting.write_text(setting.read_text("utf-8").replace("name: brindlemere", "name: mine"))
    head = HEAD.replace("brindlemere", "mine")
    plan = load_plan(plan_file(tmp_path, "items: 1\n", head))
    assert find_scenario(plan.scenario).name == "mine"
