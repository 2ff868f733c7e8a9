"""The group `quizgen set`."""

from __future__ import annotations

import click

from quizgen.cli.lazy import LazyGroup


@click.group(
    "set",
    cls=LazyGroup,
    lazy={
        "plan": ("quizgen.cli.set_plan:plan", "Write a plan to begin with."),
        "build": ("quizgen.cli.set_build:build", "Build a problem set from a plan."),
        "export": ("quizgen.cli.set_export:export", "Write a problem set as a QTI package."),
        "verify": ("quizgen.cli.set_verify:verify", "Check every answer of a problem set anew."),
    },
)
def problem_set() -> None:
    """Build problem sets."""
