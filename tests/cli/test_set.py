"""`quizgen set build` hands its options to the pipeline and prints what was made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quizgen.base.spread import Here, Pool
from quizgen.cli import set_build
from quizgen.forms.problem_set import write_problem_set
from quizgen.forms.roster import Student
from quizgen.pipeline import Built
from quizgen.publish.page_options import PageOptions
from tests.grading import graded

Run = Callable[..., Any]


def test_options_reach_the_pipeline(
    quizgen: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Plan, folder, size and kind of print; the files come back one a line."""
    asked: dict[str, Any] = {}

    def build_set(plan: Path, out: Path, **more: Any) -> Built:
        asked.update(plan=plan, out=out, **more)
        write_problem_set(graded.the_set(), out / "a.json")
        return Built(out / "a.json", (out / "b.pdf",), (out / "s.pdf",), (out / "c.pdf",))

    monkeypatch.setattr(set_build, "build_set", build_set)
    done = quizgen(
        "set", "build", "plan.yaml", "--out", str(tmp_path), "--size", "letter", "--large-print"
    )
    assert done.code == 0, done.err
    assert asked["plan"] == Path("plan.yaml")
    assert asked["out"] == tmp_path
    assert asked["pages"] == PageOptions(size="letter", large_print=True)
    assert done.out.splitlines() == [
        str(tmp_path / n) for n in ("a.json", "b.pdf", "s.pdf", "c.pdf")
    ]
    assert done.err == ""  # nobody watches: no progress


def test_names_that_come_out_as_boxes_are_told(
    quizgen: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """No shipped font has Chinese letters; those of Europe and Arabic ones they have."""
    names = {"S-001": "山田太郎", "S-002": "Nalân Şener", "S-003": "محمد"}
    students = tuple(Student(id=i, name=name, form="A") for i, name in names.items())
    path = write_problem_set(replace(graded.the_set(), students=students), tmp_path / "a.json")
    made = Built(path, sheets=(tmp_path / "s.pdf",))
    monkeypatch.setattr(set_build, "build_set", lambda *args, **more: made)
    done = quizgen("set", "build", "plan.yaml", "--out", str(tmp_path))
    assert done.code == 0
    assert "names of S-001: their sheets show boxes" in done.err


def test_a_missing_plan_writes_nothing(quizgen: Run, tmp_path: Path) -> None:
    """Code 2, one line, and the folder is not even made."""
    out = tmp_path / "new"
    done = quizgen("set", "build", str(tmp_path / "none.yaml"), "--out", str(out))
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "expected"), [(["--jobs", "1"], Here), (["--jobs", "3"], Pool)]
)
def test_who_does_the_work_reaches_the_pipeline(
    quizgen: Run, monkeypatch: pytest.MonkeyPatch, options: list[str], expected: type
) -> None:
    """This process alone for one job, a pool for more."""
    asked: list[object] = []

    def build_set(plan: Path, out: Path, **more: Any) -> Built:
        asked.append(more["runner"])
        return Built(out)

    monkeypatch.setattr(set_build, "build_set", build_set)
    done = quizgen("set", "build", "plan.yaml", *options)
    assert done.code == 0, done.err
    assert [type(runner) for runner in asked] == [expected]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--jobs", "0"], "--jobs"),
        (["--jobs", "2", "--scheduler", "tcp://10.0.0.5:8786"], "give one"),
        (["--scheduler", "10.0.0.5"], "tcp://"),
    ],
)
def test_wrong_options_are_one_line(quizgen: Run, options: list[str], said: str) -> None:
    """Exit code 2, before the plan is looked at."""
    done = quizgen("set", "build", "plan.yaml", *options)
    assert done.code == 2
    assert said in done.err
    assert done.err.count("\n") == 1
