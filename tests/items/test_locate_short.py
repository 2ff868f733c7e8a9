"""Where the unwanted contact lies: made items are right, altered ones are found out."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.item import Item, Option, Refutation
from quizgen.items.kinds import KINDS
from quizgen.items.lint import lint_item
from quizgen.items.material import Request, draw_material
from quizgen.items.sections import sections
from quizgen.items.verify import Verifier
from tests.items.altered import assert_named, with_option, with_origin

FAMILIES = ("washer-pump", "starter", "ground-cluster", "trailer-socket")


def made_of(family: str, count: int) -> list[Item]:
    """Items of one family, as many as a few circuits give up to `count`."""
    found: list[Item] = []
    for seed in range(6):
        rng = random.Random(f"{family} {seed}")
        material = draw_material(find_template(family), rng)
        while len(found) < count:
            try:
                request = Request(options=3, used=found)
                found.append(KINDS["locate-short"].make(material, request, rng))
            except UnprovableError:
                break
    return found


@pytest.fixture(scope="module")
def items() -> list[Item]:
    """Up to two of each family."""
    found = [item for family in FAMILIES for item in made_of(family, 2)]
    assert len(found) > 5
    return found


def test_items_as_made_are_right(items: list[Item], verifier: Verifier) -> None:
    """They verify without a finding and break no rule of writing."""
    for item in items:
        assert verifier.verify(item) == ()
        assert not [r for r in lint_item(item) if "error" in str(r)]


TAPPED = """
format: 1
name: tapped
title: Two batteries with a tap
system: 24
parts:
  GB1: {kind: battery, emf_volts: 12.65}
  GB2: {kind: battery, emf_volts: 12.65}
  F1: {kind: fuse, amps: 10}
  F2: {kind: fuse, amps: 5}
  S1: {kind: switch, pins: ["1", "2"], positions: {off: [], on: ["1-2"]}}
  S2: {kind: switch, pins: ["1", "2"], positions: {off: [], on: ["1-2"]}}
  E1: {kind: lamp, watts: 70, volts: 28, name: work lamp}
  E2: {kind: lamp, watts: 21, volts: 13.5, name: cab lamp}
  G1: {kind: ground}
wires:
  W1: {from: GB1.-, to: G1, colour: BK, mm2: 16, metres: 1}
  W2: {from: GB1.+, to: GB2.-, colour: RD, mm2: 16, metres: 0.5}
  W3: {from: GB2.+, to: F1.1, colour: RD, mm2: 1.5, metres: 1}
  W4: {from: F1.2, to: S1.1, colour: RD, mm2: 1.5, metres: 1}
  W5: {from: S1.2, to: E1.1, colour: OG, mm2: 1.5, metres: 2}
  W6: {from: E1.2, to: G1, colour: BK, mm2: 1.5, metres: 1}
  W7: {from: GB1.+, to: F2.1, colour: RDYE, mm2: 1, metres: 1}
  W8: {from: F2.2, to: S2.1, colour: RDYE, mm2: 1, metres: 1}
  W9: {from: S2.2, to: E2.1, colour: WH, mm2: 1, metres: 2}
  W10: {from: E2.2, to: G1, colour: BK, mm2: 1, metres: 1}
"""


def test_two_batteries_are_told_as_two(tmp_path: Path) -> None:
    """Both are isolated for the ohmmeter, and the sentence is in the plural."""
    file = tmp_path / "tapped.yaml"
    file.write_text(TAPPED, encoding="utf-8")
    stems = [" ".join(item.stem) for item in made_of(str(file), 6)]
    measured = [stem for stem in stems if "isolate" in stem]
    assert measured
    assert all("isolate the batteries GB1 and GB2" in stem for stem in measured)


def test_both_stories_are_told(items: list[Item]) -> None:
    """A fuse that blows, and a load that works unbidden."""
    assert {bool(item.proof.observed) for item in items} == {True, False}


def test_what_starts_unbidden_is_off_its_wires(items: list[Item]) -> None:
    """Only lamps stay connected while somebody works on the machine."""
    for item in (i for i in items if i.proof.observed):
        for reading in item.readings:
            if reading.instrument == "voltmeter":
                assert reading.red[0] == reading.black[0] in "EP"
            else:
                assert reading.instrument == "test-lamp"
                assert reading.unplugged


def test_the_fuse_is_out_and_the_loads_are_off(items: list[Item]) -> None:
    """Nobody puts in one fuse after the other, nor an ohmmeter on a live circuit."""
    for item in (i for i in items if not i.proof.observed):
        for reading in item.readings:
            assert any(name.startswith("F") for name in reading.removed)
            if reading.instrument == "ohmmeter":
                assert "GB1" in reading.unplugged
        assert {r.instrument for r in item.readings} <= {"ohmmeter", "test-lamp"}


def test_every_wire_is_in_one_section() -> None:
    """Sections share no point, and all that a wire joins is one of them."""
    circuit = find_template("headlamps").build({})
    found = sections(circuit)
    points = [node for section in found for node in section.nodes]
    assert len(points) == len(set(points))
    for part in circuit.parts:
        if part.kind == "wire":
            assert sum(set(part.nodes) <= section.nodes for section in found) == 1


# --- alterations ----------------------------------------------------------------------


def wrong(item: Item) -> Option:
    """A wrong option that a reading rules out."""
    return next(o for o in item.options if o.refuted_by is not None and o.refuted_by.reading >= 0)


def refuted(item: Item, **changes: object) -> Item:
    """The refutation of that option changed."""
    option = wrong(item)
    assert isinstance(option.refuted_by, Refutation)
    return with_option(item, option, refuted_by=replace(option.refuted_by, **changes))  # type: ignore[arg-type]


def reading(item: Item, **changes: object) -> Item:
    """The item with its first reading changed."""
    first, *others = item.readings
    changed = replace(first, **changes)  # type: ignore[arg-type]
    return replace(item, readings=(changed, *others))


def swapped_key(item: Item) -> Item:
    """A wrong option marked as the key, the key as wrong."""
    option = wrong(item)
    return with_option(with_option(item, item.key, is_key=False), option, is_key=True)


def figure(item: Item, **changes: object) -> Item:
    """The first figure of a wrong option changed."""
    first, *others = wrong(item).figures
    changed = replace(first, **changes)  # type: ignore[arg-type]
    return with_option(item, wrong(item), figures=(changed, *others))


ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "shown": (lambda i: reading(i, shown="9.9"), "printed: 9.9"),
    "figure of a reading": (lambda i: reading(i, volts=7.7), "its figure is 7.7"),
    "print of a lead": (lambda i: reading(i, red="Q9 terminal 1"), "lead is not on"),
    "lead": (lambda i: reading(i, red_node="Q9.1"), "Q9"),
    "state printed": (lambda i: reading(i, state="On the moon"), "does not fit"),
    "state": (lambda i: reading(i, moves=(("S99", "on"),)), "no control 'S99'"),
    "instrument": (lambda i: reading(i, instrument="voltmeter"), "cannot be verified here"),
    "no such instrument": (lambda i: reading(i, instrument="nose"), "no instrument 'nose'"),
    "fuse left in": (lambda i: reading(i, removed=()), "would blow"),
    "loads left on": (lambda i: reading(i, unplugged=("Q9",)), "no part 'Q9'"),
    "no readings": (lambda i: replace(i, readings=()), "there are 0 readings"),
    "one reading": (lambda i: replace(i, readings=i.readings[:1]), ""),
    "fault": (lambda i: with_origin(i, fault="GB1:weak:25"), "does not surely open one fuse"),
    "positions": (lambda i: with_origin(i, positions=(("S99", "on"),)), "no control 'S99'"),
    "which is the key": (swapped_key, "is not in the key's section"),
    "claim of an option": (
        lambda i: with_option(i, wrong(i), claim="between Q1.1 and Q2.1"), "no such piece of wiring"
    ),
    "half a section": (
        lambda i: with_option(i, wrong(i), claim=wrong(i).claim.rpartition(" and ")[0]),
        "no such piece of wiring",
    ),
    "text of an option": (lambda i: with_option(i, wrong(i), text="Between us"), "'Between us'"),
    "no refutation": (lambda i: with_option(i, wrong(i), refuted_by=None), "nothing is said"),
    "refuting reading": (lambda i: refuted(i, reading=99), "there is no reading 100"),
    "refuted by the fuse": (lambda i: refuted(i, reading=-1), "does not say that"),
    "what refutes": (lambda i: refuted(i, found="9.9"), "it says 9.9"),
    "what would be": (lambda i: refuted(i, instead="9.9"), "shows '9.9'"),
    "bound": (lambda i: refuted(i, low=7.7), "the low bound is 7.7"),
    "whom it refutes": (lambda i: refuted(i, claim="between A and B"), "its refutation is about"),
    "a figure": (lambda i: figure(i, value=99.9), "not 99.9"),
    "name of a figure": (lambda i: figure(i, name="Q9:open 1"), "is no figure of this item"),
    "figure printed": (
        lambda i: with_option(i, wrong(i), rationale=("There it is 77.7 V.",)), "77.7 V"
    ),
    "stem": (lambda i: replace(i, stem=("It blows.",)), "the stem does not tell"),
    "kind at fault": (lambda i: replace(i, key_kind="horn"), "it is a wire"),
}  # fmt: skip


def observed(item: Item, **changes: object) -> Item:
    """What is said of the first load that works changed."""
    first, *others = item.proof.observed
    changed = replace(first, **changes)  # type: ignore[arg-type]
    return replace(item, proof=replace(item.proof, observed=(changed, *others)))


def first_left_on(item: Item) -> Item:
    """The load stays connected in the first reading."""
    return reading(item, unplugged=())


UNBIDDEN_ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "what works": (lambda i: observed(i, part="Q9"), "no part 'Q9'"),
    "how it works": (lambda i: observed(i, level="silent"), "is said to be 'silent' unbidden"),
    "another fault": (lambda i: with_origin(i, fault="GB1:weak:50"), "is no unwanted contact"),
    "controls": (lambda i: with_origin(i, positions=(("S99", "on"),)), "no control 'S99'"),
    "load left on": (first_left_on, "a test-lamp with"),
    "instrument": (lambda i: reading(i, instrument="ohmmeter"), "cannot be verified here"),
    "lead": (lambda i: reading(i, red_node=i.readings[0].black_node), "not the two sides"),
    "stem": (lambda i: replace(i, stem=("It works.",)), "the stem does not tell"),
    "which is the key": (swapped_key, "is not in the key's section"),
    "refuted by the load": (lambda i: refuted(i, reading=-1), "stays idle"),
    "one reading": (lambda i: replace(i, readings=i.readings[:1]), ""),
}


@pytest.mark.parametrize("what", list(UNBIDDEN_ALTERED))
def test_what_was_altered_of_a_load_is_named(
    items: list[Item], what: str, verifier: Verifier
) -> None:
    """The same of an item about a load that works unbidden."""
    alter, expected = UNBIDDEN_ALTERED[what]
    item = next(i for i in items if i.proof.observed and i.readings[0].instrument == "test-lamp")
    assert_named(verifier, alter(item), expected)


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_named(
    items: list[Item], number: int, what: str, verifier: Verifier
) -> None:
    """Whatever is changed, the verifier says in a line what is wrong."""
    alter, expected = ALTERED[what]
    blown = [item for item in items if not item.proof.observed]
    assert_named(verifier, alter(blown[number % len(blown)]), expected)
