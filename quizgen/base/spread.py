"""Many jobs that do not need each other: done here, or spread over the cores of this machine.

A `Runner` takes a function and jobs and gives back results as they are done. Function and jobs
must survive pickling: a function of a module, records without open files. Whatever runner does
them, the same jobs give the same results, so nothing that is built shows where it was built.
`quizgen.base.cluster` has a third runner, for more than one machine.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
from collections.abc import Callable, Collection, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from multiprocessing.connection import wait as wait_for_end
from threading import Thread
from typing import Any, Protocol, TypeVar

from quizgen.base.errors import OutsideError

Job = TypeVar("Job")
Result = TypeVar("Result")

AHEAD = 2  # jobs handed out for each worker: one at work, one waiting, so that none stands idle
# what the libraries under numpy read when they are loaded; as many threads as cores in each of
# as many processes as cores would only get in each other's way
THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")

# new records between two looks for circles of them: a worker makes very many and few circles,
# and looking as often as Python does takes a tenth of its time
SELDOM = (100_000, 50, 50)


class Runner(Protocol):
    """Somewhere to have jobs done."""

    def map(
        self, function: Callable[[Job], Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[int, Result]]:
        """`function` of each job, as they are done, each with the number of its job from 0.

        Only a few jobs are taken from `jobs` before results are fetched, so memory does not
        grow with their number. An error of a job is raised here. Raises OutsideError when a
        worker is lost.
        """


class Here:
    """One job after the other, in this process."""

    def map(
        self, function: Callable[[Job], Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[int, Result]]:
        """See `Runner`; in the order of the jobs."""
        return ((number, function(job)) for number, job in enumerate(jobs))


class Pool:
    """Processes on this machine."""

    def __init__(self, executor: ProcessPoolExecutor, workers: int) -> None:
        self._executor = executor
        self._ahead = AHEAD * workers

    def map(
        self, function: Callable[[Job], Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[int, Result]]:
        """See `Runner`."""

        def submit(job: Job) -> Future[Result]:
            with _deaf():  # a process started now hears no Ctrl-C
                return self._executor.submit(function, job)

        try:
            yield from hand_out(jobs, submit, _some_of, self._ahead)
        except BrokenProcessPool:
            raise OutsideError(
                "a worker process was ended from outside, perhaps for want of memory; "
                "try again with fewer at a time (--jobs)"
            ) from None


def hand_out(
    jobs: Iterable[Job],
    submit: Callable[[Job], Any],
    some_of: Callable[[Collection[Any]], Collection[Any]],
    ahead: int,
) -> Iterator[tuple[int, Result]]:
    """Results as they are done, with the numbers of their jobs; `ahead` jobs are out at a time.

    `submit` gives a future, of whatever library; `some_of` waits until some are done, and says
    which.
    """
    todo = enumerate(jobs)
    out: dict[Any, int] = {}
    while True:
        for number, job in islice(todo, ahead - len(out)):
            out[submit(job)] = number
        if not out:
            return
        for future in sorted(some_of(out), key=out.__getitem__):
            yield out.pop(future), future.result()


def _some_of(futures: Collection[Future[Any]]) -> Collection[Future[Any]]:
    return wait(futures, return_when=FIRST_COMPLETED).done


def cores() -> int:
    """How many processes this process may run at once."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def spread_out(workers: int) -> Iterator[Runner]:
    """A runner with so many processes; with one, it is this process.

    When the block is left by an error or by Ctrl-C the processes are ended at once. A script
    that asks for several does so under `if __name__ == "__main__":`, for each process reads it.
    """
    if workers == 1:
        yield Here()
        return
    before = set(multiprocessing.active_children())
    executor = ProcessPoolExecutor(
        workers, multiprocessing.get_context("spawn"), initializer=_begin
    )
    try:
        yield Pool(executor, workers)
    except BaseException:
        for process in set(multiprocessing.active_children()) - before:
            process.terminate()
        raise
    finally:
        executor.shutdown(cancel_futures=True)


def _begin() -> None:
    """What a worker does first. Nothing that loads numpy may be imported before."""
    os.environ.update(dict.fromkeys(THREADS, "1"))
    gc.set_threshold(*SELDOM)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent hears Ctrl-C, and ends its workers
    Thread(target=_outlive_nobody, daemon=True).start()


def _outlive_nobody() -> None:
    """Ends a worker whose parent was killed and could not do it."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait_for_end([parent.sentinel])
        os._exit(1)


@contextmanager
def _deaf() -> Iterator[None]:
    """Ctrl-C is kept waiting; a process started meanwhile never hears it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
