"""Sums: items as made are right, altered ones are found out, school and circuit agree."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.item import Figure, Item
from quizgen.items.kinds.compute import KIND
from quizgen.items.material import Request, draw_material
from quizgen.items.reckoning import FORMS
from quizgen.items.verify import Verifier
from tests.items.altered import swapped, with_option, wrong

FAMILIES = (
    "blower-pack",
    "intake-heater",
    "power-distribution",
    "ground-cluster",
    "two-station-motor",
)


@pytest.fixture(scope="module")
def sums() -> list[Item]:
    """A few of each family, half of them answered by a number."""
    found: list[Item] = []
    for family in FAMILIES:
        rng = random.Random(f"sums {family}")
        for turn in range(8):
            response = KIND.responses[turn % 2]
            material = draw_material(find_template(family), rng)
            try:
                found.append(KIND.make(material, Request(response=response, used=found), rng))
            except UnprovableError:
                continue
    return found


@pytest.fixture(scope="module")
def checker() -> Verifier:
    return Verifier(remembered=64)


def test_items_as_made_are_right(sums: list[Item], checker: Verifier) -> None:
    """Generator and verifier, which share no arithmetic, agree on every one."""
    assert len(sums) >= 30
    wrong = {f"{i.family} {i.key_claims}": f for i in sums if (f := checker.verify(i))}
    assert not wrong


def test_most_forms_of_sum_are_asked(sums: list[Item]) -> None:
    """The forms asked less often come first, so that a set does not ask one thing again."""
    asked = {i.key_claims[0].partition(":")[0] for i in sums}
    assert asked <= set(FORMS)
    assert len(asked) >= 7


def test_answers_stand_by_size_and_apart(sums: list[Item]) -> None:
    """Each is at least a twentieth more than the one before it, in the same unit."""
    for item in sums:
        values = [float(o.text.split()[0]) for o in item.options]
        assert all(b >= 1.05 * a for a, b in pairwise(values)), item.options
        assert len({o.text.split()[1] for o in item.options}) <= 1


def test_no_quantity_is_asked_twice_of_a_family() -> None:
    """An item that was used keeps its quantity from being asked again."""
    rng = random.Random("twice")
    material = draw_material(find_template("blower-pack"), rng)
    used: list[Item] = []
    for _ in range(6):
        used.append(KIND.make(material, Request(used=used), rng))
    quantities = [i.key_claims[0].partition("=")[0] for i in used]
    assert len(set(quantities)) == len(quantities)


# --- alterations ----------------------------------------------------------------------------


def reading(item: Item, **changes: object) -> Item:
    first = replace(item.readings[0], **changes)  # type: ignore[arg-type]
    return replace(item, readings=(first, *item.readings[1:]))


def number(item: Item, **changes: object) -> Item:
    assert item.number is not None
    return replace(item, number=replace(item.number, **changes))  # type: ignore[arg-type]


def figure(item: Item) -> Item:
    figures = list(item.proof.figures)
    figures[1] = Figure(name="by the sum", value=77.7)
    item = replace(item, proof=replace(item.proof, figures=tuple(figures)))
    return item


def claim(item: Item, quantity: str) -> Item:
    options = tuple(replace(o, claim=f"{quantity}={n}") for n, o in enumerate(item.options, 1))
    return replace(item, options=options)


ONE: dict[str, tuple[Callable[[Item], Item], str]] = {
    "key": (swapped, "the sum comes to"),
    "value of an option": (
        lambda i: with_option(i, wrong(i), claim=wrong(i).claim.replace("=", "=9")), "comes to"
    ),
    "text of an option": (
        lambda i: with_option(i, wrong(i), text="77.7 kg"), "which is no figure in"
    ),
    "model": (lambda i: with_option(i, wrong(i), misconception="no-such"), "comes to nothing"),
    "figure in a rationale": (
        lambda i: with_option(i, wrong(i), rationale=("It would be 7.77 V.",)),
        "which nothing gives",
    ),
    "no rationale": (lambda i: with_option(i, wrong(i), rationale=()), "nothing is said"),
    "order": (lambda i: replace(i, options=i.options[::-1]), "do not stand by size"),
    "print of a reading": (lambda i: reading(i, shown="77.7 V"), "reading 1: the meter shows"),
    "figure of a reading": (lambda i: reading(i, volts=77.7), "reading 1: printed is"),
    "reading of nothing": (lambda i: reading(i, volts=0.0), "no figure that a sum can start"),
    "reading of no number": (lambda i: reading(i, volts=float("nan")), "no figure that a sum"),
    "lead": (lambda i: reading(i, red="the moon"), "a lead is at"),
    "no such point": (lambda i: reading(i, red_node="Q9.1"), "cannot be made again"),
    "no readings": (lambda i: replace(i, readings=()), "the sum needs"),
    "proof": (figure, "by the sum 77.7"),
    "told": (lambda i: replace(i, told=("G9:open",)), "told is"),
    "stem": (lambda i: replace(i, stem=("It is.",)), "the stem does not"),
    "kind of part": (lambda i: replace(i, key_kind="gauge"), "is filed under"),
    "quantity that is none": (lambda i: claim(i, "luck:M1"), "nobody can work out"),
    "quantity of nothing": (lambda i: claim(i, "drop:"), "cannot be made again"),
    "nonsense": (lambda i: claim(i, "size:W1:nan:-3"), "cannot be made again"),
    "fault": (
        lambda i: replace(i, origin=replace(i.origin, fault="GB1:weak:50")), ""
    ),
}  # fmt: skip

NUMBER: dict[str, tuple[Callable[[Item], Item], str]] = {
    "value": (lambda i: number(i, value=i.number.high, decimals=6), "the sum comes to"),  # type: ignore[union-attr]
    "low bound": (lambda i: number(i, low=i.number.value), "the low bound"),  # type: ignore[union-attr]
    "high bound": (lambda i: number(i, high=1e6), ""),
    "unit": (lambda i: number(i, unit="kg"), "the answer is in kg"),
    "question": (lambda i: replace(i, question="How much?"), "the question does not say"),
    "solution": (lambda i: replace(i, solution=("It is 7.77 V.",)), "which nothing gives"),
}


@pytest.mark.parametrize(("place", "what"), list(enumerate(ONE)), ids=list(ONE))
def test_what_was_altered_is_named(
    sums: list[Item], checker: Verifier, place: int, what: str
) -> None:
    """Whatever is changed in an item with options, the verifier says so in a line."""
    items = [i for i in sums if i.response == "one"]
    alter, expected = ONE[what]
    found = checker.verify(alter(items[place % len(items)]))
    assert found
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line]


@pytest.mark.parametrize(("place", "what"), list(enumerate(NUMBER)), ids=list(NUMBER))
def test_what_was_altered_in_a_number_is_named(
    sums: list[Item], checker: Verifier, place: int, what: str
) -> None:
    """Likewise in an item whose answer is written as a number."""
    items = [i for i in sums if i.number is not None and i.number.low < i.number.high]
    alter, expected = NUMBER[what]
    found = checker.verify(alter(items[place % len(items)]))
    assert found
    assert any(expected in line for line in found), found
