"""Items that ask what an instrument shows: made, verified, altered."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from math import nan

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.faults import inject, parse_fault
from quizgen.items.act import parse_act
from quizgen.items.item import Figure, Item, Option, Reading
from quizgen.items.kinds.predict_reading import make
from quizgen.items.material import Request, draw_material
from quizgen.items.verify import Verifier
from quizgen.items.verify.instruments import look
from tests.items.altered import swapped, with_option, wrong

FAMILIES = (
    "blower-pack", "charging", "fuel-gauge", "ground-cluster", "headlamps", "power-seat",
    "push-button-relay", "starter", "two-source-lamp", "warning-lamp", "wiper",
)  # fmt: skip


def items_of(family: str, count: int, response: str | None = None) -> list[Item]:
    """Items of one family, each of another circuit."""
    rng = random.Random(f"readings {family} {response}")
    template = find_template(family)
    found: list[Item] = []
    while len(found) < count:
        material = draw_material(template, rng)
        try:
            found.append(make(material, Request(response=response, used=found), rng))  # type: ignore[arg-type]
        except UnprovableError:
            continue
    return found


@pytest.fixture(scope="module")
def items() -> tuple[Item, ...]:
    """Two of each family to tick, one to write a number."""
    ticked = [item for family in FAMILIES for item in items_of(family, 2)]
    return (*ticked, *(item for family in FAMILIES[::3] for item in items_of(family, 1, "number")))


@pytest.fixture(scope="module")
def verifier() -> Verifier:
    """One that remembers all circuits."""
    return Verifier(remembered=40)


def test_items_are_verified(items: tuple[Item, ...], verifier: Verifier) -> None:
    """The verifier has nothing to say against an item as made."""
    assert {item.id: verifier.verify(item) for item in items} == {item.id: () for item in items}


def test_the_instrument_on_the_told_circuit_shows_the_key(items: tuple[Item, ...]) -> None:
    """Made again from its origin alone, without the verifier."""
    for item in items:
        circuit = find_template(item.origin.template).build(dict(item.origin.parameters))
        if item.told:
            circuit = inject(circuit, parse_fault(item.told[0]))
        act, _, shown = item.key_claims[0].partition(" -> ")
        display = look(circuit, parse_act(act))
        if item.number:
            assert item.number.low < display.low < item.number.high
        else:
            assert shown == display.sure or abs(float(shown.split()[0]) - display.low) < 0.0501


def test_no_reading_is_asked_twice(items: tuple[Item, ...]) -> None:
    """Of one family with one fault; and options are three or four, each with a wrong model."""
    asked = [(i.family, i.told, i.key_claims[0].partition(" ->")[0]) for i in items if i.options]
    assert len(set(asked)) == len(asked)
    for item in items:
        assert item.number or 3 <= len(item.options) <= 4
        assert item.number is None or len(item.number.wrong) >= 2


def test_the_same_seed_makes_the_same_item() -> None:
    """Nothing but the generator's own randomness counts."""
    assert items_of("fuel-gauge", 1) == items_of("fuel-gauge", 1)


# --- alterations -----------------------------------------------------------------------------


def of(items: tuple[Item, ...], fits: Callable[[Item], bool]) -> Item:
    """The first item that fits."""
    return next(item for item in items if fits(item))


def ticked_volts(item: Item) -> bool:
    """A voltmeter item with a table of readings and a fault."""
    voltmeter = item.key_claims[0].startswith("voltmeter")
    return voltmeter and bool(
        item.options and item.readings and item.told and item.origin.positions
    )


def numeric(item: Item) -> bool:
    """One answered by a number."""
    return item.number is not None


def with_reading(item: Item, **changes: object) -> Item:
    """The item with its first reading changed."""
    first: Reading = replace(item.readings[0], **changes)  # type: ignore[arg-type]
    return replace(item, readings=(first, *item.readings[1:]))


def with_number(item: Item, **changes: object) -> Item:
    """The item with its number changed."""
    assert item.number is not None
    return replace(item, number=replace(item.number, **changes))  # type: ignore[arg-type]


def claimed(item: Item, option: Option, shown: str) -> Item:
    """An option that claims another display."""
    act = option.claim.partition(" -> ")[0]
    return with_option(item, option, claim=f"{act} -> {shown}", text=shown)


ALTERED: dict[str, tuple[Callable[[Item], bool], Callable[[Item], Item], str]] = {
    "key": (ticked_volts, swapped, "the instrument shows"),
    "key's figure": (ticked_volts, lambda i: claimed(i, i.key, "7.7 V"), "the instrument shows"),
    "near miss": (
        ticked_volts,
        lambda i: claimed(i, wrong(i), i.key.text.replace(i.key.text.split()[0], f"{float(i.key.text.split()[0].replace('−', '-')) + 0.2:.1f}")),  # noqa: E501
        "nobody tells it from",
    ),
    "no display": (ticked_volts, lambda i: claimed(i, wrong(i), "a lot"), "no instrument shows"),
    "text": (ticked_volts, lambda i: with_option(i, wrong(i), text="99.9 V"), "reads '99.9 V'"),
    "other act": (
        ticked_volts, lambda i: with_option(i, wrong(i), claim="voltmeter red=G1 -> 5.0 V"),
        "one and the same instrument",
    ),
    "no act": (
        ticked_volts,
        lambda i: replace(i, options=tuple(replace(o, claim=f"{n}") for n, o in enumerate(i.options))),  # noqa: E501
        "one and the same instrument",
    ),
    "model": (ticked_volts, lambda i: with_option(i, wrong(i), misconception=""), "no wrong model"),
    "rationale": (ticked_volts, lambda i: with_option(i, wrong(i), rationale=()), "no rationale"),
    "figure in a rationale": (
        ticked_volts, lambda i: with_option(i, wrong(i), rationale=("There it is 7.7 V.",)), "7.7 V"
    ),
    "figure": (
        ticked_volts,
        lambda i: with_option(i, i.key, figures=(Figure(name="shown", value=3.3, unit="V"),)),
        "its figure is",
    ),
    "no number": (
        ticked_volts,
        lambda i: with_option(i, i.key, figures=(Figure(name="shown", value=nan, unit="V"),)),
        "its figure is",
    ),
    "order": (
        ticked_volts, lambda i: replace(i, options=i.options[::-1]), "not sorted"
    ),
    "reading": (ticked_volts, lambda i: with_reading(i, volts=3.3), "the item says 3.3"),
    "print of a reading": (ticked_volts, lambda i: with_reading(i, shown="3.3 V"), "printed is"),
    "lead of a reading": (ticked_volts, lambda i: with_reading(i, red="X9"), "the lead is on"),
    "point of a reading": (
        ticked_volts, lambda i: with_reading(i, red_node="Q9.1"), "cannot be made again"
    ),
    "fault": (ticked_volts, lambda i: replace(i, told=("W1:open",)), "the fault put in is"),
    "fault that is none": (
        ticked_volts,
        lambda i: replace(i, told=("Q9:open",), origin=replace(i.origin, fault="Q9:open")),
        "cannot be made again",
    ),
    "state": (
        ticked_volts, lambda i: replace(i, origin=replace(i.origin, positions=())), "stands otherwise"  # noqa: E501
    ),
    "stem": (ticked_volts, lambda i: replace(i, stem=("It does not work.",)), "does not tell that"),
    "question": (ticked_volts, lambda i: replace(i, question="How much?"), "does not say that a lead"),  # noqa: E501
    "kind at fault": (ticked_volts, lambda i: replace(i, key_kind="sender"), "kind of part at fault"),  # noqa: E501
    "answer": (
        numeric, lambda i: with_number(i, value=i.number.value + 0.1), "the answer is"
    ),
    "range": (
        numeric,
        lambda i: with_number(i, low=i.number.value, high=i.number.value),
        "a sound meter may show",
    ),
    "quantity": (numeric, lambda i: with_number(i, quantity="voltmeter red"), "no pair"),
    "wrong answer": (
        numeric,
        lambda i: with_number(i, wrong=tuple(replace(w, misconception="") for w in i.number.wrong)),
        "has no wrong model",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_is_found(items: tuple[Item, ...], what: str, verifier: Verifier) -> None:
    """Whatever is changed, the verifier says what is wrong, in a line."""
    fits, alter, line = ALTERED[what]
    findings = verifier.verify(alter(of(items, fits)))
    assert any(line in finding for finding in findings), findings
    assert not [finding for finding in findings if "\n" in finding]
