"""`quizgen circuit next-test`: which test tells most for the time it takes."""

from __future__ import annotations

from collections.abc import Sequence

import click

from quizgen.cli.data import print_json
from quizgen.cli.evidence_options import nobody, observe_option, read_suspects, two_faults_option
from quizgen.cli.options import json_option, name_argument, set_option
from quizgen.cli.table import INDENT, labelled, table, wrapped
from quizgen.diagnosis.checks import LOOK, Check
from quizgen.diagnosis.decision_tree import Fork, Leaf
from quizgen.diagnosis.next_tests import (
    Course,
    RankedTest,
    best_tree,
    next_tests,
    uncertainty,
)
from quizgen.diagnosis.states import state_name
from quizgen.diagnosis.suspects import Suspects

MOST_LISTED = 12
MOST_NAMED = 5  # suspects named behind an outcome
DEEPEST = 30  # columns that a branch of the tree is indented at most


@click.command(short_help="Say which test tells most for the time it takes.")
@name_argument
@observe_option
@set_option
@two_faults_option
@click.option("--tree", "as_tree", is_flag=True, help="Plan the whole course of tests.")
@json_option
def next_test(
    name: str, file: str, settings: tuple[str, ...], double: bool, as_tree: bool, as_json: bool
) -> None:
    """Rank the tests that could follow, by information for each minute.

    FILE says what was found, see `quizgen circuit suspects --help`. Considered are a look at all
    loads in other switch positions, a voltmeter or test lamp from any point that can be reached
    to the chassis, and an ohmmeter across suspect parts with the battery off. Minutes are
    those of the instrument and of reaching its points; a place reached before costs nothing.

    With --tree the whole course: what to do after each outcome, its expected minutes, and a
    bound that no course can beat.
    """
    used, found = read_suspects(name, settings, file, double)
    ranked = next_tests(found)
    course = best_tree(found, ranked) if as_tree and found.listed else None
    if as_json:
        print_json(_record(used, found, ranked, course))
    elif not found.listed:
        click.echo("\n".join(wrapped(nobody(found))))
    else:
        click.echo("\n".join(_tree_lines(course) if course else _lines(found, ranked)))


# --- text -----------------------------------------------------------------------------


def _lines(found: Suspects, ranked: Sequence[RankedTest]) -> list[str]:
    lines = labelled("Suspects", f"{len(found.listed)} in {len(found.groups)} groups")
    lines += labelled("Missing", f"{uncertainty(found):.2f} bit")
    if not ranked:
        return [*lines, "", *wrapped("No test considered here tells these suspects apart.")]
    best = ranked[0]
    lines += labelled("Best", told(best.check))
    lines += ["", *_outcome_lines(best), ""]
    rows = [
        (f"{t.bits:.2f}", f"{t.check.total_minutes:.1f}", f"{t.bits_per_minute:.2f}", told(t.check))
        for t in ranked[:MOST_LISTED]
    ]
    lines += table(("bit", "min", "bit/min", "test"), rows, right=(0, 1, 2))
    more = len(ranked) - MOST_LISTED
    return [*lines, *(wrapped(f"and {more} more") if more > 0 else [])]


def _outcome_lines(test: RankedTest) -> list[str]:
    rows = [
        (f"{100 * o.probability:.0f} %", o.shows, _named([key for key, _ in o.leaves]))
        for o in sorted(test.outcomes, key=lambda o: -o.probability)
    ]
    if max(len(shows) for _, shows, _ in rows) > 30:  # a look at many loads
        rows = [(chance, "", f"{shows} → {left}") for chance, shows, left in rows]
    return table(("chance", "shows", "leaves"), rows, right=(0,))


def _named(keys: Sequence[str]) -> str:
    more = len(keys) - MOST_NAMED
    return ", ".join(keys[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def told(check: Check) -> str:
    """A test in words."""
    where = f"after {state_name(check.turned)}" if check.turned else "as it stands"
    if check.instrument == LOOK:
        return f"look and listen, {where}"
    first = f"{' and '.join(check.unplugged)} off, " if check.unplugged else ""
    return f"{first}{check.instrument}, red {check.red}, black {check.black}, {where}"


def _tree_lines(course: Course) -> list[str]:
    plan = course.plan
    best = "no course is quicker" if plan.is_exact else "there may be a quicker course"
    lines = wrapped(
        f"{plan.expected_minutes:.1f} minutes on average; {best} with these tests. "
        f"Whoever gains {course.bits:.2f} bit needs {plan.bound_minutes:.1f} minutes at least, "
        "access left out."
    )
    return [*lines, "", *_branch(course, plan.root, 0)]


def _branch(course: Course, tree: Fork | Leaf, depth: int) -> list[str]:
    pad = min(len(INDENT) * depth, DEEPEST)
    if isinstance(tree, Leaf):
        keys = dict.fromkeys(key for h in tree.left for key in course.suspects[h])
        return [" " * pad + line for line in wrapped("= " + ", ".join(keys))]
    test = course.tests[tree.probe]
    lines = [" " * pad + line for line in wrapped(told(test.check))]
    for outcome, below in tree.branches:
        lines += [" " * (pad + 2) + f"{INDENT}{test.table.shows[outcome]}:"]
        lines += _branch(course, below, depth + 2)
    return lines


# --- data -----------------------------------------------------------------------------


def _record(
    used: dict[str, object], found: Suspects, ranked: Sequence[RankedTest], course: Course | None
) -> dict[str, object]:
    record: dict[str, object] = {
        "circuit": found.circuit.name,
        "settings": used,
        "suspects": [
            {"suspect": s.key, "probability": s.probability, "group": s.group} for s in found.listed
        ],
        "uncertainty_bits": uncertainty(found),
        "tests": [_test_record(test) for test in ranked],
    }
    if course is not None:
        record["tree"] = {
            "expected_minutes": course.plan.expected_minutes,
            "bound_minutes": course.plan.bound_minutes,
            "is_exact": course.plan.is_exact,
            "root": _tree_record(course, course.plan.root),
        }
    return record


def _check_record(check: Check) -> dict[str, object]:
    return {
        "instrument": check.instrument,
        "red": check.red,
        "black": check.black,
        "turned": [{"control": c, "position": p} for c, p in check.turned],
        "unplugged": check.unplugged,
        "minutes": check.total_minutes,
    }


def _test_record(test: RankedTest) -> dict[str, object]:
    return {
        **_check_record(test.check),
        "bits": test.bits,
        "bits_per_minute": test.bits_per_minute,
        "outcomes": [
            {"shows": o.shows, "probability": o.probability, "leaves": dict(o.leaves)}
            for o in test.outcomes
        ],
    }


def _tree_record(course: Course, tree: Fork | Leaf) -> dict[str, object]:
    if isinstance(tree, Leaf):
        return {"suspects": list(dict.fromkeys(k for h in tree.left for k in course.suspects[h]))}
    test = course.tests[tree.probe]
    branches = [
        {"shows": test.table.shows[outcome], "then": _tree_record(course, below)}
        for outcome, below in tree.branches
    ]
    return {"test": _check_record(test.check), "branches": branches}
