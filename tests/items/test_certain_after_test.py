"""Items that ask what is certain after a test: right as made, every alteration found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.items.item import Item
from tests.items.choosing import (
    COMMON,
    Alter,
    found_in,
    items,
    saying,
    swapped_key,
    with_option,
    wrong,
)

KIND = "certain-after-test"


@pytest.mark.parametrize("response", ["one", "several"])
def test_items_as_made_are_right(response: str) -> None:
    """Items of five families verify without a finding, and every family gives some."""
    made = items(KIND, response, 2)
    findings = {f"{i.family} {i.origin.fault}": f for i in made if (f := found_in(i))}
    assert not findings
    assert len({i.family for i in made}) == 5


def test_the_hidden_part_is_never_said_to_be_good() -> None:
    """A right statement cannot clear the part in which the fault was put (by construction)."""
    for response in ("one", "several"):
        for item in items(KIND, response, 2):
            hidden = item.origin.fault.partition(":")[0]
            for claim in item.key_claims:
                word, _, parts = claim.partition(":")
                assert (hidden in parts.split(",")) == (word == "in")


def with_reading(item: Item, **changes: object) -> Item:
    """The first reading changed."""
    first, *others = item.readings
    return replace(item, readings=(replace(first, **changes), *others))  # type: ignore[arg-type]


def other_fault(item: Item) -> Item:
    """A wrong statement with the fault that the right one rules out named against it."""
    return with_option(item, wrong(item), figures=item.key.figures)


ALTERED: dict[str, tuple[Alter, str]] = COMMON | {
    "which is the key": (swapped_key, "is marked wrong"),
    "volts": (lambda i: with_reading(i, volts=i.readings[0].volts + 1.0), "the meter shows"),
    "print": (lambda i: with_reading(i, shown="7.7 V"), "printed is 7.7 V"),
    "lead": (lambda i: with_reading(i, red="somewhere"), "the red lead is on"),
    "point": (lambda i: with_reading(i, red_node="Q9.1"), "has no point Q9.1"),
    "instrument": (lambda i: with_reading(i, instrument="ohmmeter"), "only a voltmeter"),
    "no reading": (lambda i: replace(i, readings=()), "there is no test"),
    "fault against it": (other_fault, "does not speak against it"),
    "no fault against it": (lambda i: with_option(i, wrong(i), figures=()), "no fault is named"),
    "text": (lambda i: with_option(i, wrong(i), text="F99 is good"), "reads 'F99 is good'"),
    "printed volts": (lambda i: saying(i, i.key, "There it is 77.7 V."), "77.7 V is none"),
    "what is certain": (lambda i: with_option(i, i.key, claim="not:GB1,F1"), "option not:GB1,F1"),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_found(number: int, what: str) -> None:
    """Whatever in an item is changed, the verifier says so in a line."""
    alter, expected = ALTERED[what]
    made = items(KIND, "one", 2)
    found = found_in(alter(made[number % len(made)]))
    assert any(expected in line for line in found), found
