"""Scans: marks misread in silence, share sent to a person, and what reading costs.

    python tests/bench/bench_scans.py [SET.instructor.json] [--marks 100000] [--seed 1] [--cores 1]

Prints real sheets of a set (by default of the plan `tests/bench/scans.yaml`, built once), lets
hands fill them in and devices take their picture (`tests/grading/hands.py` and `devices.py`, which
were fixed before the reader's thresholds), and holds every row that the reader decides against
what the hand meant. A silent misread is a row that is decided and wrong. Processor time is
measured beside that of decoding the file and one warp of its picture. Stopped with Ctrl-C, it
tells what it has counted.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np

from quizgen.forms.problem_set import ProblemSet, read_problem_set
from quizgen.forms.sheet import PAPERS, lay_out_sheet
from quizgen.grading.marks import RowMarks, read_marks
from quizgen.grading.pages import Picture
from quizgen.grading.registration import SCALE, UnreadableError, flattened, read_code
from quizgen.items.item import Item
from quizgen.pipeline import build_set
from quizgen.publish.sheet_svg import Bearer
from tests.grading.devices import a_fate, described, suffer
from tests.grading.hands import Truth, a_writer, write_on
from tests.grading.paper import printed
from tests.publish.test_from_items import numerical

FIGURES = 3
PLAN = Path(__file__).with_name("scans.yaml")


@dataclass
class Count:
    """What became of some sheets."""

    sheets: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    no_code: int = 0
    targets: int = 0
    drawn: int = 0
    rows: int = 0
    doubtful: Counter[str] = field(default_factory=Counter)
    events: Counter[str] = field(default_factory=Counter)
    misread: list[str] = field(default_factory=list)
    reading: float = 0.0
    bare: float = 0.0
    dpi: Counter[str] = field(default_factory=Counter)
    dpi_time: Counter[str] = field(default_factory=Counter)

    def add(self, other: Count) -> None:
        """Put another count to this one."""
        for name, value in vars(other).items():
            if isinstance(value, Counter):
                getattr(self, name).update(value)
            else:
                setattr(self, name, getattr(self, name) + value)


def try_sheet(items: Sequence[Item], paper: str, bearer: Bearer, seed: int) -> Count:
    """One sheet, printed, filled in, pictured, stored, read."""
    rng = random.Random(seed)
    sheet = lay_out_sheet(items, paper)
    picture = printed(sheet, bearer).copy()
    writer = a_writer(rng)
    truth = write_on(picture, sheet, writer)
    fate = a_fate(rng)
    arrived = suffer(picture, fate, rng)
    data = cv2.imencode(".png", arrived)[1]
    count = Count(sheets=1)
    start = time.process_time()
    decoded = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
    size = [round(v * SCALE) for v in (sheet.paper.width, sheet.paper.height)]
    cv2.warpPerspective(decoded, np.eye(3), size)
    middle = time.process_time()
    rows: tuple[RowMarks, ...] = ()
    try:
        decoded = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
        rows = read_rows(decoded, items, bearer, count)
    except UnreadableError as error:
        count.refused[" ".join(str(error).split()[:5])] += 1
    count.reading, count.bare = time.process_time() - middle, middle - start
    count.dpi[f"{fate.dpi}"] += 1
    count.dpi_time[f"{fate.dpi}"] += count.reading
    judge(rows, truth, count, f"seed {seed}: {writer.tool.name}, {described(fate)}")
    return count


def read_rows(
    picture: Picture, items: Sequence[Item], bearer: Bearer, count: Count
) -> tuple[RowMarks, ...]:
    """The rows by the first paper that fits, as `read_sheet` tries them."""
    problem: UnreadableError | None = None
    for flat in flattened(picture):
        sheet = lay_out_sheet(items, flat.paper.name)
        try:
            rows = read_marks(flat, sheet)
        except UnreadableError as error:
            problem = error
            continue
        count.no_code += int(read_code(flat, *sheet.code) != bearer.code)
        return rows
    assert problem is not None
    raise problem


def judge(rows: tuple[RowMarks, ...], truth: Truth, count: Count, what: str) -> None:
    """Hold each row against what was meant."""
    for row in rows:
        place = (row.item, row.place)
        count.rows += 1
        count.targets += len(row.marks)
        count.drawn += len(truth.answers[place])
        event = truth.events[place]
        habit = truth.styles[place]
        label = f"only {habit}" if event == "none" else event
        if "black and white only" in row.doubt:
            label = "any, scanned in two tones"
        count.events[label] += 1
        if row.doubt:
            count.doubtful[label] += 1
        elif place in truth.unsure or tuple(sorted(row.answer)) != truth.answers[place]:
            inks = " ".join(f"{m.value}{m.ink:.2f}" for m in row.marks)
            meant = f"meant {truth.answers[place]}, read {row.answer} ({inks})"
            count.misread.append(f"{what}: row {place}, {label}, {habit}, {meant}")


def sheets_of(problem_set: ProblemSet) -> list[tuple[Sequence[Item], str, Bearer]]:
    """Every form on both papers, as it is, and with figures to write among its questions."""
    return [
        (
            items,
            paper,
            Bearer(form=form.code, token=problem_set.token, id=f"S-{n:03}", name="Ada Krol"),
        )
        for n, form in enumerate(problem_set.forms, 1)
        for items in (form.items, (*form.items[:17], *[numerical()] * FIGURES))
        for paper in PAPERS
    ]


def try_some(path: Path, seeds: range) -> Count:
    """Several sheets, in a process of their own."""
    cv2.setNumThreads(1)
    sheets = sheets_of(read_problem_set(path))
    total = Count()
    for seed in seeds:
        total.add(try_sheet(*sheets[seed % len(sheets)], seed))
    return total


def main() -> int:
    """Measure, print, and fail when a mark was misread in silence."""
    words = argparse.ArgumentParser()
    words.add_argument("set", type=Path, nargs="?", help="NAME.instructor.json of a finished set")
    words.add_argument("--marks", type=int, default=100_000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--cores", type=int, default=1)
    words.add_argument("--out", type=Path, default=Path("out/bench-scans"))
    asked = words.parse_args()
    path = asked.set or asked.out / "scans.instructor.json"
    if not path.exists():
        path = build_set(PLAN, asked.out).problem_set
    total = Count()
    piece = 10
    start = asked.seed * 1_000_000
    with ProcessPoolExecutor(asked.cores) as pool, suppress(KeyboardInterrupt):
        while total.targets < asked.marks:
            parts = [range(start + i * piece, start + (i + 1) * piece) for i in range(asked.cores)]
            for found in pool.map(try_some, [path] * len(parts), parts):
                total.add(found)
            start += piece * len(parts)
            told(f"{total.sheets} sheets, {total.targets} circles, {len(total.misread)} misread")
    report(total)
    return bool(total.misread)


def told(text: str) -> None:
    """Progress, where somebody watches or not."""
    print(text, file=sys.stderr, flush=True)


def report(total: Count) -> None:
    """The figures."""
    for line in total.misread:
        print("MISREAD", line)
    print(
        f"{total.sheets} sheets, {total.targets} circles in {total.rows} rows, {total.drawn} filled"
    )
    refused = sum(total.refused.values())
    print(f"sheets refused: {refused} ({refused / total.sheets:.1%}) {dict(total.refused)}")
    print(f"sheets whose code was not read: {total.no_code} ({total.no_code / total.sheets:.1%})")
    doubtful = sum(total.doubtful.values())
    print(f"rows sent to a person: {doubtful} ({doubtful / max(total.rows, 1):.2%}), of rows with")
    for event, rows in sorted(total.events.items()):
        share = total.doubtful[event] / rows
        print(f"  {event:24} {total.doubtful[event]:6} of {rows:6} ({share:.1%})")
    print(f"rows misread in silence: {len(total.misread)}")
    for dpi, sheets in sorted(total.dpi.items(), key=lambda p: int(p[0])):
        print(f"  {dpi} dpi: {sheets / total.dpi_time[dpi]:.1f} sheets a second of one core")
    print(f"all: {total.sheets / total.reading:.1f} sheets a second of one core, "
          f"{total.reading / total.bare:.1f} times decoding and one warp")  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
