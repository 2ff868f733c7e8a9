"""Students who are killed at a random moment: whole sittings as processes of their own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]

PRACTICE = """
from quizgen.cli.drill_practice import Wishes, practise
from tests.drill.making import QuickMaking
practise(Wishes(), QuickMaking())
"""
PACK = """
import sys
from pathlib import Path
from quizgen.cli.drill_pack import answer_pack
answer_pack(Path(sys.argv[1]), None, "", False)
"""
# one of the lines fits whichever question is asked, and an empty one brings the next
PRACTICE_LINES = "\na\nac\ndacb\n49\n" * 3000
PACK_LINES = "go 1\n" + "b\nc\n" * 6000


def killed(program: str, lines: str, folder: Path, word: bytes, seconds: float, *args: str) -> int:
    """Run `program` with `lines` typed in, its records in `folder`, and kill it.

    The time runs from the first line that has `word`. Returns how many had it.
    """
    typed = folder / "typed.txt"
    typed.write_text(lines, encoding="utf-8")
    with typed.open("rb") as stdin:
        process = subprocess.Popen(
            [sys.executable, "-u", "-c", program, *args],
            stdin=stdin, stdout=subprocess.PIPE, cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT), "QUIZGEN_DATA": str(folder)},
        )  # fmt: skip
        assert process.stdout is not None
        for line in process.stdout:
            if word in line:
                break
        time.sleep(seconds)
        process.send_signal(signal.SIGKILL)
        return 1 + process.communicate()[0].count(word)
