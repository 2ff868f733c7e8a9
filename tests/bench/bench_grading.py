"""How long a year of a large department takes, and what kills in the midst of grading lose.

    python tests/bench/bench_grading.py [--students 10000] [--weeks 40] [--kills 100]

All answers are simulated (`tests/reports/simulated.py`): nobody's.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import msgspec

sys.path.insert(0, str(Path(__file__).parents[2]))

from quizgen.forms.problem_set import ProblemSet, write_problem_set
from quizgen.publish.html import render
from quizgen.reports.class_figures import class_figures
from quizgen.reports.class_report import class_report
from quizgen.reports.pages import STANDARD
from quizgen.reports.results import load_results
from quizgen.store.contents import graded, trail
from quizgen.store.database import open_store
from quizgen.store.gradebook import record
from tests.reports.simulated import answers, big_set


def peak_mb() -> float:
    """Memory of this process at its largest, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def year(students: int, weeks: int, folder: Path) -> None:
    """Grade a set of 20 questions each week, then report on the last one."""
    path = folder / "year.sqlite"
    base = big_set(students, 20, "AB")
    store = open_store(str(path))
    spent = 0.0
    for week in range(weeks):
        this = replace(base, token=f"week{week:02}", name=f"week-{week:02}")
        batch = answers(this, seed=week)
        start = time.process_time()
        record(store, this, batch, "bench")
        spent += time.process_time() - start
    store.close()
    size = path.stat().st_size / 1e6
    print(f"{students} students, {weeks} sets of 20: {spent:.1f} s of a core, {size:.0f} MB")
    report(path, this)


def report(path: Path, problem_set: ProblemSet) -> None:
    """Time of a class report from the store to HTML, and what memory it takes, in a new process."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from tests.bench import bench_grading as b; "
        "b.report_here(sys.argv[2], sys.argv[3])"
    )
    set_file = write_problem_set(problem_set, path.parent / "set.json")
    root = str(Path(__file__).parents[2])
    subprocess.run([sys.executable, "-c", code, root, str(path), str(set_file)], check=True)


def report_here(path: str, set_file: str) -> None:
    """The same in this process."""
    problem_set = msgspec.json.decode(Path(set_file).read_bytes(), type=ProblemSet)
    before = peak_mb()
    wall, start = time.perf_counter(), time.process_time()
    store = open_store(path, new=False)
    results = load_results(store, problem_set)
    loaded = time.process_time()
    figures = class_figures(problem_set, results.keys, results.graded)
    page = class_report(problem_set, figures, results.graded)
    html = render("class.html.j2", {"report": page, "heading": page.heading}, STANDARD, True)
    spent = time.process_time() - start
    print(
        f"class report of {len(results.graded)} students: {spent:.2f} s of a core "
        f"({loaded - start:.2f} s reading the store), {time.perf_counter() - wall:.2f} s by the "
        f"clock; {len(html) / 1e3:.0f} kB of HTML; {peak_mb() - before:.0f} MB more than the "
        f"program with the set, {peak_mb():.0f} MB in all"
    )


def state(path: Path, problem_set: ProblemSet) -> str:
    """What a store holds about a set but times, as one digest."""
    store = open_store(str(path))
    held = graded(store, problem_set.token)
    events = [replace(event, at="") for event in trail(store, problem_set.token)]
    store.close()
    content = msgspec.json.encode(([replace(g, at="") for g in held], events))
    return hashlib.sha256(content).hexdigest()


def kills(count: int, folder: Path) -> None:
    """Grade a batch of 200 and be killed at a random moment, again and again, then once more."""
    base = big_set(200, 20, "AB")
    set_file = write_problem_set(base, folder / "set.json")
    table = folder / "answers.csv"
    with table.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow(["id", "form", *range(1, 21)])
        for given in answers(base):
            rows.writerow([given.student, given.form, *("".join(r.value) for r in given.responses)])
    command = [sys.executable, "-m", "quizgen", "grade", str(set_file), str(table),
               "--who", "bench", "--store"]  # fmt: skip
    calm = folder / "calm.sqlite"
    start = time.perf_counter()
    subprocess.run([*command, str(calm)], check=True, capture_output=True)
    usual = time.perf_counter() - start
    expected = state(calm, base)
    rng, wrong, cut = random.Random(7), 0, 0
    for n in range(count):
        path = folder / f"k{n}.sqlite"
        running = subprocess.Popen([*command, str(path)], stdout=-3, stderr=-3)
        time.sleep(rng.uniform(0.0, 1.1 * usual))
        running.send_signal(signal.SIGKILL)
        cut += running.wait() == -signal.SIGKILL
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        wrong += state(path, base) != expected
        path.unlink()
    print(f"{count} runs over a batch of 200, {cut} killed in the midst: {wrong} stores differ")


def main() -> None:
    """Both measurements."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--students", type=int, default=10_000)
    options.add_argument("--weeks", type=int, default=4)
    options.add_argument("--kills", type=int, default=10)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if chosen.weeks:
            year(chosen.students, chosen.weeks, Path(folder))
        kills(chosen.kills, Path(folder))


if __name__ == "__main__":
    main()
