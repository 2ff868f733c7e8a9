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
from quizgen.drill.words import say

PROMPT = " > "
ROWS = 24  # where nobody says how many
KEPT_ROWS = 2  # of the window, for the prompt and what stood above
LEAST_ROWS = 6
LINE_UP = "\x1b[1A\x1b[2K"  # ECMA-48: cursor up, erase line
BOX = "│┌═Ω→"


@dataclass
class Window:
    """What is shown and typed. `ask` gives None at the end of the input."""

    plain: bool = False
    _typed: str = ""  # before all of a page was shown

    @property
    def style(self) -> Style:
        """How pages are set here and now; the window may have been resized."""
        columns = shutil.get_terminal_size((NARROW, ROWS)).columns
        watched = sys.stdout.isatty() and os.environ.get("TERM", "") not in ("", "dumb")
        commands = watched and not self.plain
        bold = commands and "NO_COLOR" not in os.environ
        return Style(columns=columns, plain=self.plain, bold=bold, commands=commands)

    def show(self, page: Page) -> None:
        """Print a page, with an empty line above.

        A page that is longer than the window comes piece by piece, Enter brings the next one.
        Something else that is typed there brings all that is left, and is taken as typed after it.
        """
        if not page:
            return
        lines = ["", *lines_of(page, self.style)]
        room = shutil.get_terminal_size((NARROW, ROWS)).lines - KEPT_ROWS
        if not _watched() or room < LEAST_ROWS or self._typed:
            room = len(lines)
        while lines:
            click.echo("\n".join(lines[:room]))
            lines = lines[room:]
            if not lines:
                return
            self._typed = self.ask(say("more"), space=False) or ""
            if self._typed:
                room = len(lines)
            elif self.style.commands:
                click.echo(LINE_UP, nl=False)  # the prompt would stand in the middle of a diagram

    def ask(self, prompt: str, space: bool = True) -> str | None:
        """One line that is typed, without its end; None when there are no more."""
        if space:
            click.echo()
        if self._typed:
            typed, self._typed = self._typed, ""
            click.echo(f"{prompt}{PROMPT}{typed}")
            return typed
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

    def converse(
        self,
        prompt: Callable[[], str],
        answer: Callable[[str], bool],
        goodbye: Callable[[], None],
    ) -> None:
        """Line after line until `answer` gives False, the input ends, or Ctrl-C; then `goodbye`.

        Ctrl-C is raised again after it.
        """
        try:
            while (typed := self.ask(prompt())) is not None and answer(typed):
                pass
        except (KeyboardInterrupt, click.Abort):
            click.echo()
            goodbye()
            raise
        goodbye()


def _watched() -> bool:
    """True if a person looks at it and types."""
    return sys.stdout.isatty() and sys.stdin is not None and sys.stdin.isatty()


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
