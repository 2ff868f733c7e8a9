"""The same jobs on a Dask cluster (dask.org), for classes that outgrow one machine.

Needs the extra `quizgen[cluster]`, and on every worker the versions that are installed here, for
they decide the bytes of a page: `on_cluster` asks before it begins. A worker does one job at a
time, however many threads it has; the library that sets the pages is not made for threads.
"""

from __future__ import annotations

import logging
import os
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from concurrent.futures import CancelledError
from contextlib import contextmanager
from importlib.metadata import requires, version
from platform import python_version
from threading import Lock
from typing import Any

from quizgen.base.errors import InputError, OutsideError, QuizgenError
from quizgen.base.spread import AHEAD, Job, Result, Runner, hand_out

CARRIED = ("SOURCE_DATE_EPOCH",)  # variables of the environment that decide bytes
ADDRESS = re.compile(r"(tcp|tls)://([^\s/:@]+|\[[\da-fA-F:.]+\]):\d{1,5}")
PATIENCE = "10s"  # with a scheduler that does not answer
DASK = "distributed"  # the package that connects; its loggers begin so
CALL_SECONDS = 30  # of silence until workers are counted

_ONE_AT_A_TIME = Lock()


class Cluster:
    """A cluster that is connected, with so many workers."""

    def __init__(self, client: Any, workers: int) -> None:  # dask has no types to speak of
        self._client = client
        self._ahead = AHEAD * workers

    def map(
        self, function: Callable[[Job], Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[int, Result]]:
        """See `quizgen.base.spread.Runner`."""
        carried = {name: os.environ[name] for name in CARRIED if name in os.environ}

        def submit(job: Job) -> Any:
            return self._client.submit(_do, function, job, carried, pure=False)

        with _told():
            yield from hand_out(jobs, submit, self._some_of, self._ahead)

    def _some_of(self, futures: Collection[Any]) -> Collection[Any]:
        from distributed import wait  # noqa: PLC0415  an extra: only when asked for

        while True:
            try:
                done: Collection[Any] = wait(
                    list(futures), timeout=CALL_SECONDS, return_when="FIRST_COMPLETED"
                ).done
                return done
            except TimeoutError:  # a long job, or nobody left to do it
                if not self._client.nthreads():
                    raise OutsideError("no worker of the cluster is left; start some") from None


@contextmanager
def on_cluster(address: str) -> Iterator[Runner]:
    """A runner on the cluster whose scheduler is at `address`, such as tcp://10.0.0.5:8786.

    What is not done yet is given up when the block is left. Raises InputError for what is no
    address, OutsideError when Dask is not installed, nobody answers, there are no workers, or a
    worker has other versions.
    """
    if not ADDRESS.fullmatch(address):
        raise InputError(f"{address}: no address of a scheduler, such as tcp://10.0.0.5:8786")
    try:
        from distributed import Client  # noqa: PLC0415  an extra: only when asked for
    except ModuleNotFoundError as error:
        raise OutsideError(
            f"a cluster needs Dask, and {error.name} is not installed; "
            "pip install 'quizgen[cluster]'"
        ) from None
    with _quiet(), _connected(Client, address) as client:
        with _told():
            found = client.run(versions)
        _check(address, found)
        yield Cluster(client, len(found))


def _connected(client: Any, address: str) -> Any:
    try:
        return client(address, timeout=PATIENCE)
    except OSError as error:  # a time-out is one too
        raise OutsideError(
            f"{address}: no Dask scheduler answers ({_brief(error)}); check the address, and "
            "that `dask scheduler` runs there"
        ) from None


@contextmanager
def _quiet() -> Iterator[None]:
    """Dask logs no tracebacks of its own; what went wrong is raised, and told in one line."""
    loggers = [logging.getLogger(n) for n in logging.root.manager.loggerDict if n.startswith(DASK)]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.setLevel(level)


def versions() -> dict[str, str]:
    """The versions of Python, quizgen and all that it needs, as installed where this is called."""
    names = [
        re.split(r"[^\w.-]", line, maxsplit=1)[0]
        for line in requires("quizgen") or ()
        if "extra ==" not in line
    ]
    packages = {name: version(name) for name in ("quizgen", *names)}
    return {"Python": python_version(), **packages}


def _check(address: str, found: Mapping[str, Mapping[str, str]]) -> None:
    if not found:
        raise OutsideError(f"{address}: the cluster has no workers; start some with `dask worker`")
    here = versions()
    for worker, there in found.items():
        for name, wanted in here.items():
            if there.get(name) != wanted:
                raise OutsideError(
                    f"{worker} has {name} {there.get(name, '(none)')}, this machine {wanted}, and "
                    "pages would differ; install the same versions on all"
                )


def _do(function: Callable[[Job], Result], job: Job, carried: Mapping[str, str]) -> Result:
    """What a worker does with a job."""
    with _ONE_AT_A_TIME:
        for name in CARRIED:
            os.environ.pop(name, None)
        os.environ.update(carried)
        return function(job)


@contextmanager
def _told() -> Iterator[None]:
    """Errors of ours pass; any other is the cluster's, and becomes one line."""
    try:
        yield
    except QuizgenError:
        raise
    except CancelledError as error:
        raise OutsideError(
            "the scheduler of the cluster went away; look at its log, and build again"
        ) from error
    except Exception as error:
        raise OutsideError(
            f"the cluster failed ({_brief(error)}); look at the logs of its workers"
        ) from error


def _brief(error: BaseException) -> str:
    text = " ".join(str(error).split())[:200]
    return f"{type(error).__name__}: {text}" if text else type(error).__name__
