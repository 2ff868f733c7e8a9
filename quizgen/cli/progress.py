"""How far the work is, on one line of the terminal, where somebody is watching."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from quizgen.cli.table import WIDTH


@contextmanager
def progress_line() -> Iterator[Callable[[str], None]]:
    """A function to be called with what is being done; it says nothing into a file or a pipe.

    The line is wiped at the end, and before an error is told.
    """
    watched = sys.stderr.isatty()
    try:
        yield _overwrite if watched else _say_nothing
    finally:
        if watched:
            _overwrite("")


def _overwrite(text: str) -> None:
    click.echo(f"\r{text[: WIDTH - 1].ljust(WIDTH - 1)}\r", err=True, nl=False)


def _say_nothing(text: str) -> None:
    pass
