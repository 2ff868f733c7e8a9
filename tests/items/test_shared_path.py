"""Questions about what fails together: right as made, and what was altered is found."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from quizgen.circuit.template import find_template, load_template
from quizgen.faults import inject, parse_fault
from quizgen.items.item import Figure, Item, Observed, Option
from quizgen.items.kinds import shared_path
from quizgen.items.lint import lint_item
from quizgen.items.material import Material, Request, draw_material
from quizgen.items.sentences import wording
from quizgen.items.sharing import Loss
from quizgen.items.verify import Verifier
from quizgen.solver import solve
from tests.cases.test_paths import FOLDER
from tests.items.altered import with_option, wrong
from tests.items.made import items_of_kind

FAMILIES = (
    "charging", "fuel-gauge", "ground-cluster", "headlamps", "intake-heater", "tail-stop-plate",
    "power-distribution", "push-button-relay", "two-station-motor",
)  # fmt: skip


@cache
def made(response: str) -> tuple[Item, ...]:
    """Two items from each family that gives any."""
    return items_of_kind(shared_path.KIND, FAMILIES, response)


@cache
def verifier() -> Verifier:
    """One that remembers the circuits of all items."""
    return Verifier(remembered=24)


@pytest.mark.parametrize("response", shared_path.KIND.responses)
def test_items_as_made_are_right(response: str) -> None:
    """No finding, and no breach of the rules of item writing."""
    items = made(response)
    assert len(items) >= 12
    for item in items:
        assert item.response == response
        assert verifier().verify(item) == ()
        assert not [r for r in lint_item(item) if r.severity == "error"]


def test_every_wrong_option_is_explained() -> None:
    """Each names its wrong model, which has a sentence and a name, and gives figures."""
    table = wording("misconceptions")
    wrong = [o for r in ("one", "several") for i in made(r) for o in i.options if not o.is_key]
    for option in wrong:
        assert option.misconception in table["sentences"]
        assert option.misconception in table["names"]
        assert option.figures
    assert len({o.misconception for o in wrong}) >= 4


def test_asked_once_is_not_asked_again() -> None:
    """With an item among those used, the next one loses another part or is in another state."""
    rng = random.Random(5)
    material = draw_material(find_template("ground-cluster"), rng)
    first = shared_path.make(material, Request(response="one"), rng)
    second = shared_path.make(material, Request(response="one", used=[first]), rng)
    assert (first.told, first.origin.positions) != (second.told, second.origin.positions)


def loss(circuit_name: str, fault: str, hit: set[str]) -> Loss:
    """A loss in a circuit of the cases, S1 on; what is hit is known by hand."""
    circuit = load_template(FOLDER / f"{circuit_name}.yaml").build()
    moves = (("S1", "on"),)
    material = Material(template=circuit_name, parameters={}, circuit=circuit, moves=moves)
    real = solve(inject(circuit, parse_fault(fault)), [dict(moves)])
    loads = tuple(o.load for o in material.seen)
    return Loss(material, parse_fault(fault), real, loads, frozenset(hit))


def test_whose_current_passes_and_who_is_hit_by_a_coil() -> None:
    """By hand: F1 carries the pilot lamp's current; E1 goes out because the coil hangs on F1."""
    found = loss("relay-and-pilot", "F1:blown", {"E1", "P1"})
    assert found.hanging == {"P1"}
    assert [relay.id for relay in found.relays] == ["K1"]
    assert found.on_feed_side
    assert (frozenset({"P1"}), "coil-forgotten") in set(found.wrong_sets())


def test_common_feed_and_common_ground_are_kept_apart() -> None:
    """By hand, with fuses and grounds crossed: F1 has E1 and E2, G2 has E1 and E3."""
    fuse = loss("crossed-loads", "F1:blown", {"E1", "E2"})
    assert fuse.hanging == {"E1", "E2"}
    assert fuse.sharing("E1", other_side=True) == {"E1", "E3"}
    assert fuse.sharing("E1", other_side=False) == {"E1", "E2"}
    ground = loss("crossed-loads", "G2:open", {"E1", "E3"})
    assert ground.hanging == {"E1", "E3"}
    assert not ground.on_feed_side
    assert ground.sharing("E1", other_side=True) == {"E1", "E2"}
    assert ground.sharing("E1", other_side=False) == {"E1", "E3"}


def test_the_joint_before_a_branch_feeds_its_neighbour() -> None:
    """By hand: W5 feeds E2 alone; the joint before it, at F1, feeds E1 as well."""
    branch = loss("crossed-loads", "W5:open", {"E2"})
    assert branch.behind_the_joint == {"E1", "E2"}
    assert (frozenset({"E1", "E2"}), "branch-for-trunk") in set(branch.wrong_sets()) or (
        frozenset({"E1", "E2"}), "feed-and-ground-mixed",
    ) in set(branch.wrong_sets())  # fmt: skip


# --- alterations ----------------------------------------------------------------------


def right(item: Item) -> Option:
    """The first right option."""
    return next(o for o in item.options if o.is_key)


def figures(option: Option, value: float) -> tuple[Figure, ...]:
    """The first figure is another."""
    return (replace(option.figures[0], value=value), *option.figures[1:])


def observed(item: Item, *seen: Observed) -> Item:
    """Something else is said to be at work."""
    return replace(item, proof=replace(item.proof, observed=seen))


def origin(item: Item, **changes: object) -> Item:
    """Another circuit, state or fault."""
    return replace(item, origin=replace(item.origin, **changes))  # type: ignore[arg-type]


Alter = Callable[[Item], Item]
ALTERED: dict[str, tuple[str, Alter, str]] = {
    "a wrong load marked": (
        "several", lambda i: with_option(i, wrong(i), is_key=True), "marked"
    ),
    "a right load not marked": (
        "several", lambda i: with_option(i, right(i), is_key=False), "marked"
    ),
    "another set is the key": (
        "one",
        lambda i: with_option(with_option(i, wrong(i), is_key=True), right(i), is_key=False),
        "is marked wrongly",
    ),
    "a set that lacks a load": (
        "one", lambda i: with_option(i, right(i), claim=i.proof.observed[0].part + ",Q9"),
        "Q9 is not at work",
    ),
    "a load twice": (
        "one", lambda i: with_option(i, wrong(i), claim=",".join([wrong(i).claim] * 2)), "twice"
    ),
    "no claim": ("one", lambda i: with_option(i, wrong(i), claim=""), "is not at work"),
    "text": ("several", lambda i: with_option(i, right(i), text="The pump M77"), "reads"),
    "text of a set": ("one", lambda i: with_option(i, right(i), text="E77"), "reads 'E77'"),
    "a figure": (
        "several", lambda i: with_option(i, right(i), figures=figures(right(i), 77.0)), "not 77 V"
    ),
    "a figure not a number": (
        "one", lambda i: with_option(i, right(i), figures=figures(right(i), float("nan"))),
        "not nan V",
    ),
    "a figure that is none": (
        "one", lambda i: with_option(i, right(i), figures=(Figure(name="x", value=1.0),)),
        "nobody can check",
    ),
    "a voltage in a sentence": (
        "several", lambda i: with_option(i, wrong(i), rationale=("It has 9.9 V.",)), "9.9 V is none"
    ),
    "a current in a sentence": (
        "several", lambda i: with_option(i, wrong(i), rationale=("It takes 9.9 A.",)), "9.9 A is"
    ),
    "no misconception": (
        "several", lambda i: with_option(i, wrong(i), misconception=""), "no misconception"
    ),
    "fault": ("one", lambda i: origin(i, fault="GB1:weak:10"), "is no feed or ground"),
    "no such part": ("one", lambda i: origin(i, fault="Q9:open"), "no part 'Q9'"),
    "no fault": ("one", lambda i: origin(i, fault=""), "write PART:MODE"),
    "another fault told": ("one", lambda i: replace(i, told=("G1:open",)), "tells its fault"),
    "positions": ("several", lambda i: origin(i, positions=()), ""),
    "less at work": ("several", lambda i: observed(i, *i.proof.observed[1:]), "at work are"),
    "level": (
        "one",
        lambda i: observed(i, replace(i.proof.observed[0], level="dark"), *i.proof.observed[1:]),
        "is said to be 'dark'",
    ),
    "stem": ("several", lambda i: replace(i, stem=("It is broken.",)), "the stem does not"),
    "proof": (
        "several", lambda i: replace(i, proof=replace(i.proof, figures=())), "the proof does not"
    ),
    "kind of the part": ("one", lambda i: replace(i, key_kind="horn"), "the kind of part is horn"),
    "response": ("one", lambda i: replace(i, response="order", order=(0, 1, 2)), "not answered"),
}  # fmt: skip


@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_is_named(what: str) -> None:
    """Whatever is changed, the verifier says so in a line."""
    response, alter, expected = ALTERED[what]
    items = [i for i in made(response) if len(i.options) == 3]
    found = verifier().verify(alter(items[list(ALTERED).index(what) % len(items)]))
    assert found
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line]
