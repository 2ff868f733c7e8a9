"""The commands of quizgen, run in this process and written down as a user would see them."""

from __future__ import annotations

import io
from contextlib import redirect_stderr, redirect_stdout
from shlex import join

from quizgen.base.errors import OutsideError
from quizgen.cli.main import run


class Terminal:
    """Runs commands; `transcript` has each with what it printed."""

    def __init__(self) -> None:
        self.transcript = ""

    def __call__(self, *words: object) -> str:
        """Run `quizgen` with these words and return what it printed.

        Raises OutsideError when the command ends with another code than 0.
        """
        typed = [str(word) for word in words]
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = run(typed)
        self.transcript += f"$ quizgen {join(typed)}\n{out.getvalue()}{err.getvalue()}\n"
        if code:
            raise OutsideError(f"quizgen {join(typed)}: {err.getvalue().strip()} (code {code})")
        return out.getvalue()
