"""Rules over a form: lengths and places of keys within chance, no item telling another's key."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.forms.lint_form import check_lint, lint_form, most_longest_keys
from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet
from quizgen.items.item import Item
from tests.items.test_lint import SOUND, item


def rules(items: list[Item]) -> set[str]:
    """The numbers of the rules that a form breaks."""
    return {remark.rule for remark in lint_form(items)}


def test_longest_keys_as_the_table_of_the_binomial_has_it() -> None:
    """16 of 40 with four options: P = .026, too many; 18 of 40 with three: P = .083, chance.

    Source: binomial tail, computed with another program for the rule's description.
    """
    assert most_longest_keys(40, 4) == 15
    assert most_longest_keys(40, 3) >= 18


def spread(keys: list[int]) -> list[Item]:
    """Items with their keys at these places, on different machines."""
    texts = ("Wire W4 is open", "Ground G2 is open", "Switch S1 is open")
    return [replace(item(*texts, key=key), machine=str(n)) for n, key in enumerate(keys)]


def test_keys_in_a_row_are_named() -> None:
    """Four in a row may be chance; five stand out."""
    assert rules(spread([0, 0, 0, 0, 1, 2])) == set()
    assert rules(spread([0, 0, 0, 0, 0, 1, 2])) == {"L14"}


def test_uneven_keys_are_named() -> None:
    """Chi-square of 15, 3, 3 is 13.7 with 2 degrees of freedom: P = .001."""
    uneven = [0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 1, 2]
    assert "L14" in rules(spread(uneven))
    assert rules(spread([0, 1, 2] * 7)) == set()


def test_a_key_that_is_often_longest_is_named() -> None:
    """Six of six with three options: one chance in 729."""
    longest = [
        replace(item("Wire W4 is open inside", "F1 is blown", "G2 is loose"), machine=str(n))
        for n in range(6)
    ]
    assert "L01" in rules(longest)


def test_one_item_must_not_tell_what_another_asks() -> None:
    """The same machine, and the stem of one names the fault that is the key of the other."""
    teller = replace(SOUND, told=(SOUND.key.claim,))
    assert "L19" in rules([teller, SOUND])
    elsewhere = replace(teller, machine="another")
    assert rules([elsewhere, SOUND]) == set()


def test_a_set_with_errors_is_refused() -> None:
    """One line that says form and rule, and how to print it all the same."""
    made = ProblemSet(
        format=FILE_FORMAT, name="week", token="t", title="", week="", scenario="", circuits=(),
        slots=(), forms=(Form(code="B", items=tuple(spread([0] * 6))),),
    )  # fmt: skip
    with pytest.raises(UnprovableError, match=r"form B: L14 error.*--despite-lint"):
        check_lint(made)
