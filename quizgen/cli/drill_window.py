"""The terminal of the drill: pages out, lines in; also for pipes and screen readers."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

import click

from quizgen.drill.page import NARROW, Page, Style, lines_of

PROMPT = " > "
BOX = "│┌═Ω→"


@dataclass
class Window:
    """What is shown and typed. `ask` gives None at the end of the input."""

    plain: bool = False

    @property
    def style(self) -> Style:
        """How pages are set here and now; the window may have been resized."""
        columns = shutil.get_terminal_size((NARROW, 24)).columns
        watched = sys.stdout.isatty() and os.environ.get("TERM", "") not in ("", "dumb")
        bold = watched and not self.plain and "NO_COLOR" not in os.environ
        return Style(columns=columns, plain=self.plain, bold=bold)

    def show(self, page: Page) -> None:
        """Print a page, with an empty line above."""
        if page:
            click.echo("\n" + "\n".join(lines_of(page, self.style)))

    def ask(self, prompt: str) -> str | None:
        """One line that is typed, without its end; None when there are no more."""
        click.echo()
        if sys.stdin is None:
            return None
        try:
            if sys.stdin.isatty():
                return input(f"{prompt}{PROMPT}")
            click.echo(f"{prompt}{PROMPT}", nl=False)
            line = sys.stdin.readline()
        except EOFError:
            return None
        click.echo(line.rstrip("\r\n"))  # a transcript shows both sides
        return line.rstrip("\r\n") if line else None


def open_window(plain: bool) -> Window:
    """The terminal as it is, with editing of lines where the system has it."""
    if sys.stdin is not None and hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="replace")  # no key that is pressed may stop the drill
        if sys.stdin.isatty():
            with suppress(ImportError):
                import readline  # noqa: F401  # `input` then edits lines
    return Window(plain)


def ascii_only(asked: bool) -> bool:
    """True if diagrams have to do without box characters: asked for, or the terminal's code."""
    try:
        BOX.encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return True
    return asked


def said_once(tell: Callable[[], None]) -> Callable[[], None]:
    """`tell`, which says something the first time it is called only."""
    told: list[bool] = []

    def once() -> None:
        if not told:
            told.append(True)
            tell()

    return once
