"""The command `quizgen`: its groups, and the one place where errors become lines and codes.

====  =========================================
code  meaning
====  =========================================
0     done
1     the reader of a pipe went away
2     the input is wrong
3     the input is right, the work cannot be done
4     something outside failed
70    a mistake in quizgen itself
130   stopped with Ctrl-C
====  =========================================
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence

import click

from quizgen import __version__
from quizgen.base.errors import OutsideError, QuizgenError
from quizgen.cli.lazy import LazyGroup

INTERNAL = 70  # EX_SOFTWARE of sysexits.h
INTERRUPTED = 130  # 128 + SIGINT, as shells do
PIPE_CLOSED = 1
TRACEBACK = "QUIZGEN_TRACEBACK"
# a fixed width also spares click the import of shutil, a third of the time that help takes
SETTINGS = {"help_option_names": ["-h", "--help"], "terminal_width": 79}


@click.group(
    cls=LazyGroup,
    context_settings=SETTINGS,
    lazy={
        "circuit": ("quizgen.cli.circuit:circuit", "Look at circuits, solve them, break them."),
        "set": ("quizgen.cli.problem_set:problem_set", "Build problem sets."),
        "drill": ("quizgen.cli.drill:drill", "Practise in the terminal."),
        "grade": ("quizgen.cli.grade:grade", "Score answers, report, export."),
        "coverage": ("quizgen.cli.coverage:coverage", "See what classes have met and mastered."),
    },
)
@click.version_option(__version__, prog_name="quizgen", message="%(prog)s %(version)s")
def cli() -> None:
    """Problem sets on electrical fault-finding for 12 V and 24 V vehicles.

    Every question is computed from a circuit and proved against all other faults that the
    circuit could have.
    """


def main(args: Sequence[str] | None = None) -> None:
    """Run the command line and exit with its code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # an Ω on an ASCII terminal is no reason to stop
    sys.exit(run(args))


def run(args: Sequence[str] | None = None) -> int:
    """Run the command line; errors become one line on stderr. Returns the exit code."""
    try:
        code = cli.main(args, prog_name="quizgen", standalone_mode=False)
        if sys.stdout:  # None when the shell has closed it
            sys.stdout.flush()
    except (Exception, KeyboardInterrupt) as error:
        message, code = _told(error)
        if code == INTERNAL and os.environ.get(TRACEBACK) == "1":
            raise
        if message:
            from quizgen.base.legible import legible  # help does without

            click.echo(f"quizgen: {legible(' '.join(message.split()))}", err=True)
    return code if isinstance(code, int) else 0


def _told(error: BaseException) -> tuple[str, int]:
    """The line to print about an error ("" for none) and the exit code."""
    match error:
        case QuizgenError():
            return str(error), error.exit_code
        case click.ClickException():
            return _with_help(error), error.exit_code
        case click.Abort() | KeyboardInterrupt():
            return "", INTERRUPTED
        case BrokenPipeError():
            return "", PIPE_CLOSED
        case OSError():
            where = f"{error.filename}: " if error.filename else ""
            return f"{where}{error.strerror or error}", OutsideError.exit_code
        case _:
            what = f"{type(error).__name__}: {error}"
            return (
                f"internal error ({what}); please report it with what you typed; "
                f"{TRACEBACK}=1 shows where"
            ), INTERNAL


def _with_help(error: click.ClickException) -> str:
    context = error.ctx if isinstance(error, click.UsageError) else None
    more = f" See: {context.command_path} --help" if context else ""
    return f"{error.format_message()}{more}"
