"""Items that ask which suspect comes first: right as made, every alteration found."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest

from quizgen.items.item import Item
from tests.items.altered import turned
from tests.items.choosing import (
    COMMON,
    Alter,
    figure,
    found_in,
    items,
    saying,
    with_figure,
    with_option,
    wrong,
)

KIND = "first-suspect"


@pytest.mark.parametrize("response", ["one", "order"])
def test_items_as_made_are_right(response: str) -> None:
    """Items of five families verify without a finding, and every family gives some."""
    made = items(KIND, response, 2)
    findings = {f"{i.family} {i.origin.fault}": f for i in made if (f := found_in(i))}
    assert not findings
    assert len({i.family for i in made}) == 5


def test_no_order_is_quicker() -> None:
    """Of all orders of the parts that are possible, the one marked right takes least on average."""
    for item in items(KIND, "order", 2):
        ranked = [item.options[i] for i in item.order]
        parts = [(figure(o, "times"), figure(o, "minutes")) for o in ranked if not o.refuted_by]

        def mean(order: tuple[tuple[float, float], ...]) -> float:
            costs = [sum(m for _, m in order[: i + 1]) for i in range(len(order))]
            return sum(t * c for (t, _), c in zip(order, costs, strict=True))

        best = min(map(mean, permutations(parts)))
        assert mean(tuple(parts)) == pytest.approx(best)
        assert ranked[-1].refuted_by is not None


def other_level(item: Item) -> Item:
    """The part that is ruled out, by something that nobody told."""
    out = next(o for o in item.options if o.refuted_by is not None)
    assert out.refuted_by is not None
    return with_option(item, out, refuted_by=replace(out.refuted_by, found="flashes"))


def hidden_elsewhere(item: Item) -> Item:
    """Another fault with the same outcome, in a part that is not listed."""
    listed = {o.claim for o in item.options}
    standing = next(p for p in ("W2", "F1", "GB1") if p not in listed)
    fault = {"W2": "W2:open", "F1": "F1:blown", "GB1": "GB1:weak"}[standing]
    return replace(item, origin=replace(item.origin, fault=fault))


def nothing_against(item: Item) -> Item:
    """The part that is ruled out, without a word why."""
    out = next(o for o in item.options if o.refuted_by is not None)
    return with_option(item, out, refuted_by=None)


ALTERED: dict[str, tuple[Alter, str]] = COMMON | {
    "times": (lambda i: with_figure(i, wrong(i), "times", 99.0), "reads"),
    "minutes": (lambda i: with_figure(i, wrong(i), "minutes", 0.1), "a check takes"),
    "no minutes": (lambda i: with_figure(i, i.key, "minutes", 0.0), "no times or no minutes"),
    "average": (lambda i: with_figure(i, i.key, "average", 0.1), "on average"),
    "text": (lambda i: with_option(i, i.key, text="F99: 1 times, 1.0 min"), "reads 'F99"),
    "printed minutes": (lambda i: saying(i, i.key, "77.7 min."), "77.7 min is neither"),
    "printed rate": (lambda i: saying(i, i.key, "77.7 for each minute."), "77.7 for each minute"),
    "reason against it": (other_level, "the item does not tell"),
    "hidden fault": (hidden_elsewhere, "in none of the parts listed"),
    "no reason against it": (nothing_against, "nothing is said to rule it out"),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_found(number: int, what: str) -> None:
    """Whatever in an item is changed, the verifier says so in a line."""
    alter, expected = ALTERED[what]
    made = items(KIND, "one", 2)
    found = found_in(alter(made[number % len(made)]))
    assert any(expected in line for line in found), found


def test_another_order_is_found() -> None:
    """An order that does not follow from times over minutes is not right."""
    for item in items(KIND, "order", 2):
        assert any("by times over minutes" in line for line in found_in(turned(item)))
