"""A set is the same, byte for byte, whoever makes it: this process, several, or a cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import pytest
from distributed import LocalCluster

from quizgen import pipeline
from quizgen.base.cluster import on_cluster
from quizgen.base.seeds import Seed
from quizgen.base.spread import spread_out
from quizgen.forms.plan import load_plan
from quizgen.forms.problem_set import Form
from quizgen.pipeline import assemble, build_set, print_jobs, write_set
from quizgen.publish.page_options import PageOptions
from quizgen.publish.printing import Document, FormJob, KeyJob, PrintJob
from quizgen.scenario.scenario import find_scenario
from tests.publish.samples import HEADING
from tests.publish.test_from_items import item
from tests.publish.test_leaks import SEED, problem_set

Job = TypeVar("Job")
Result = TypeVar("Result")

PLAN = """format: 1
name: class
title: Class
scenario: brindlemere
secret: example only, everybody can read it
forms: 1
roster: roster.csv
circuits: [horn-pair, warning-lamp]
kinds: [first-suspect, covering-checks]
items: 2
"""


def plan(folder: Path) -> Path:
    """Two questions for two students."""
    (folder / "roster.csv").write_text("id,name\ns-1,Ida Moen\ns-2,Åke Lund\n", encoding="utf-8")
    path = folder / "class.yaml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def files(folder: Path) -> dict[str, bytes]:
    """All that a build has left behind."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.slow
def test_here_on_two_processes_and_on_a_cluster_the_files_are_the_same(tmp_path: Path) -> None:
    """The cluster's workers write nothing, so they need not see the folder."""
    path = plan(tmp_path)
    here, pool, away = (tmp_path / name for name in ("here", "pool", "away"))
    built = build_set(path, here)
    assert {file.name for file in built.files} == files(here).keys()
    told: list[str] = []
    with spread_out(2) as runner:
        build_set(path, pool, runner=runner, progress=told.append)
    assert files(pool) == files(here)
    assert [text.partition(":")[0] for text in told] == [
        *(f"question {n} of 2" for n in (1, 2)), *(f"pages {n} of 3" for n in (0, 1, 2, 3)),
    ]  # fmt: skip
    with (
        LocalCluster(n_workers=2, threads_per_worker=2, dashboard_address=None) as cluster,
        on_cluster(cluster.scheduler_address) as runner,
    ):
        build_set(path, away, runner=runner)
    assert files(away) == files(here)


class Backwards:
    """The last job is done first."""

    def map(
        self, function: Callable[[Job], Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[int, Result]]:
        """See `quizgen.base.spread.Runner`."""
        for number, job in reversed([*enumerate(jobs)]):
            yield number, function(job)


def named(job: PrintJob) -> tuple[Document, ...]:
    """The documents of a job, each holding its name; setting them for real takes long."""
    match job:
        case FormJob(name=name, form=form):
            stem = f"{name}-{form.code}"
            names = (f"{stem}.workbook.pdf", f"{stem}.workbook.html", f"{stem}.pack.json")
        case KeyJob(name=name):
            names = (f"{name}.key.pdf", f"{name}.key.html")
        case _:
            names = (f"{job.name}.sheets.pdf",)
    return tuple(Document(name, name.encode()) for name in names)


def test_the_order_in_which_questions_are_made_does_not_show(tmp_path: Path) -> None:
    """The last is made first, and the set is the same."""
    asked = load_plan(plan(tmp_path))
    scenario, seed = find_scenario(asked.scenario), Seed(asked.secret.encode())
    made = assemble(asked, scenario, seed)
    assert made == assemble(asked, scenario, seed, runner=Backwards())


def test_the_order_in_which_pages_are_set_does_not_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every form finds its own files, the key of all comes from the first job."""
    monkeypatch.setattr(pipeline, "print_job", named)
    forms = tuple(Form(code=code, items=(item(1),)) for code in "ABC")
    made = replace(problem_set(0), forms=forms, students=())
    forwards = write_set(HEADING, made, SEED, tmp_path / "a", PageOptions())
    backwards = write_set(HEADING, made, SEED, tmp_path / "b", PageOptions(), runner=Backwards())
    assert files(tmp_path / "a") == files(tmp_path / "b")
    assert [f.name for f in backwards.files] == [f.name for f in forwards.files]
    assert [f.name for f in backwards.workbooks] == [
        f"week-01-{form}.workbook.{kind}" for form in "ABC" for kind in ("pdf", "html")
    ]
    assert [f.name for f in backwards.keys] == ["week-01.key.pdf", "week-01.key.html"]


def test_what_takes_longest_is_begun_first() -> None:
    """The key holds all forms, so it comes before any of them, or the last core waits for it."""
    jobs = [*print_jobs(HEADING, problem_set(0), SEED, PageOptions())]
    assert [type(job).__name__ for job in jobs] == ["KeyJob", "SheetsJob", "FormJob"]
