"""`quizgen set plan` writes a plan that loads, and never over a file that is there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from quizgen.forms.plan import load_plan
from quizgen.items.kinds import KINDS

Run = Callable[..., Any]


def test_the_plan_loads_and_asks_for_what_was_wanted(quizgen: Run, tmp_path: Path) -> None:
    """So many questions over all levels that kinds of questions ask at."""
    done = quizgen("set", "plan", "week-07", "--items", "9", "--out", str(tmp_path))
    assert done.code == 0, done.err
    assert done.out.strip() == str(tmp_path / "week-07.yaml")
    plan = load_plan(tmp_path / "week-07.yaml")
    assert plan.items == 9
    assert {c.level for c in plan.cells} <= {kind.level for kind in KINDS.values()}


def test_every_commented_field_is_one(quizgen: Run, tmp_path: Path) -> None:
    """With the comments of its fields taken away the plan still loads."""
    quizgen("set", "plan", "week", "--out", str(tmp_path))
    text = (tmp_path / "week.yaml").read_text("utf-8")
    for field in ("circuits", "kinds"):
        start = text.index(f"# {field}: [")
        end = text.index("]", start)
        folded = text[start : end + 1].replace("\n#", "\n").removeprefix("# ")
        text = text[:start] + folded + text[end + 1 :]
    text = text.replace("# difficulty:", "difficulty:").replace("# without:", "without:")
    (tmp_path / "open.yaml").write_text(text, encoding="utf-8")
    plan = load_plan(tmp_path / "open.yaml")
    assert plan.kinds == tuple(KINDS)
    assert plan.difficulty == (0.3, 0.9)
    assert "starter" not in plan.circuits


def test_a_file_is_never_overwritten(quizgen: Run, tmp_path: Path) -> None:
    """Code 2, one line, the file as it was."""
    (tmp_path / "week.yaml").write_text("mine", encoding="utf-8")
    done = quizgen("set", "plan", "week", "--out", str(tmp_path))
    assert done.code == 2
    assert "exists already" in done.err
    assert (tmp_path / "week.yaml").read_text("utf-8") == "mine"


def test_a_name_is_a_file_name(quizgen: Run, tmp_path: Path) -> None:
    """No way out of the folder."""
    done = quizgen("set", "plan", "../week", "--out", str(tmp_path))
    assert done.code == 2
    assert done.err.count("\n") == 1
