"""Items that ask for the quickest readings: right as made, every alteration found."""

from __future__ import annotations

import pytest

from quizgen.items.item import Item
from tests.items.choosing import (
    COMMON,
    Alter,
    figure,
    figures,
    found_in,
    items,
    saying,
    with_figure,
    with_option,
    with_proof,
    wrong,
)

KIND = "covering-checks"


def test_items_as_made_are_right() -> None:
    """Items of five families verify without a finding, and every family gives some."""
    made = items(KIND)
    findings = {f"{i.family} {i.origin.fault}": f for i in made if (f := found_in(i))}
    assert not findings
    assert len({i.family for i in made}) == 5


def test_only_the_key_is_quick_and_leaves_nothing() -> None:
    """By the figures of the item itself: another set leaves a pair, or takes clearly longer."""
    for item in items(KIND):
        assert figure(item.key, "alike") == 0.0
        for option in item.options:
            quick = figure(option, "minutes") < 1.25 * figure(item.key, "minutes")
            assert option.is_key or not quick or figure(option, "alike") > 0.0


def first_reading(item: Item) -> Item:
    """The key without its other readings, as if one were enough."""
    return with_option(item, item.key, claim=item.key.claim.partition(" ; ")[0])


ALTERED: dict[str, tuple[Alter, str]] = COMMON | {
    "minutes": (lambda i: with_figure(i, i.key, "minutes", 0.1), "its minutes: stated 0.1"),
    "pairs left": (lambda i: with_figure(i, wrong(i), "alike", 9.0), "its alike: stated 9"),
    "one reading": (first_reading, "the key does not tell"),
    "text": (lambda i: with_option(i, i.key, text="F99 (1.0 min)"), "does not say"),
    "printed volts": (lambda i: saying(i, i.key, "77.7 V."), "no suspect gives 77.7 V"),
    "printed minutes": (lambda i: saying(i, i.key, "77.7 min."), "77.7 min is neither"),
    "suspects": (lambda i: with_proof(i, figures=figures(("a", 1.0))), "0 suspects are no choice"),
    "no reading": (lambda i: with_option(i, wrong(i), claim="look"), "does not go on"),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_found(number: int, what: str) -> None:
    """Whatever in an item is changed, the verifier says so in a line."""
    alter, expected = ALTERED[what]
    made = items(KIND)
    found = found_in(alter(made[number % len(made)]))
    assert any(expected in line for line in found), found
