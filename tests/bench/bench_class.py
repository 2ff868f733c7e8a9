"""A set for a class: how long by one process and by all, and how much memory.

    python tests/bench/bench_class.py [--forms 4 12] [--items 6] [--jobs 1 2]

Every line is a build of its own from the command line. Memory is that of the largest process of
the build, in MB; with more forms it should stay what it is. `files` says whether they are the
same as those of the first line with as many forms.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.spread import cores

PLAN = """format: 1
name: class
title: Class
scenario: brindlemere
secret: example only, everybody can read it
forms: {forms}
items: {items}
"""


@dataclass(frozen=True)
class Run:
    """One build: seconds on the clock and of all processors, MB of the largest process."""

    wall: float
    cpu: float
    memory: float
    files: str  # a hash over all of them


def build(plan: Path, out: Path, jobs: int) -> Run:
    """Build `plan` in a process of its own."""
    arguments = ["-m", "quizgen", "set", "build", str(plan), "--out", str(out), "--jobs", str(jobs)]
    start = time.monotonic()
    sink = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    pid = os.posix_spawn(
        sys.executable, [sys.executable, *arguments], os.environ, file_actions=sink
    )
    _, status, used = os.wait4(pid, 0)
    if status:
        sys.exit(f"the build failed: {' '.join(arguments)}")
    wall = time.monotonic() - start
    digest = hashlib.sha256()
    for path in sorted(out.iterdir()):
        digest.update(path.name.encode() + path.read_bytes())
    return Run(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, digest.hexdigest())


def main() -> None:
    """A table, a line for each number of forms and of processes."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--forms", type=int, nargs="+", default=[4, 12])
    parser.add_argument("--items", type=int, default=6)
    parser.add_argument("--jobs", type=int, nargs="+", default=[1, cores()])
    args = parser.parse_args()
    print("| forms | processes | seconds | of processors | MB | files |")
    print("|---|---|---|---|---|---|")
    for forms in args.forms:
        first = ""
        for jobs in args.jobs:
            with tempfile.TemporaryDirectory() as folder:
                plan = Path(folder) / "class.yaml"
                plan.write_text(PLAN.format(forms=forms, items=args.items), encoding="utf-8")
                run = build(plan, Path(folder) / "out", jobs)
            first = first or run.files
            same = "same" if run.files == first else "DIFFERENT"
            figures = f"{run.wall:.0f} | {run.cpu:.0f} | {run.memory:.0f}"
            print(f"| {forms} | {jobs} | {figures} | {same} |", flush=True)
            if run.files != first:
                sys.exit(1)


if __name__ == "__main__":
    main()
