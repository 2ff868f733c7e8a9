"""Commands on a PostgreSQL server: a laptop's file is taken in, reports say the same of both."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from quizgen.cli.main import run
from quizgen.forms.problem_set import write_problem_set
from quizgen.store.database import open_store
from tests.reports.terms import Week, a_set, keep, people

TERM = [
    Week(c, ((w, 2), (c, 3), (2, w)), (0, 1, 2), f"2026-09-{w + 10}", seed=10 * w + c)
    for w in range(2) for c in range(2)
]  # fmt: skip
ON = ("--on", "2026-11-02")


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """said("coverage", "show"): what a command prints that ends well."""

    def call(*args: str) -> str:
        capsys.readouterr()
        code = run(args)
        shown = capsys.readouterr()
        assert code == 0, shown.err
        return shown.out

    return call


@pytest.mark.parametrize("where", ["postgresql"], indirect=True)
def test_a_server_takes_in_a_laptop_and_reports_the_same(
    where: str, tmp_path: Path, said: Callable[..., str]
) -> None:
    """Merged, then shown, planned by and written: of file and server the same is told."""
    laptop = str(tmp_path / "laptop.sqlite")
    store = open_store(laptop)
    keep(store, TERM, 4)
    store.close()
    assert "4 new sets, 12 new sheets of answers, 12 results new or changed, 2 new" in said(
        "grade", "merge", laptop, "--store", where
    )
    assert ": 0 new sets, 0 new sheets" in said("grade", "merge", laptop, "--store", where)
    one, other = (
        json.loads(said("coverage", "show", "--json", "--store", name, *ON))
        for name in (laptop, where)
    )
    assert one == other
    given = ("--store", where, *ON, "--out", str(tmp_path))
    said("coverage", "suggest", "week-09", *given)
    said("coverage", "write", "--class", "Class 0", *given)
    for name in ("week-09.yaml", "coverage.html", "coverage.pdf", "coverage.csv"):
        assert (tmp_path / name).stat().st_size


@pytest.mark.parametrize("where", ["postgresql"], indirect=True)
def test_a_set_is_given_to_a_class_on_a_server(
    where: str, tmp_path: Path, said: Callable[..., str]
) -> None:
    """Assigned, then to be signed for: one term report for its class."""
    path = write_problem_set(a_set(0, TERM[0], people(0, 4)), tmp_path / "set.instructor.json")
    given = ("--class", "Evening A", "--term", "2026", "--on", "2026-09-10", "--store", where)
    assert "class Evening A, 2026, 2026-09-10" in said("coverage", "assign", str(path), *given)
    assert "as before" in said("coverage", "assign", str(path), *given)
    said("coverage", "term", "--store", where, *ON, "--out", str(tmp_path))
    assert len(list(tmp_path.glob("*.term.pdf"))) == 1
