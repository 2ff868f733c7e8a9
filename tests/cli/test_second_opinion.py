"""`quizgen set verify --second-opinion` says what ngspice found, and what to do without it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quizgen.items.item import Item
from tests.cli.test_set_verify import in_a_file
from tests.items.made import items_of_family
from tests.oracles.spice import ngspice

__all__ = ["ngspice"]

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def item() -> Item:
    """One item."""
    return items_of_family("push-button-relay", 3, 1, 1)[0]


@pytest.mark.ngspice
def test_a_right_set_is_fine_by_both(
    quizgen: Run, tmp_path: Path, item: Item, ngspice: str
) -> None:
    """Code 0; how many readings and nodes, and how near."""
    done = quizgen("set", "verify", str(in_a_file(tmp_path, item)), "--second-opinion")
    assert done.code == 0, done.out + done.err
    verdict, opinion = done.out.splitlines()
    assert verdict == "week.json: fine, 1 problems checked"
    count, _, rest = opinion.partition(" ")
    assert int(count) >= len(item.readings)
    assert rest.startswith("readings recomputed by ngspice, worst difference ")
    assert rest.endswith(" V")


@pytest.mark.ngspice
def test_a_reading_that_ngspice_does_not_find_is_named(
    quizgen: Run, tmp_path: Path, item: Item, ngspice: str
) -> None:
    """Code 3; form, number, id; the item counts once, whoever finds it wrong."""
    first, *others = item.readings
    wrong = replace(item, id="bad", readings=(replace(first, shown="3.3 V"), *others))
    done = quizgen("set", "verify", str(in_a_file(tmp_path, item, wrong)), "--second-opinion")
    assert done.code == 3
    lines = done.out.splitlines()
    assert any(
        line.startswith("form B, problem 2 (bad): reading 1: ngspice finds ")
        and line.endswith(", the item says 3.3")
        for line in lines
    )
    assert lines[-2] == "week.json: 1 wrong, 2 problems checked"


def test_without_ngspice_one_line_says_what_to_install(
    quizgen: Run, tmp_path: Path, item: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Code 4, before any work is done; without the option nothing is missed."""
    monkeypatch.setenv("PATH", str(tmp_path))
    file = str(in_a_file(tmp_path, item))
    done = quizgen("set", "verify", file, "--second-opinion")
    assert done.code == 4
    assert done.out == ""
    assert done.err.count("\n") == 1
    assert "install the package ngspice" in done.err
    assert quizgen("set", "verify", file).code == 0
