"""`quizgen set verify` names each wrong item and says by its exit code whether there is one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet, write_problem_set
from quizgen.items.item import Item
from tests.items.made import items_of_family

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def item() -> Item:
    """One item."""
    return items_of_family("ground-switched-lamps", 3, 1, 1)[0]


def in_a_file(folder: Path, *items: Item) -> Path:
    """A problem set of one form."""
    problem_set = ProblemSet(
        format=FILE_FORMAT,
        name="week",
        token="T",
        title="A week",
        week="1",
        scenario="brindlemere",
        circuits=("ground-switched-lamps",),
        slots=(),
        forms=(Form(code="B", items=items),),
    )
    return write_problem_set(problem_set, folder / "week.json")


def test_a_right_set_is_fine(quizgen: Run, tmp_path: Path, item: Item) -> None:
    """Code 0, one line, also after the way through the file."""
    done = quizgen("set", "verify", str(in_a_file(tmp_path, item)))
    assert done.code == 0, done.out + done.err
    assert done.out == "week.json: fine, 1 problems checked\n"
    assert done.err == ""


def test_a_wrong_item_is_named(quizgen: Run, tmp_path: Path, item: Item) -> None:
    """Code 3; form, number, id and what is wrong; the right one beside it is not mentioned."""
    first, *others = item.readings
    wrong = replace(item, id="bad", readings=(replace(first, shown="3.3 V"), *others))
    done = quizgen("set", "verify", str(in_a_file(tmp_path, item, wrong)))
    assert done.code == 3
    *findings, verdict = done.out.splitlines()
    assert any("printed is 3.3 V" in line for line in findings)
    assert all(line.startswith("form B, problem 2 (bad): ") for line in findings)
    assert verdict == "week.json: 1 wrong, 2 problems checked"


def test_something_else_is_not_a_set(quizgen: Run, tmp_path: Path) -> None:
    """Code 2 and one line that names the file."""
    path = tmp_path / "none.json"
    path.write_text("{}", encoding="utf-8")
    for name in (path, tmp_path / "missing.json"):
        done = quizgen("set", "verify", str(name))
        assert done.code == 2
        assert done.err.count("\n") == 1
        assert name.name in done.err
