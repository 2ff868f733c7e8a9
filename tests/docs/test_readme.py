"""README.md says what the program does: commands, options, files and scenarios exist."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from quizgen.cli.main import cli
from quizgen.scenario.scenario import shipped_scenarios

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    """Every quizgen command line in a console block of the README, continued lines joined."""
    blocks = "\n".join(re.findall(r"```console\n(.*?)```", README, re.DOTALL))
    lines = blocks.replace("\\\n", " ").splitlines()
    return [line.partition("quizgen ")[2] for line in lines if "bin/quizgen " in line]


@pytest.mark.parametrize("line", commands())
def test_each_command_in_the_readme_exists(line: str) -> None:
    """Group, command and every option are known to the program."""
    words = shlex.split(line)
    command: click.Command = cli
    context = click.Context(command)
    while isinstance(command, click.Group):
        if command.invoke_without_command and (not words or words[0].startswith("-")):
            break
        found = command.get_command(context, words.pop(0))
        assert found is not None, line
        command = found
        context = click.Context(command, parent=context)
    known = {option for parameter in command.params for option in parameter.opts}
    assert {word for word in words if word.startswith("--")} <= known


def test_the_readme_shows_every_command() -> None:
    """Each command of each group stands in a console block."""
    shown = {tuple(line.split()[:2]) for line in commands()}
    context = click.Context(cli)
    for name in cli.list_commands(context):
        group = cli.get_command(context, name)
        assert isinstance(group, click.Group)
        for command in group.list_commands(click.Context(group)):
            assert (name, command) in shown, f"README.md never shows quizgen {name} {command}"


def test_the_readme_names_every_shipped_scenario() -> None:
    """Each scenario and its example plan can be found from the README."""
    for name in shipped_scenarios():
        assert f"scenarios/{name}/plans/" in README


@pytest.mark.parametrize("text", [README, GUIDE], ids=["README", "DEVELOPERS"])
def test_files_that_are_named_are_there(text: str) -> None:
    """A path in back quotes that looks like a file of the project is one."""
    tops = ("quizgen/", "templates/", "scenarios/", "tests/", ".ci/")
    for path in re.findall(r"`([\w./-]+)`", text):
        if path.startswith(tops) and "*" not in path:
            assert (ROOT / path).exists(), path


def test_the_cautions_of_the_trade_are_in_the_readme() -> None:
    """The same cautions as on a workbook's first page stand near the top."""
    top = README[: README.index("## Two commands")].lower()
    for expected in ("isolate the battery", "live circuit", "fuse", "restraint", "hybrid"):
        assert expected in top
