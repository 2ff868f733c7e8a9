"""`quizgen grade merge`: take in what another store holds."""

from __future__ import annotations

from contextlib import closing
from os.path import realpath  # Path.resolve stops at a link that leads back to itself

import click

from quizgen.base.errors import InputError
from quizgen.cli.grade_options import FILE, VARIABLE
from quizgen.store.database import open_store
from quizgen.store.merging import merge


@click.command("merge", short_help="Take in the results of another store.")
@click.argument("other", metavar="OTHER")
@click.option(
    "--store", "store_name", metavar="FILE|URL", envvar=VARIABLE, default=FILE, show_default=True,
    help=f"The store that takes them in; {VARIABLE} names one too.",
)  # fmt: skip
def merge_store(other: str, store_name: str) -> None:
    """Take in the results of another store, such as a laptop's that comes back from the workshop.

    OTHER is a file or a URL; it is only read. Nothing is there twice and nothing is lost: sets,
    answers, changed keys, decisions, classes and the trail. Where both stores have answers of a
    student to a set, those count that came in last; the others stay. Doing it again changes
    nothing. Two sets of one name with different questions are refused, and nothing is merged.
    """
    if "://" not in other and realpath(other) == realpath(store_name):
        raise InputError(f"{other}: is the store itself; name the other one")
    with closing(open_store(other, new=False)) as source, closing(open_store(store_name)) as mine:
        found = merge(mine, source)
    click.echo(
        f"{store_name}: {found.sets} new sets, {found.submissions} new sheets of answers, "
        f"{found.results} results new or changed, {found.classes} new classes"
    )
