"""The group `quizgen grade`; with a problem set in place of a command it scores answers."""

from __future__ import annotations

import click

from quizgen.cli.lazy import LazyGroup

DEFAULT = "score"


class _Grade(LazyGroup):
    """`quizgen grade SET INPUT...` is short for `quizgen grade score SET INPUT...`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the default command in front of arguments that do not begin with one."""
        if args and args[0] not in {*self.lazy, "-h", "--help"}:
            args = [DEFAULT, *args]
        return super().parse_args(ctx, args)


@click.group(
    "grade",
    cls=_Grade,
    lazy={
        DEFAULT: ("quizgen.cli.grade_score:score", "Score answers and keep the results."),
        "amend": ("quizgen.cli.grade_amend:amend", "Change a key or the rules, score anew."),
        "review": ("quizgen.cli.grade_review:review", "Decide what is doubtful on scanned sheets."),
        "report": (
            "quizgen.cli.grade_report:report",
            "Write the class report and feedback sheets.",
        ),
        "export": ("quizgen.cli.grade_export:export", "Write results as CSV or OneRoster 1.2."),
        "merge": ("quizgen.cli.grade_merge:merge_store", "Take in the results of another store."),
        "trail": ("quizgen.cli.grade_trail:show_trail", "Show every change of a result."),
    },
)
def grade() -> None:
    """Score answers, report, export.

    "quizgen grade SET.json INPUT..." is short for "quizgen grade score SET.json INPUT...".
    """
