"""Items that ask what is certain after a test: right as made, every alteration found."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.act_choice import SORTS
from quizgen.items.item import Item
from quizgen.items.kinds import KINDS, certain_after_test
from quizgen.items.material import Request, draw_material
from tests.items.choosing import (
    COMMON,
    FAMILIES,
    Alter,
    found_in,
    items,
    material,
    saying,
    swapped_key,
    with_option,
    wrong,
)

KIND = "certain-after-test"


@pytest.mark.parametrize("response", ["one", "several"])
def test_items_as_made_are_right(response: str) -> None:
    """Items of five families verify without a finding, and every family gives some."""
    made = items(KIND, response, 2 if response == "one" else 1)
    findings = {f"{i.family} {i.origin.fault}": f for i in made if (f := found_in(i))}
    assert not findings
    assert len({i.family for i in made}) == 5


def test_the_hidden_part_is_never_said_to_be_good() -> None:
    """A right statement cannot clear the part in which the fault was put (by construction)."""
    for response, each in (("one", 2), ("several", 1)):
        for item in items(KIND, response, each):
            hidden = item.origin.fault.partition(":")[0]
            for claim in item.key_claims:
                word, _, parts = claim.partition(":")
                assert (hidden in parts.split(",")) == (word == "in")


# --- tests other than a reading of volts --------------------------------------------------


def made_with(sort: str) -> Item:
    """The first item of any family with a test of one sort."""
    for number in range(4):
        for family in FAMILIES:
            try:
                rng = random.Random(f"{sort} {number}")
                return KINDS[KIND].make(material(family), Request(response="one"), rng)
            except UnprovableError:
                continue
    raise AssertionError(sort)


@pytest.fixture(scope="module")
def tried() -> dict[str, Item]:
    """An item for each sort of test."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        for sort in ("volts", *SORTS):
            patch.setattr(certain_after_test, "SORTS_OF_TEST", (sort,))
            found[sort] = made_with(sort)
    return found


def test_every_sort_of_test_is_asked_about(tried: dict[str, Item]) -> None:
    """Lamp, ohmmeter, jumper, a plug apart, a load or relay off: each verifies."""
    findings = {sort: f for sort, item in tried.items() if (f := found_in(item))}
    assert not findings
    assert tried["lamp"].readings[0].instrument == "test-lamp"
    assert tried["jumper"].readings[0].instrument == "fused-jumper"
    assert tried["apart"].readings[0].apart
    off = tried["off"].readings[0]
    assert off.unplugged or off.removed


def test_the_battery_is_isolated_for_the_ohmmeter(tried: dict[str, Item]) -> None:
    """Nobody puts one on a live circuit, and the stem says so."""
    reading = tried["ohm"].readings[0]
    assert reading.instrument == "ohmmeter"
    assert "GB1" in reading.unplugged
    assert "you isolate the battery GB1 and measure" in " ".join(tried["ohm"].stem)


def test_hands_are_clear_before_a_jumper_starts_anything(tried: dict[str, Item]) -> None:
    """A load may start as it is clipped on."""
    assert " clear" in " ".join(tried["jumper"].stem)


def test_lamps_that_do_alike_are_called_by_name_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What they would do has their names, what they do says "they all" (by hand: four lamps)."""
    monkeypatch.setattr(certain_after_test, "SORTS_OF_TEST", ("jumper",))
    rng = random.Random("tail-stop-plate1")
    drawn = draw_material(find_template("tail-stop-plate"), rng)
    item = KINDS[KIND].item(drawn, Request(options=4), rng)
    assert item.readings[0].shown == "P1 bright, E1 bright, E3 bright, E5 bright"
    for option in item.options:
        said = [s for s in option.rationale if "stay dark" in s]
        assert len(said) == option.is_key
        for sentence in said:
            assert sentence.count("E3") == 1
            assert "they all are bright" in sentence


def other_brightness(item: Item) -> Item:
    """A lamp that was dark is bright, any other dark."""
    shown = "lit bright" if item.readings[0].shown == "dark" else "dark"
    return with_reading(item, shown=shown)


def other_fault(item: Item) -> Item:
    """A wrong statement with the fault that the right one rules out named against it."""
    return with_option(item, wrong(item), figures=item.key.figures)


def with_reading(item: Item, **changes: object) -> Item:
    """The first reading changed."""
    first, *others = item.readings
    return replace(item, readings=(replace(first, **changes), *others))  # type: ignore[arg-type]


TRIED_ALTERED: dict[str, tuple[str, Alter, str]] = {
    "lamp shown": ("lamp", other_brightness, "the test shows"),
    "ohm shown": ("ohm", lambda i: with_reading(i, shown="123 Ω", volts=123.0), "printed: 123"),
    "what loads do": (
        "jumper", lambda i: with_reading(i, shown="GB1 turns"), "tells of no load and no relay"
    ),
    "what one load does": (
        "jumper",
        lambda i: with_reading(i, shown=i.readings[0].shown.split(" ")[0] + " silent"),
        "printed: ",
    ),
    "battery left on": ("ohm", lambda i: with_reading(i, unplugged=()), "still connected"),
    "plug left together": ("apart", lambda i: with_reading(i, apart=()), ""),
    "lead of the lamp": ("lamp", lambda i: with_reading(i, red="somewhere"), "lead is not on"),
    "state": ("off", lambda i: with_reading(i, state="On the moon"), "does not say"),
    "instrument": ("off", lambda i: with_reading(i, instrument="nose"), "is not worked out"),
    "figure": (
        "ohm",
        lambda i: with_option(i, i.key, figures=(replace(i.key.figures[0], value=77.0),)),
        "not 77",
    ),
    "display with a fault": (
        "lamp",
        lambda i: with_option(
            i, i.key, figures=(replace(i.key.figures[0], name=i.key.figures[0].name + "!"),)
        ),
        "the test shows",
    ),
    "display printed": ("ohm", lambda i: saying(i, i.key, "It shows 77.7 Ω."), "77.7 Ω in its"),
    "which is the key": ("jumper", swapped_key, "is marked wrong"),
    "fault against it": ("lamp", other_fault, "does not speak against it"),
}  # fmt: skip


@pytest.mark.parametrize("what", list(TRIED_ALTERED))
def test_what_was_altered_in_a_test_is_found(tried: dict[str, Item], what: str) -> None:
    """The same of every other test."""
    sort, alter, expected = TRIED_ALTERED[what]
    found = found_in(alter(tried[sort]))
    assert found
    assert any(expected in line for line in found), found


# --- readings of volts --------------------------------------------------------------------


ALTERED: dict[str, tuple[Alter, str]] = COMMON | {
    "which is the key": (swapped_key, "is marked wrong"),
    "volts": (lambda i: with_reading(i, volts=i.readings[0].volts + 1.0), "the meter shows"),
    "print": (lambda i: with_reading(i, shown="7.7 V"), "printed is 7.7 V"),
    "lead": (lambda i: with_reading(i, red="somewhere"), "the red lead is on"),
    "point": (lambda i: with_reading(i, red_node="Q9.1"), "has no point Q9.1"),
    "instrument": (lambda i: with_reading(i, instrument="ohmmeter"), ""),
    "no reading": (lambda i: replace(i, readings=()), "there is no test"),
    "fault against it": (other_fault, "does not speak against it"),
    "no fault against it": (lambda i: with_option(i, wrong(i), figures=()), "no fault is named"),
    "text": (lambda i: with_option(i, wrong(i), text="F99 is good"), "reads 'F99 is good'"),
    "printed volts": (lambda i: saying(i, i.key, "There it is 77.7 V."), "77.7 V is none"),
    "what is certain": (lambda i: with_option(i, i.key, claim="not:GB1,F1"), "option not:GB1,F1"),
}  # fmt: skip


@pytest.mark.parametrize("what", list(ALTERED))
def test_what_was_altered_is_found(tried: dict[str, Item], what: str) -> None:
    """Whatever in an item is changed, the verifier says so in a line."""
    alter, expected = ALTERED[what]
    found = found_in(alter(tried["volts"]))
    assert any(expected in line for line in found), found
