"""Jobs on a Dask cluster: what comes back, and one clear line for each way it can fail.

The cluster is one worker in this process. `tests/pipeline` has one of two processes.
"""

from __future__ import annotations

import math
import os
import socket
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from distributed import Client, LocalCluster

from quizgen.base import cluster
from quizgen.base.cluster import on_cluster
from quizgen.base.errors import FileError, InputError, OutsideError, QuizgenError
from quizgen.base.spread import Runner
from quizgen.circuit.yaml_reader import read_file


@pytest.fixture
def scheduler() -> Iterator[str]:
    """The address of a cluster."""
    with LocalCluster(n_workers=1, processes=False, protocol="tcp", dashboard_address=None) as made:
        yield made.scheduler_address


@pytest.fixture
def runner(scheduler: str) -> Iterator[Runner]:
    """Connected to it."""
    with on_cluster(scheduler) as found:
        yield found


def test_results_come_with_the_numbers_of_their_jobs(runner: Runner) -> None:
    """Twenty factorials, and none where there are no jobs."""
    assert dict(runner.map(math.factorial, range(20))) == {n: math.factorial(n) for n in range(20)}
    assert list(runner.map(math.factorial, [])) == []


def test_what_decides_bytes_goes_along(runner: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    """The date of a page is that of the machine which asks for it."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1234567890")
    assert list(runner.map(os.getenv, ["SOURCE_DATE_EPOCH"])) == [(0, "1234567890")]


def test_an_error_of_a_job_arrives_as_it_was(runner: Runner, tmp_path: Path) -> None:
    """With its class and its one line."""
    path = tmp_path / "plan.yaml"
    path.write_text("name: one\nname: two\n", encoding="utf-8")
    with pytest.raises(FileError, match="line 2"):
        list(runner.map(read_file, [path]))


def line(caught: pytest.ExceptionInfo[QuizgenError]) -> str:
    """The message, which is one line."""
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_a_mistake_on_a_worker_is_one_line(runner: Runner) -> None:
    """As when something is not installed there."""
    with pytest.raises(OutsideError, match="logs") as caught:
        list(runner.map(math.sqrt, [-1.0]))
    assert "ValueError" in line(caught)


def test_a_scheduler_that_goes_away_is_one_line(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """And no log of what Dask did about it."""
    monkeypatch.setattr(cluster, "CALL_SECONDS", 1)
    made = LocalCluster(n_workers=1, processes=False, protocol="tcp", dashboard_address=None)

    def jobs() -> Iterator[float]:
        yield 3.0
        made.close()

    with pytest.raises(OutsideError, match="cluster") as caught:
        _all(made.scheduler_address, jobs())
    assert line(caught)
    assert not [r for r in caplog.records if r.levelname == "ERROR"]


def _all(address: str, jobs: Iterable[float]) -> None:
    with on_cluster(address) as runner:
        list(runner.map(time.sleep, jobs))


def test_a_cluster_without_workers_is_told() -> None:
    """Before anything is begun."""
    with (
        LocalCluster(n_workers=0, processes=False, protocol="tcp", dashboard_address=None) as made,
        pytest.raises(OutsideError, match="no workers") as caught,
        on_cluster(made.scheduler_address),
    ):
        pass
    assert made.scheduler_address in line(caught)


def test_other_versions_are_told(scheduler: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages would differ; the worker, the package and both versions are named."""
    here = cluster.versions()
    found = {"tcp://10.0.0.9:1": here, "tcp://10.0.0.9:2": {**here, "weasyprint": "1.0"}}
    monkeypatch.setattr(Client, "run", lambda client, function: found)
    with pytest.raises(OutsideError, match="same versions") as caught, on_cluster(scheduler):
        pass
    assert line(caught).startswith("tcp://10.0.0.9:2 has weasyprint 1.0, this machine ")
    assert here["weasyprint"] in line(caught)


def test_versions_are_those_of_python_quizgen_and_what_it_needs() -> None:
    """Not of what only developers or clusters need."""
    found = cluster.versions()
    assert {"Python", "quizgen", "numpy", "weasyprint"} <= found.keys()
    assert found["Python"] == ".".join(map(str, sys.version_info[:3]))
    assert not {"pytest", "dask", "dask[distributed]"} & found.keys()


@pytest.mark.parametrize("address", ["", "10.0.0.5:8786", "http://10.0.0.5:8786", "tcp://10.0.0.5"])
def test_what_is_no_address_is_wrong_input(address: str) -> None:
    """The line shows how one looks."""
    with pytest.raises(InputError, match="such as tcp://") as caught, on_cluster(address):
        pass
    assert line(caught)


def test_a_scheduler_that_does_not_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line names the address, and what should run there."""
    monkeypatch.setattr(cluster, "PATIENCE", "1s")
    with socket.socket() as free:  # a port where nobody listens
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
        with pytest.raises(OutsideError, match="dask scheduler") as caught, on_cluster(address):
            pass
    assert address in line(caught)


def test_without_dask_the_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """The extra is named as pip wants it."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(OutsideError, match=r"quizgen\[cluster\]") as caught,
        on_cluster("tcp://127.0.0.1:8786"),
    ):
        pass
    assert "distributed" in line(caught)
