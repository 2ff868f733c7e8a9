"""The rules of item writing that look at a whole form (numbers as in `items.lint.remark`)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from scipy.stats import binom, chisquare

from quizgen.base.errors import UnprovableError
from quizgen.forms.problem_set import ProblemSet
from quizgen.items.item import Item
from quizgen.items.lint import lint_item
from quizgen.items.lint.item_rules import key_is_longest
from quizgen.items.lint.remark import Remark, error

SIGNIFICANT = 0.05  # chances smaller than this are no chance
LONGEST_RUN = 4  # keys in a row at one place
EXPECTED_PER_PLACE = 5  # fewer expected, and chi-square says nothing (common practice)


def most_longest_keys(items: int, options: int) -> int:
    """So many keys of a form may be the longest option and still be chance.

    >>> most_longest_keys(40, 4), most_longest_keys(40, 3)
    (15, 18)
    """
    return max(k for k in range(items + 1) if binom.sf(k - 1, items, 1 / options) >= SIGNIFICANT)


def lint_form(items: Sequence[Item]) -> tuple[Remark, ...]:
    """What the rules find in a form."""
    return (*_lengths(items), *_places(items), *_tells(items))


def check_lint(problem_set: ProblemSet) -> None:
    """Raises UnprovableError that names the first errors of a set, if it has any."""
    found = [
        f"form {form.code}: {remark}"
        for form in problem_set.forms
        for remark in (*lint_form(form.items), *(r for item in form.items for r in lint_item(item)))
        if remark.severity == "error"
    ]
    if found:
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        raise UnprovableError(
            f"{problem_set.name}: {found[0]}{more}; change the plan, or print it all the same "
            "with --despite-lint"
        )


def _lengths(items: Sequence[Item]) -> Iterator[Remark]:
    """L01 over a form."""
    chosen = [item for item in items if item.response == "one"]
    longest = sum(key_is_longest(item) for item in chosen)
    if chosen:
        options = min(len(item.options) for item in chosen)
        if longest > most_longest_keys(len(chosen), options):
            yield error("L01", f"the key is the longest option in {longest} of {len(chosen)}")


def _places(items: Sequence[Item]) -> Iterator[Remark]:
    """L14."""
    chosen = [item for item in items if item.response == "one"]
    places = [item.options.index(item.key) for item in chosen]
    runs = [len(list(run)) for _, run in groupby(places)]
    if max(runs, default=0) > LONGEST_RUN:
        yield error("L14", f"{max(runs)} keys in a row stand at the same place")
    options = min((len(item.options) for item in chosen), default=1)
    counts = [places.count(place) for place in range(options)]
    if sum(counts) >= EXPECTED_PER_PLACE * options:
        chance = float(chisquare(counts).pvalue)
        if chance < SIGNIFICANT:
            yield error("L14", f"keys stand unevenly: {counts} by place")


def _tells(items: Sequence[Item]) -> Iterator[Remark]:
    """L19: the stem of one item must not tell the key of another about the same machine."""
    for i, one in enumerate(items):
        for j, other in enumerate(items):
            same = (one.origin.template, one.origin.parameters, one.machine) == (
                other.origin.template, other.origin.parameters, other.machine,
            )  # fmt: skip
            if i != j and same and set(one.told) & {*other.key_claims, other.origin.fault}:
                yield error("L19", f"item {i + 1} tells what item {j + 1} asks")
