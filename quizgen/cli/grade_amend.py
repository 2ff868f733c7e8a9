"""`quizgen grade amend`: a key or the rules changed, everybody scored anew, the reason kept."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.base.errors import InputError
from quizgen.cli.data import print_json
from quizgen.cli.grade_options import opened, points_text, set_argument, store_option
from quizgen.cli.options import json_option
from quizgen.cli.table import table
from quizgen.forms.problem_set import ProblemSet, read_problem_set
from quizgen.grading.keys import Amendment, Change, check_amendment, read_question
from quizgen.grading.score import Rules
from quizgen.store.gradebook import Rescored, set_rules
from quizgen.store.gradebook import amend as amend_key


@click.command(short_help="Change a key or the rules, score anew.")
@set_argument
@click.option("--item", metavar="FORM/N", help="Which question, such as A/3.")
@click.option(
    "--key", "keys", metavar="ANSWER", multiple=True,
    help='What is right: "B", "A C", "C A B D", "11.5 to 12.1". Twice: either is right.',
)  # fmt: skip
@click.option("--withdraw", is_flag=True, help="Let the question count for nobody.")
@click.option("--restore", is_flag=True, help="Back to the printed key.")
@click.option(
    "--part-credit/--all-or-nothing", "part_credit", default=None,
    help="Points for partly right answers, for the whole set.",
)  # fmt: skip
@click.option("--why", metavar="TEXT", required=True, help="The reason, for the trail.")
@click.option("--who", metavar="NAME", required=True, help="Who decided.")
@store_option
@json_option
def amend(
    set_file: Path, item: str | None, keys: tuple[str, ...], withdraw: bool, restore: bool,
    part_credit: bool | None, why: str, who: str, store_name: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Change a key or the rules and score everybody anew.

    The printed key stays; the change is kept beside it with who, when and why, and every result
    that changes is listed. It may be made before anything is graded. Other forms have other
    questions: withdraw each by its own name. An unsafe act is never made right.
    """
    problem_set = read_problem_set(set_file)
    _check_one(item, keys, withdraw, restore, part_credit)
    change: Change = "withdraw" if withdraw else "restore" if restore else "key"
    amendment = _amendment(problem_set, item, change, keys, why, who) if item else None
    with opened(set_file, store_name, new=True) as store:
        if amendment:
            rescored = amend_key(store, problem_set, amendment)
        else:
            rules = Rules(part_credit=bool(part_credit))
            rescored = set_rules(store, problem_set, rules, why, who)
    if as_json:
        print_json(
            [
                {"student": c.student, "before": c.before.points, "before_of": c.before.out_of,
                 "after": c.after.points, "after_of": c.after.out_of}
                for c in rescored
            ]
        )  # fmt: skip
    else:
        _print(problem_set, rescored)


def _amendment(
    problem_set: ProblemSet, item: str, change: Change, keys: tuple[str, ...], why: str, who: str
) -> Amendment:
    """The change as a record, checked before any store is touched. Raises InputError."""
    form, number = read_question(problem_set, item)
    amendment = Amendment(
        form=form, number=number, change=change, texts=keys, why=why.strip(), who=who.strip()
    )
    check_amendment(problem_set, amendment)
    return amendment


def _check_one(
    item: str | None, keys: tuple[str, ...], withdraw: bool, restore: bool, part: bool | None
) -> None:
    """Raises InputError unless exactly one change was asked for."""
    asked = [bool(keys), withdraw, restore, part is not None]
    if sum(asked) != 1 or bool(item) == (part is not None):
        raise InputError(
            "write --item FORM/N with one of --key, --withdraw, --restore; "
            "or --part-credit or --all-or-nothing for the whole set"
        )


def _print(problem_set: ProblemSet, rescored: tuple[Rescored, ...]) -> None:
    names = problem_set.student_names
    rows = [
        (c.student, names.get(c.student, ""), points_text(c.before), points_text(c.after))
        for c in rescored
    ]
    if rows:
        click.echo("\n".join(table(("student", "name", "before", "now"), rows)))
    click.echo(f"{len(rows)} results changed" if rows else "no result changes")
