"""The other end of the process that reviews a hunt (`quizgen/cli/drill_reviewer.py`)."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

from quizgen.cli.drill_making import ONE_THREAD
from quizgen.drill.page import Page

LONGEST_SECONDS = 60.0  # to be waited for; the work takes some seconds


class Reviewing:
    """A review that is worked at while the student hunts. Whatever becomes of it, nothing fails."""

    def __init__(self, log: Path) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        with suppress(OSError):
            self._process = subprocess.Popen(
                [sys.executable, "-m", "quizgen.cli.drill_reviewer", str(log)],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                env={ONE_THREAD: "1", **os.environ},
            )  # fmt: skip

    def news(self) -> None:
        """Something new is in the log; does not wait."""
        process = self._process
        if process is not None and process.stdin is not None:
            with suppress(OSError):  # it has gone: `debrief` will find nothing
                process.stdin.write(b"\n")
                process.stdin.flush()

    def debrief(self) -> Page | None:
        """The debrief of the hunt, which is over; None if the process could not do it."""
        if self._process is None:
            return None
        try:
            written, _ = self._process.communicate(timeout=LONGEST_SECONDS)
            page: Page = pickle.loads(written)
        except (subprocess.TimeoutExpired, OSError, EOFError, pickle.UnpicklingError):
            return None
        return page

    def close(self) -> None:
        """End the process, whatever it is doing; it keeps nothing."""
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()
        process.wait()
