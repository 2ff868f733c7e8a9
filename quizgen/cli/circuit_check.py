"""`quizgen circuit check`: is a circuit file right, and its circuit fit for teaching?"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence

import click

from quizgen.base.errors import InputError
from quizgen.circuit.template import Template, find_template, load_template
from quizgen.cli.point_text import in_words
from quizgen.diagnosis.design_check import Finding, Result, check_template

FAILED = 3


@click.command(short_help="Check circuit files for design mistakes.")
@click.argument("names", metavar="CIRCUIT...", nargs=-1, required=True)
@click.option(
    "--draws",
    type=click.IntRange(0, 1000),
    default=5,
    show_default=True,
    help="Random settings to try besides the default one.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Of the random settings.")
@click.pass_context
def check(ctx: click.Context, names: tuple[str, ...], draws: int, seed: int) -> None:
    """Check circuit files for design mistakes.

    Without a fault every load must work in some position, no fuse or breaker may open, nothing
    may be in doubt, and each position of a control must do something of its own. Faults that
    change nothing that a driver or a voltmeter could find are named as hidden; they are no
    mistake.

    One line for each finding. Exit code 0 when all is well, 2 when a file is wrong, 3 when a
    check fails.
    """
    wrong: list[str] = []
    failed = False
    for name in names:
        try:
            template = find_template(name)
            load_template(template.path)  # a shipped one was not tried with other values
            results = _results(template, draws, seed)
        except InputError as error:
            wrong.append(str(error))
            continue
        found = _merged(results)
        for finding, times, example in found:
            click.echo(_line(template.name, finding, times, len(results), example))
        failures = sum(finding.is_failure for finding, _, _ in found)
        failed = failed or failures > 0
        verdict = f"{failures} to repair" if failures else "fine"
        settings = "1 setting" if len(results) == 1 else f"{len(results)} settings"
        click.echo(f"{template.name}: {verdict}, {settings} tried")
    if wrong:
        raise InputError("; ".join(wrong))
    if failed:
        ctx.exit(FAILED)


def _results(template: Template, draws: int, seed: int) -> list[Result]:
    """Check every setting, with a progress bar where a person is watching."""
    settings = check_template(template, draws, random.Random(seed))
    watched = sys.stderr.isatty()
    bar = click.progressbar(
        settings, length=draws + 1, label=template.name, file=sys.stderr, hidden=not watched
    )
    with bar as steps:
        return list(steps)


def _merged(results: Sequence[Result]) -> list[tuple[Finding, int, str]]:
    """Each finding once: the first of its kind, in how many settings, and one of those."""
    found: dict[tuple[str, bool], list[tuple[Finding, str]]] = {}
    for result in results:
        for finding in result.findings:
            key = (finding.words, finding.is_failure)
            found.setdefault(key, []).append((finding, in_words(result.setting)))
    merged = [(seen[0][0], len(seen), seen[0][1]) for seen in found.values()]
    return sorted(merged, key=lambda m: not m[0].is_failure)


def _line(name: str, finding: Finding, times: int, tried: int, example: str) -> str:
    kind = "" if finding.is_failure else "hidden: "
    state = f" ({finding.state})" if finding.state else ""
    if times == tried:
        return f"{name}: {kind}{finding.words}{state}"
    where = f" with {example}" if finding.is_failure else ""
    return f"{name}: {kind}{finding.words}{state}, {times} of {tried} settings{where}"
