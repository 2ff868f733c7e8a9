"""The other end of the process that makes questions (`quizgen/cli/drill_maker.py`)."""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from typing import Protocol

import msgspec

from quizgen.base.errors import OutsideError
from quizgen.cli.drill_messages import Reply, Wanted

ONE_THREAD = "OPENBLAS_NUM_THREADS"  # many students may share a machine, and matrices are small
GRACE_SECONDS = 0.2  # for the process to go by itself


def _errors() -> int | None:
    """Where the words of a crash go: not between the questions, unless somebody looks for them."""
    return None if os.environ.get("QUIZGEN_TRACEBACK") == "1" else subprocess.DEVNULL


class Making(Protocol):
    """Somebody who makes questions: asked now, fetched later."""

    def ask(self, wanted: Wanted) -> None: ...
    def fetch(self, seconds: float) -> Reply | None: ...
    def close(self) -> None: ...


class MakingProcess:
    """Makes questions in a process of its own, which starts at once and ends with `close`.

    All about one `circuit`, named or a file, unless it is "".
    """

    def __init__(self, circuit: str = "") -> None:
        try:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "quizgen.cli.drill_maker", *([circuit] if circuit else [])],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=_errors(),
                env={ONE_THREAD: "1", **os.environ},
            )  # fmt: skip
        except OSError as error:
            raise OutsideError(f"no process can be started to make questions ({error})") from None
        self._replies: queue.SimpleQueue[Reply | None] = queue.SimpleQueue()
        threading.Thread(target=self._listen, daemon=True).start()

    def ask(self, wanted: Wanted) -> None:
        """Hand a request over; does not wait."""
        assert self._process.stdin is not None
        with suppress(OSError):  # `fetch` says that the process has gone
            self._process.stdin.write(msgspec.json.encode(wanted) + b"\n")
            self._process.stdin.flush()

    def fetch(self, seconds: float) -> Reply | None:
        """The next reply; None if there is none within so many seconds.

        Raises OutsideError when the process has gone.
        """
        try:
            reply = self._replies.get(timeout=seconds) if seconds else self._replies.get_nowait()
        except queue.Empty:
            return None
        if reply is None:
            self._replies.put(None)
            raise OutsideError("the process that makes questions stopped; start the drill again")
        return reply

    def close(self) -> None:
        """End the process. What it has not handed over is not needed."""
        assert self._process.stdin is not None
        with suppress(OSError):
            self._process.stdin.close()
        try:
            self._process.wait(GRACE_SECONDS)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        with self._process.stdout as lines:
            for line in lines:
                self._replies.put(msgspec.json.decode(line, type=Reply))
        self._replies.put(None)
