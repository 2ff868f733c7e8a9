"""Who does the work of a command that has much of it: this process, several, or a cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

from quizgen.base.spread import Runner, cores, spread_out

Command = Callable[..., Any]


def runner_options(command: Command) -> Command:
    """Adds the options that `chosen_runner` takes."""
    command = click.option(
        "--scheduler",
        metavar="ADDRESS",
        help="Work on the Dask cluster with this scheduler, such as tcp://10.0.0.5:8786.",
    )(command)
    return click.option(
        "--jobs",
        type=click.IntRange(min=1),
        metavar="N",
        help="Processes to work at the same time; all cores of this machine if not given.",
    )(command)


@contextmanager
def chosen_runner(jobs: int | None, scheduler: str | None) -> Iterator[Runner]:
    """The runner that the options ask for. Raises OutsideError for a cluster out of reach."""
    if scheduler and jobs:
        raise click.UsageError("--jobs is for this machine, --scheduler for others: give one.")
    if scheduler:
        from quizgen.base.cluster import on_cluster

        with on_cluster(scheduler) as runner:
            yield runner
    else:
        with spread_out(jobs or cores()) as runner:
            yield runner
