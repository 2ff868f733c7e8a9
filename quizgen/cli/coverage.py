"""The group `quizgen coverage`; without a command it shows the report in the terminal."""

from __future__ import annotations

import click

from quizgen.cli.lazy import LazyGroup

DEFAULT = "show"


class _Coverage(LazyGroup):
    """`quizgen coverage` is short for `quizgen coverage show`, options included."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the default command in front of arguments that do not begin with one."""
        if not args or (args[0].startswith("-") and args[0] not in ("-h", "--help")):
            args = [DEFAULT, *args]
        return super().parse_args(ctx, args)


@click.group(
    "coverage",
    cls=_Coverage,
    lazy={
        DEFAULT: ("quizgen.cli.coverage_show:show", "Show what was planned, met and mastered."),
        "write": (
            "quizgen.cli.coverage_write:write_report",
            "Write the report as HTML, PDF and CSV.",
        ),
        "term": (
            "quizgen.cli.coverage_write:write_term",
            "Write a term report to sign for each class.",
        ),
        "suggest": (
            "quizgen.cli.coverage_suggest:suggest_plan",
            "Write next week's plan, on the largest holes.",
        ),
        "enrol": (
            "quizgen.cli.coverage_enrol:enrol_lists",
            "Take in classes from the school's lists.",
        ),
        "assign": ("quizgen.cli.coverage_assign:assign_set", "Say whose set it is, and when."),
    },
)
def coverage() -> None:
    """See what classes have met and mastered.

    "quizgen coverage" is short for "quizgen coverage show".
    """
