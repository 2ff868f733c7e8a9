"""How long a student waits in the drill, and what a killed process loses.

    python tests/bench/bench_drill_questions.py [--answers N] [--kills N]

*start* is from the call of the command to its first screen; *first* until the first question of a
new student, *again* of one who comes back. *feedback* is from an answer typed to its reasons being
written, the record on the disk in between; *next* from Enter to the question, when the student
took twenty seconds to answer. Kills: a sitting whose lines are typed as fast as they are taken is
killed after a random time, and the next goes on in its record; every answer whose reasons were
told must be there, and the record must be sound (SQLite's integrity_check).
"""

from __future__ import annotations

import argparse
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))  # the writer to be killed stands beside the tests

from quizgen.drill.record import open_record  # noqa: E402
from tests.drill.killing import PRACTICE, PRACTICE_LINES, killed  # noqa: E402

THINKING_SECONDS = 20.0  # a quick student with a diagram to read
LONGEST_LIFE_SECONDS = 0.5


class Student:
    """The drill in a process of its own, lines in, text out."""

    def __init__(self, folder: Path) -> None:
        self.begun = time.perf_counter()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "quizgen", "drill"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT,
            env={**os.environ, "QUIZGEN_DATA": str(folder)},
        )  # fmt: skip

    def read_to_prompt(self) -> str:
        """What is written until something is asked for."""
        assert self.process.stdout is not None
        said = b""
        while not said.endswith(b"? > "):
            piece = os.read(self.process.stdout.fileno(), 65536)
            if not piece:
                raise SystemExit(f"the drill stopped:\n{said.decode()[-600:]}")
            said += piece
        return said.decode()

    def type(self, line: str) -> tuple[float, str]:
        """Seconds until the next prompt, and what was written."""
        assert self.process.stdin is not None
        before = time.perf_counter()
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()
        said = self.read_to_prompt()
        return time.perf_counter() - before, said

    def close(self) -> None:
        """Quit."""
        self.process.communicate(b"quit\n", timeout=30)


def any_answer(question: str) -> str:
    """An answer that the question takes."""
    asked = question.rstrip().rsplit("\n", 1)[-1]
    if asked.startswith("All letters"):
        return asked.split("such as ")[1].split(",")[0]
    return "1.5" if asked.startswith("Your figure") else "a"


def waits(folder: Path, answers: int) -> None:
    """Print how long a student waits."""
    for name in ("first", "again"):
        student = Student(folder)
        student.read_to_prompt()
        print(f"start, {name:<8} {time.perf_counter() - student.begun:8.2f} s")
        seconds, _ = student.type("")
        print(f"{name + ' question':<15} {seconds:8.2f} s")
        student.close()
    student = Student(folder)
    student.read_to_prompt()
    _, question = student.type("")
    feedback, following = [], []
    for _ in range(answers):
        time.sleep(THINKING_SECONDS)
        seconds, _ = student.type(any_answer(question))
        feedback.append(seconds)
        seconds, question = student.type("")
        following.append(seconds)
    student.close()
    for name, found in (("feedback", feedback), ("next", following)):
        print(f"{name:<15} {1e3 * statistics.median(found):8.1f} ms median,"
              f" {1e3 * max(found):.1f} ms longest of {len(found)}")  # fmt: skip


def kills(count: int) -> None:
    """Print what was lost in so many kills."""
    rng = random.Random("kills")
    kept = lost = unsound = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for _ in range(count):
            seconds = rng.uniform(0.0, LONGEST_LIFE_SECONDS)
            told = killed(PRACTICE, PRACTICE_LINES, folder, b"Practised:", seconds)
            record = open_record(folder / "drill" / "student")
            before, kept = kept, sum(line.right is not None for line in record.lines())
            lost += max(0, told - (kept - before))
            unsound += record._all("PRAGMA integrity_check") != [("ok",)]
            record.close()
    print(f"{count} kills, {kept} answers kept: {lost} told and lost, {unsound} times unsound")


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser()
    options.add_argument("--answers", type=int, default=10)
    options.add_argument("--kills", type=int, default=200)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        waits(Path(folder), chosen.answers)
    kills(chosen.kills)


if __name__ == "__main__":
    main()
