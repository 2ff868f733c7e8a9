"""Processes that read scans: one that dies or hangs costs a page, not the batch."""

from __future__ import annotations

import os
import time
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.responses import Source
from quizgen.grading.scan_readers import MOST_DEATHS, PageRead, Task, read_pages
from quizgen.grading.scans import read_scans
from quizgen.grading.sheet_reading import SheetReading
from tests.grading.graded import the_set

SET = the_set()
PAGES = 5


def play(connection: Connection, problem_set: ProblemSet) -> None:
    """Five pages of each file; what the file's name says happens on page 2, or on every page."""
    while True:
        task: Task = connection.recv()
        for number in range(task.first, PAGES + 1, task.step):
            name = task.path.stem
            if name.startswith("dies") and (number == 2 or name == "dies-always"):
                os._exit(1)
            if name == "hangs" and number == 2:
                time.sleep(60)
            source = Source(file=task.path.name, digest="", place=number)
            reading = SheetReading(source=source, identity=f"{name}-{number}")
            connection.send(PageRead(task.path, number, reading=reading))
        connection.send(None)


@pytest.mark.parametrize(
    ("name", "how"), [("dies", "stops the program"), ("hangs", "takes too long")]
)
def test_a_page_that_stops_its_reader_costs_nothing_else(name: str, how: str) -> None:
    """One line about it; the other pages of the file and all of the other file are there."""
    paths = [Path(f"{name}.pdf"), Path("good.pdf")]
    found = list(read_pages(paths, SET, jobs=2, seconds=2.0, serve=play))
    problems = [str(page.problem) for page in found if page.problem]
    assert len(problems) == 1
    assert f"{name}.pdf, page 2: {how}" in problems[0]
    read = {(page.path.stem, page.number) for page in found if page.reading}
    assert read == {(name, n) for n in (1, 3, 4, 5)} | {("good", n) for n in range(1, 6)}


def test_a_file_that_stops_every_reader_is_left() -> None:
    """After some tries; the rest of the batch is read."""
    found = list(read_pages([Path("dies-always.pdf"), Path("good.pdf")], SET, jobs=1, serve=play))
    problems = [str(page.problem) for page in found if page.problem]
    assert len(problems) == MOST_DEATHS
    assert problems[-1].endswith("the rest of the file is left")
    assert sum(page.reading is not None for page in found) == PAGES


def test_pages_of_one_file_are_shared_out(tmp_path: Path) -> None:
    """Two processes, every page once, backs passed over, the bad file one line, in any case."""
    noise = np.random.default_rng(1).integers(0, 255, (4, 700, 600), dtype=np.uint8)
    images = [Image.fromarray(piece) for piece in noise]
    images.insert(2, Image.fromarray(np.full((700, 600), 250, dtype=np.uint8)))
    path = tmp_path / "heap.tif"
    images[0].save(path, save_all=True, append_images=images[1:])
    broken = tmp_path / "broken.png"
    broken.write_bytes(b"\x89PNG")
    scanned = read_scans([broken, path], SET)
    assert sorted(r.source.place for r in scanned.readings) == [1, 2, 4, 5]
    assert all("no corner marker" in r.problem for r in scanned.readings)
    assert scanned.remarks == ("1 empty page passed over",)
    (problem,) = scanned.problems
    assert "broken.png: is no picture" in str(problem)
