"""Which fault explains the complaint: made items are right, altered ones are found out."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.diagnosis.claims import claims
from quizgen.faults import parse_fault
from quizgen.items.explain_sighting import explain_key, figures_of
from quizgen.items.item import Figure, Item, Observed
from quizgen.items.kinds import KINDS
from quizgen.items.lint import lint_item
from quizgen.items.lint.remark import Remark
from quizgen.items.material import Request, draw_material
from quizgen.items.sentences import Sentences
from quizgen.items.sightings import Place, sight
from quizgen.items.verify import Verifier
from tests.items.altered import assert_named, refuted, with_option, with_origin, wrong

FAMILIES = ("push-button-relay", "starter", "wiper", "fuel-gauge", "headlamps")


def made_of(family: str, seed: int, count: int) -> list[Item]:
    """Items of one circuit, as many as it gives up to `count`."""
    rng = random.Random(f"{family} {seed}")
    material = draw_material(find_template(family), rng)
    found: list[Item] = []
    for _ in range(3 * count):
        try:
            request = Request(options=3, used=found)
            found.append(KINDS["fault-from-complaint"].make(material, request, rng))
        except UnprovableError:
            break
        if len(found) == count:
            break
    return found


@pytest.fixture(scope="module")
def items() -> list[Item]:
    """Up to two of each family."""
    found = [item for family in FAMILIES for item in made_of(family, 1, 2)]
    assert len(found) > 6
    return found


def test_items_as_made_are_right(items: list[Item], verifier: Verifier) -> None:
    """They verify without a finding, break no rule of writing, and none comes twice."""
    for item in items:
        assert verifier.verify(item) == ()
        assert not [r for r in lint_item(item) if is_error(r)]
    assert len({(i.family, i.key.claim) for i in items}) == len(items)


def is_error(remark: Remark) -> bool:
    """Not a mere warning."""
    return "error" in repr(remark).lower()


def test_every_item_tells_all_that_can_be_seen(items: list[Item]) -> None:
    """In each state every load in sight is told of, and something is not as it should be."""
    for item in items:
        circuit = find_template(item.family).build(dict(item.origin.parameters))
        states = {o.moves for o in item.proof.observed}
        for moves in states:
            told = {o.part for o in item.proof.observed if o.moves == moves}
            loads = {
                p.id for p in circuit.parts
                if p.kind in ("lamp", "led_lamp", "motor", "horn", "heater", "gauge", "solenoid")
            }  # fmt: skip
            assert loads - set(circuit.unobserved) <= told


def test_it_is_made_again_from_the_same_seed(items: list[Item]) -> None:
    """Same circuit, same draw, same item."""
    assert made_of(FAMILIES[0], 1, 1)[0] == items[0]


# --- alterations ----------------------------------------------------------------------


def observed(item: Item, change: Callable[[Observed], Observed]) -> Item:
    """The item with its first observation changed."""
    first, *others = item.proof.observed
    return replace(item, proof=replace(item.proof, observed=(change(first), *others)))


def swapped_key(item: Item) -> Item:
    """A wrong option marked as the key, the key as wrong."""
    key, option = item.key, wrong(item)
    marked = with_option(with_option(item, key, is_key=False), option, is_key=True)
    return marked


def figure(item: Item, **changes: object) -> Item:
    """The first figure of a wrong option changed."""
    option = wrong(item)
    first, *others = option.figures
    changed: Figure = replace(first, **changes)  # type: ignore[arg-type]
    return with_option(item, option, figures=(changed, *others))


ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "level seen": (lambda i: observed(i, lambda o: replace(o, level="glowing")), "is said to be"),
    "who was seen": (lambda i: observed(i, lambda o: replace(o, part="F1")), "neither a load"),
    "no such part": (lambda i: observed(i, lambda o: replace(o, part="Q9")), "no part 'Q9'"),
    "state seen in": (
        lambda i: observed(i, lambda o: replace(o, moves=(("S99", "on"),))), "no control 'S99'"
    ),
    "nothing seen": (
        lambda i: replace(i, proof=replace(i.proof, observed=())), "differs from a sound machine"
    ),
    "fewer seen": (
        lambda i: replace(i, proof=replace(i.proof, observed=i.proof.observed[1:])),
        "it is not told what",
    ),
    "stem": (lambda i: replace(i, stem=("It does not work.",)), "no paragraph tells"),
    "readings": (
        lambda i: replace(
            i, proof=replace(i.proof, observed=i.proof.observed), key_kind="horn-pipe"
        ),
        "the kind of part at fault",
    ),
    "fault": (lambda i: with_origin(i, fault=wrong(i).claim), ""),
    "fault that is none": (lambda i: with_origin(i, fault="Q9:open"), "no part 'Q9'"),
    "parameters": (lambda i: with_origin(i, parameters=()), ""),
    "which is the key": (swapped_key, "the key is "),
    "text of an option": (lambda i: with_option(i, wrong(i), text="It is worn"), "'It is worn'"),
    "claim of an option": (lambda i: with_option(i, wrong(i), claim="Q9:open"), "no such fault"),
    "no refutation": (lambda i: with_option(i, wrong(i), refuted_by=None), "no observation"),
    "refutation by a reading": (lambda i: refuted(i, reading=0), "no observation"),
    "what refutes": (lambda i: refuted(i, found="glowing"), "does not tell that"),
    "who refutes": (lambda i: refuted(i, part="Q9"), "does not tell that"),
    "when it refutes": (lambda i: refuted(i, moves=(("S99", "on"),)), "does not tell that"),
    "whom it refutes": (lambda i: refuted(i, claim="Q9:open"), "its refutation is about"),
    "what would be": (lambda i: refuted(i, instead="glowing"), "is not 'glowing'"),
    "a figure": (lambda i: figure(i, value=99.9), "not 99.9"),
    "unit of a figure": (lambda i: figure(i, unit="A"), " V, not "),
    "name of a figure": (lambda i: figure(i, name="Q9 W1:open"), "is no voltage in this item"),
    "figure printed": (
        lambda i: with_option(i, wrong(i), rationale=("There it is 77.7 V.",)), "77.7 V"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_named(
    items: list[Item], number: int, what: str, verifier: Verifier
) -> None:
    """Whatever is changed, the verifier says in a line what is wrong."""
    alter, expected = ALTERED[what]
    assert_named(verifier, alter(items[number % len(items)]), expected)


def test_an_option_that_also_fits_is_found(items: list[Item], verifier: Verifier) -> None:
    """Another fault of the same series path, put in as a wrong option, is not ruled out."""
    item = next(i for i in items if i.key.claim.endswith(":open"))
    part = item.key.claim.partition(":")[0]
    if f"{part}:resistance" in [o.claim for o in item.options]:
        pytest.fail("a claim about the key's own part stands as an option")
    option = wrong(item)
    rival = with_option(
        item, option, claim=f"{part}:resistance",
        refuted_by=replace(option.refuted_by, claim=f"{part}:resistance"),  # type: ignore[type-var]
    )  # fmt: skip
    found = verifier.verify(rival)
    assert any("as well" in line for line in found), found


def test_a_breaker_that_waits_for_a_hand_is_told() -> None:
    """A short in the window opened it before: without it nobody sees why the mirrors are cold."""
    circuit = find_template("heated-window").build(
        {"other": "mirrors", "reset": "manual", "halves": 2}
    )
    states = ((("S1", "on"), ("S3", "on")), (("S1", "on"), ("S2", "on"), ("S3", "on")))
    fault = parse_fault("E2:shorted")
    sound, look = sight(circuit, states, [None, fault])
    claim = next(k for k in claims(circuit) if fault in k.members)
    place = Place(0, "E3")
    assert look.word(place) == "cold"
    told = explain_key(
        circuit, claim, place, look, figures_of(look, sound, place), "now",
        Sentences("fault_from_complaint", random.Random(1)),
    )  # fmt: skip
    assert "F2 until a hand resets it" in " ".join(told)
