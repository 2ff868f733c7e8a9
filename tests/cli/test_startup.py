"""Help is quick because it imports nothing but click: counted in modules, not in seconds."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

from quizgen.cli.lazy import LazyGroup
from quizgen.cli.main import cli

OWN = {"quizgen", "quizgen.base", "quizgen.base.errors"} | {
    f"quizgen.{name}" for name in ("cli", "cli.lazy", "cli.main")
}
# what click itself reaches for when it prints a page of help, and dataclasses
ALLOWED = OWN | {"click._textwrap", "textwrap", "locale", "_locale", "dataclasses", "copy"}
LIST = """
import sys, click
before = set(sys.modules)
from quizgen.cli.main import run
run(["--help"])
print(*sorted(set(sys.modules) - before), file=sys.stderr)
"""


def groups(group: click.Group, path: str = "quizgen") -> list[tuple[str, LazyGroup]]:
    """Every group of commands with its path."""
    assert isinstance(group, LazyGroup)
    found = [(path, group)]
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if isinstance(command, click.Group):
            found += groups(command, f"{path} {name}")
    return found


def test_help_imports_little_more_than_click() -> None:
    """`quizgen --help` loads six small modules of its own and nothing of numpy or YAML."""
    done = subprocess.run(
        [sys.executable, "-c", LIST], capture_output=True, text=True, check=True, timeout=60
    )
    loaded = set(done.stderr.split())
    assert loaded >= OWN
    assert loaded <= ALLOWED, f"more than --help needs: {sorted(loaded - ALLOWED)}"


@pytest.mark.parametrize(("path", "group"), groups(cli), ids=lambda x: x if x is str(x) else "")
def test_the_table_of_a_group_says_what_its_commands_say(path: str, group: LazyGroup) -> None:
    """A line of help in a group's table is the short help of the command itself."""
    context = click.Context(group)
    for name, (_, about) in group.lazy.items():
        command = group.get_command(context, name)
        assert command is not None
        assert command.name == name
        assert command.get_short_help_str(limit=80) == about


@pytest.mark.parametrize(("path", "group"), groups(cli), ids=lambda x: x if x is str(x) else "")
def test_help_fits_80_columns(path: str, group: LazyGroup) -> None:
    """No line of any help page is wider than 80 columns, and every command has a page."""
    context = click.Context(group)
    words = path.split()[1:]
    for args in ([], *[[name] for name in group.list_commands(context)]):
        result = CliRunner().invoke(cli, [*words, *args, "--help"])
        assert result.exit_code == 0, result.output
        assert max(len(line) for line in result.output.splitlines()) <= 80


def test_an_unknown_command_is_named(quizgen) -> None:  # type: ignore[no-untyped-def]
    """A mistyped command gives one line that names it."""
    done = quizgen("circit")
    assert done.code == 2
    assert "circit" in done.err
    assert done.err.count("\n") == 1
