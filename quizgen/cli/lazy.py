"""Command groups that import a command's module only when that command runs.

`--help` of a group has to name its commands, so each short help stands here in the table of
the group; a test holds it against the command itself.
"""

from __future__ import annotations

from importlib import import_module

import click


class LazyGroup(click.Group):
    """A group whose commands are "module:attribute" with a line of help, imported on demand."""

    def __init__(self, *args: object, lazy: dict[str, tuple[str, str]], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed through unread
        self.lazy = lazy

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the table."""
        return list(self.lazy)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command; None if the table does not have it."""
        if cmd_name not in self.lazy:
            return None
        module, _, attribute = self.lazy[cmd_name][0].partition(":")
        command = getattr(import_module(module), attribute)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, about) for name, (_, about) in self.lazy.items()])
