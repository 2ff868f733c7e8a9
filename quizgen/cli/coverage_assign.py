"""`quizgen coverage assign`: class, term, instructor and day of a set."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.base.legible import legible, spelt
from quizgen.cli.coverage_options import a_day
from quizgen.cli.grade_options import opened, set_argument, store_option
from quizgen.forms.problem_set import read_problem_set
from quizgen.store.classes import SchoolClass, assign
from quizgen.store.gradebook import storable
from quizgen.store.school_ids import meant_class, teacher


@click.command("assign", short_help="Say whose set it is, and when.")
@set_argument
@click.option("--class", "school_class", metavar="NAME", required=True, help="The class.")
@click.option("--term", metavar="NAME", default="", help="Its term, such as 2026-autumn.")
@click.option("--course", metavar="NAME", default="", help="Its course.")
@click.option("--instructor", metavar="NAME", default="", help="Who teaches it.")
@click.option("--on", "day", metavar="DATE", help="The day of the set.  [default: today]")
@store_option
def assign_set(
    set_file: Path, school_class: str, term: str, course: str, instructor: str, day: str | None,
    store_name: str | None,
) -> None:  # fmt: skip
    """Say which class a set is for, who teaches it and on which day.

    It may be done before or after grading, and again: a set belongs to one class, the last that was
    named. The set's students are entered into the class. Two classes that get the same plan get a
    set each, by plans of different names. Term and course may be left out where one class alone has
    the name, and the instructor where "quizgen coverage enrol" has taken in who teaches it.
    """
    names = [legible(spelt(name)) for name in (school_class, course, term, instructor)]
    if not names[0]:
        raise InputError("a class needs a name")
    problem_set, when = read_problem_set(set_file), a_day(day).isoformat()
    with opened(set_file, store_name, new=True) as store:
        said = SchoolClass(name=storable(names[0]), course=storable(names[1]),
                           term=storable(names[2]))  # fmt: skip
        meant = meant_class(store, said)
        who = names[3] or teacher(store, meant)
        fresh = assign(store, problem_set, meant, instructor=who, day=when)
    told = [f"class {meant.name}", meant.term, meant.course, who and f"taught by {who}", when,
            "" if fresh else "as before"]  # fmt: skip
    click.echo(f"{problem_set.name}: {', '.join(filter(None, told))}")
