"""Hunts by students made of code: is the course what it says, does anything break, how fast?

    python tests/bench/bench_hunt.py [--hunts 1000] [--kills 200] [--circuits NAME ...]
                                     [--seed LABEL]

For every family: a student who follows the course finds the fault in exactly the expected minutes,
one who takes the same tests in any order needs so much more. Hunts in which anything is done: no
traceback, no contradiction, every reading as `quizgen circuit measure` shows it. Processes killed
at any moment: nothing that was told is lost. Times are processor time as a share of what they may
take: an act 100 ms in the middle, a case drawn 1 s. All of it is a quarter of an hour of a core.

Exit code 1 if anything is wrong.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from statistics import mean, median

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from quizgen.base.errors import QuizgenError
from quizgen.circuit.template import shipped_templates
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.case import Case, Wish
from quizgen.drill.hunt.course import Course, plan_course
from quizgen.drill.hunt.engine import act, begin
from quizgen.drill.hunt.field import Field, field_of
from quizgen.drill.hunt.sitting import Sitting
from tests.drill.hunt.players import (
    SCENARIO,
    anything,
    as_commanded,
    at_random,
    drawn,
    follow,
    suspects_of,
)

ACTS = 15
PER_CASE = 20  # hunts on one circuit drawn
RANDOM_TRUTHS = 200  # of a case that are looked for at random
CLOSE = 1e-6  # minutes
MOST_ACT_SECONDS, MOST_START_SECONDS = 0.1, 1.0
SLOWEST = 3  # families that are named

PLAYER = """
import sys
from pathlib import Path
from quizgen.drill.hunt.engine import Act
from quizgen.drill.hunt.sitting import Sitting
sitting = Sitting.resume(Path(sys.argv[1]))
for number in range(len(sitting.hunt.taken), 10_000):
    sitting.do(Act("note", (str(number),)))
    print(number, flush=True)
"""


def courses(names: list[str], label: str, wrong: list[str]) -> None:
    """Every family: expected and played minutes, and those of a student without a plan."""
    print(f"{'family':24}{'suspects':>9}{'tests':>6}{'exact':>6}{'expected':>10}{'played':>10}"
          f"{'at random':>10}{'times':>7}")  # fmt: skip
    rng = random.Random(label)
    ratios = []
    for name in names:
        case = drawn(label, name)
        course = plan_course(case, suspects_of(case))
        played = sum(s * _followed(course, t, wrong) for t, s in enumerate(course.shares))
        some = rng.choices(range(len(course.shares)), course.shares, k=RANDOM_TRUTHS)
        used = [at_random(course, t, rng) for t in some]
        fair = mean(course.minutes[t] for t in some)
        ratios.append(mean(used) / fair if fair else 1.0)
        if abs(played - course.expected_minutes) > CLOSE:
            wrong.append(f"{name}: expected {course.expected_minutes}, played {played}")
        print(f"{name:24}{len(course.shares):>9}{len(course.trials):>6}"
              f"{'yes' if course.is_exact else 'no':>6}{course.expected_minutes:>10.3f}"
              f"{played:>10.3f}{mean(used):>10.2f}{ratios[-1]:>7.2f}", flush=True)  # fmt: skip
    print(f"without a plan {mean(ratios):.2f} times the minutes of the course\n")


def _followed(course: Course, truth: int, wrong: list[str]) -> float:
    name = f"{course.case.circuit.name} {course.field.claimed[truth].key}"
    try:
        played = follow(course, truth)
    except KeyError:
        wrong.append(f"{name}: the course has no branch for what is shown")
        return 0.0
    if not played.claims <= course.answers[truth]:
        wrong.append(f"{name}: not found by who follows the course")
    return played.hunt.standing.minutes


@dataclass
class Tally:
    """What came of hunts in which anything is done; seconds of processor time by family."""

    acts: dict[str, list[float]] = field(default_factory=dict)
    starts: dict[str, list[float]] = field(default_factory=dict)
    done: int = 0
    refused: int = 0
    compared: int = 0


def shares(what: str, found: dict[str, list[float]], most: float) -> None:
    """Print the median share of `most`, the longest, and the families that take longest."""
    times = [seconds for some in found.values() for seconds in some]
    order = sorted(found, key=lambda name: -median(found[name]))[:SLOWEST]
    slow = ", ".join(f"{name} {median(found[name]) / most:.2f}" for name in order)
    print(
        f"{what}: {median(times) / most:.2f} in the middle, {max(times) / most:.2f} at most; {slow}"
    )


def fuzz(hunts: int, label: str, wrong: list[str]) -> None:
    """Anything done in any order, `PER_CASE` hunts for each circuit drawn, each with its fault."""
    names, tally, number = shipped_templates(), Tally(), 0
    while number < hunts:
        place = number // PER_CASE
        start = time.process_time()
        try:
            case = drawn(f"{label} {place}", names[place % len(names)])
        except QuizgenError as error:
            print(error)
            number += PER_CASE
            continue
        begin(case)
        seconds = time.process_time() - start
        tally.starts.setdefault(case.circuit.name, []).append(seconds)
        suspects = field_of(case)
        for _ in range(min(PER_CASE, hunts - number)):
            number += 1
            rng = random.Random(f"{label} {number}")
            usual = rng.choice(suspects.claimed).usual
            _play(case.with_fault(usual), suspects, rng, tally, wrong)
        print(f"{number} hunts, {tally.done} acts, {len(wrong)} wrong", flush=True)
    print(f"{hunts} hunts, {tally.done} acts done, {tally.refused} refused, "
          f"{tally.compared} readings compared")  # fmt: skip
    shares("act, of 100 ms", tally.acts, MOST_ACT_SECONDS)
    shares("case drawn, of 1 s", tally.starts, MOST_START_SECONDS)
    print()


def _play(case: Case, suspects: Field, rng: random.Random, tally: Tally, wrong: list[str]) -> None:
    """One hunt; every fifth in the light of the evidence, every fourth reading compared."""
    hunt, name = begin(case), f"{case.circuit.name} {case.fault}"
    evidence = rng.random() < 0.2
    left, opened = suspects.everything, suspects.opened
    for _ in range(ACTS):
        start = time.process_time()
        try:
            hunt, outcome = act(hunt, anything(hunt, rng))
        except QuizgenError:
            tally.refused += 1
            continue
        tally.acts.setdefault(case.circuit.name, []).append(time.process_time() - start)
        taken = hunt.taken[-1]
        tally.done += 1
        if taken.act.do == e.MEASURE:
            shown = as_commanded(hunt, taken) if rng.random() < 0.25 else None
            tally.compared += shown is not None
            if shown not in (None, outcome.reading.shown if outcome.reading else ""):
                wrong.append(f"{name}: {taken} but measured {shown}")
        if evidence:
            left, opened, _ = suspects.after(taken, opened, left)
            if suspects.number(case.fault) not in suspects.claims_in(left):
                wrong.append(f"{name}: ruled out by {taken}")
                return


def kills(count: int, wrong: list[str]) -> None:
    """SIGKILL at any moment, again and again on one log."""
    rng = random.Random(count)
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "hunt.jsonl"
        Sitting.start(log, Wish(label="kill", circuit="push-button-relay"), SCENARIO, "brindlemere")
        last = -1
        for number in range(count):
            process = subprocess.Popen(
                [sys.executable, "-c", PLAYER, str(log)], stdout=subprocess.PIPE, text=True
            )
            assert process.stdout is not None
            first = process.stdout.readline()  # it has begun; from here on at any moment
            time.sleep(rng.random() * 0.01)
            os.kill(process.pid, signal.SIGKILL)
            told = [first, *process.stdout.readlines()]
            process.wait()
            process.stdout.close()
            whole = [int(line) for line in told if line.endswith("\n")]
            last = max([last, *whole])
            kept = [t.act.args[0] for t in Sitting.resume(log).hunt.taken]
            if kept != [str(n) for n in range(len(kept))] or len(kept) < last + 1:
                wrong.append(f"kill {number}: {len(kept)} kept, {last + 1} told")
    print(f"{count} processes killed, {last + 1} acts told, {len(wrong)} wrong in all\n")


def main() -> int:
    """All of it, or what the options leave."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--hunts", type=int, default=1000)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--circuits", nargs="*", default=list(shipped_templates()))
    parser.add_argument("--seed", default="bench")
    options = parser.parse_args()
    wrong: list[str] = []
    if options.circuits:
        courses(options.circuits, options.seed, wrong)
    if options.hunts:
        fuzz(options.hunts, options.seed, wrong)
    if options.kills:
        kills(options.kills, wrong)
    print("\n".join(wrong) or "nothing wrong")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
