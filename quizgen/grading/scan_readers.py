"""Processes that read scans, so that no file can stop the others.

A file comes from a scanner, a telephone or a stranger, and the libraries that draw it are large. A
page on which a process dies, or takes longer than any honest page does, is one line, and a new
process goes on with the next page. The same processes use all cores.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from quizgen.base.errors import InputError, QuizgenError
from quizgen.base.spread import cores
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.pages import iterate_pages
from quizgen.grading.sheet_reading import SheetReading, read_sheet

Serve = Callable[[Connection, ProblemSet], None]

PAGE_SECONDS = 60.0
MEMORY = 6 << 30  # bytes of address space; a page of 120 million dots takes a tenth
MOST_DEATHS = 3  # of one file, before the rest of it is left
METHOD = "spawn" if sys.platform == "win32" else "forkserver"
LOADED = ["cv2", "pypdfium2", "zxingcpp", "PIL.Image", "quizgen.grading.sheet_reading"]


@dataclass(frozen=True)
class Task:
    """Pages of a file: from `first` on every `step`th."""

    path: Path
    first: int = 1
    step: int = 1
    deaths: int = 0


@dataclass(frozen=True)
class PageRead:
    """What became of one page: a reading (None: an empty page) or a line about it."""

    path: Path
    number: int
    reading: SheetReading | None = None
    problem: QuizgenError | None = None


def read_pages(
    paths: Sequence[Path], problem_set: ProblemSet, jobs: int | None = None,
    seconds: float = PAGE_SECONDS, serve: Serve | None = None,
) -> Iterator[PageRead]:  # fmt: skip
    """Every page of every file, as they are done; `seconds` is how long one may take.

    `serve` is what the processes run, for those who try what happens when it fails.
    """
    processes = jobs or cores()
    step = -(-processes // max(len(paths), 1))  # few files: several processes to each
    tasks = deque(Task(path, first, step) for path in paths for first in range(1, step + 1))
    context = multiprocessing.get_context(METHOD)
    if METHOD == "forkserver":
        context.set_forkserver_preload(LOADED)
    count = min(processes, len(tasks))
    readers = [_Reader(context, problem_set, serve or _serve) for _ in range(count)]
    try:
        yield from _share_out(tasks, readers, seconds)
    finally:
        for reader in readers:
            reader.stop()


def _share_out(
    tasks: deque[Task], readers: Sequence[_Reader], seconds: float
) -> Iterator[PageRead]:
    while True:
        for reader in readers:
            if reader.task is None and tasks:
                reader.begin(tasks.popleft())
        busy = [reader for reader in readers if reader.task is not None]
        if not busy:
            return
        ready = wait([reader.connection for reader in busy], timeout=1.0)
        for reader in busy:
            if reader.connection in ready:
                found = reader.receive()
            elif reader.seconds > seconds:
                found = reader.died("takes too long")
            else:
                continue
            if isinstance(found, PageRead):
                yield found
            if reader.left is not None:
                tasks.append(reader.left)
                reader.left = None


class _Reader:
    """One process, made anew when it dies. `left` is what it leaves undone then."""

    def __init__(self, context: Any, problem_set: ProblemSet, serve: Serve) -> None:
        self.context, self.problem_set, self.serve = context, problem_set, serve
        self.task: Task | None = None
        self.left: Task | None = None
        self._start()

    def _start(self) -> None:
        self.connection, theirs = self.context.Pipe()
        self.process = self.context.Process(
            target=self.serve, args=(theirs, self.problem_set), daemon=True
        )
        self.process.start()
        theirs.close()

    @property
    def seconds(self) -> float:
        """Since the last sign of life."""
        return time.monotonic() - self.since

    def begin(self, task: Task) -> None:
        """Give it something to read."""
        self.task, self.since = task, time.monotonic()
        with suppress(OSError):  # a process that died meanwhile is noticed when it is listened to
            self.connection.send(task)

    def receive(self) -> PageRead | None:
        """A page; None at the end of the task."""
        try:
            found = self.connection.recv()
        except (EOFError, OSError):
            return self.died("stops the program that draws it")
        self.since = time.monotonic()
        if found is None:
            self.task = None
            return None
        assert isinstance(found, PageRead) and self.task is not None  # noqa: PT018
        if found.number:
            self.task = replace(self.task, first=found.number + self.task.step)
        return found

    def died(self, how: str) -> PageRead:
        """The line about the page that did it; the rest of the file is left to a new process."""
        task = self.task
        assert task is not None
        self.stop()
        self._start()
        self.task = None
        last = task.deaths + 1 == MOST_DEATHS
        if not last:
            self.left = replace(task, first=task.first + task.step, deaths=task.deaths + 1)
        rest = "; the rest of the file is left" if last else ""
        problem = InputError(f"{task.path}, page {task.first}: {how}; scan it again{rest}")
        return PageRead(task.path, task.first, problem=problem)

    def stop(self) -> None:
        """End the process."""
        self.process.kill()
        self.process.join()
        self.connection.close()


def _serve(connection: Connection, problem_set: ProblemSet) -> None:
    """The process: tasks in, pages out."""
    _limit_memory()
    _hush()
    with suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            task = connection.recv()
            for found in _pages(task, problem_set):
                connection.send(found)
            connection.send(None)


def _limit_memory() -> None:
    with suppress(ImportError, ValueError, OSError):
        import resource  # noqa: PLC0415  not on every system

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, resource.getrlimit(resource.RLIMIT_AS)[1]))


def _hush() -> None:
    """What the libraries say about a bad file, line after line: we have our own words."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)


def _pages(task: Task, problem_set: ProblemSet) -> Iterator[PageRead]:
    import cv2  # noqa: PLC0415

    cv2.setNumThreads(1)  # the processes themselves use the cores
    number = task.first
    try:
        for page in iterate_pages(task.path, task.first, task.step):
            if isinstance(page, InputError):
                yield PageRead(task.path, number, problem=page)
            else:
                yield _read(task.path, number, page, problem_set)
            number += task.step
    except QuizgenError as error:
        yield PageRead(task.path, 0, problem=error)


def _read(path: Path, number: int, page: Any, problem_set: ProblemSet) -> PageRead:
    try:
        return PageRead(path, number, reading=read_sheet(page, problem_set))
    except Exception as error:  # whatever it is, the page goes to a person
        what = " ".join(f"{type(error).__name__}: {error}".split())[:100]
        problem = f"the picture cannot be worked on ({what})"
        reading = SheetReading(source=page.source, identity=page.identity, problem=problem)
        return PageRead(path, number, reading=reading)
