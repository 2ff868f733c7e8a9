"""Questions about the way of the current: right as made, and what was altered is found."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from quizgen.circuit.template import find_template, load_template
from quizgen.items.current_path import Flows
from quizgen.items.item import Figure, Item, Observed, Option
from quizgen.items.kinds import trace_path
from quizgen.items.lint import lint_item
from quizgen.items.material import Request, draw_material
from quizgen.items.sentences import wording
from quizgen.items.verify import Verifier
from quizgen.items.wrong_paths import labels, wrong_paths
from quizgen.solver import solve
from tests.cases.test_paths import FOLDER
from tests.items.altered import turned, with_option, wrong
from tests.items.made import items_of_kind

FAMILIES = (
    "blower-pack", "ground-switched-lamps", "push-button-relay", "power-seat", "washer-pump",
    "headlamps", "two-source-lamp", "starter", "wiper",
)  # fmt: skip


@cache
def made(response: str) -> tuple[Item, ...]:
    """Two items from each family that gives any."""
    return items_of_kind(trace_path.KIND, FAMILIES, response)


@cache
def verifier() -> Verifier:
    """One that remembers the circuits of all items."""
    return Verifier(remembered=24)


@pytest.mark.parametrize("response", trace_path.KIND.responses)
def test_items_as_made_are_right(response: str) -> None:
    """No finding, no breach of the rules of item writing, and few circuits give none."""
    items = made(response)
    assert len(items) >= 15
    for item in items:
        assert item.response == response
        assert verifier().verify(item) == ()
        assert not [r for r in lint_item(item) if r.severity == "error"]


def test_every_wrong_list_is_explained() -> None:
    """Each names its wrong model, which has a sentence and a name, and gives figures."""
    table = wording("misconceptions")
    wrong = [o for item in made("one") for o in item.options if not o.is_key]
    for option in wrong:
        assert option.misconception in table["sentences"]
        assert option.misconception in table["names"]
        assert option.figures
        assert len(option.rationale) == 2
    assert len({o.misconception for o in wrong}) >= 7


def test_the_longest_list_is_not_the_key_more_often_than_by_chance() -> None:
    """Missing a part makes a list short; others have to be as long as the right one."""
    items = made("one")
    longest = [len(i.key.text) > max(len(o.text) for o in i.options if not o.is_key) for i in items]
    assert sum(longest) <= len(items) / 3


def test_asked_once_is_not_asked_again() -> None:
    """With an item among those used, the next one is about another load or another state."""
    rng = random.Random(5)
    material = draw_material(find_template("push-button-relay"), rng)
    first = trace_path.make(material, Request(response="order"), rng)
    second = trace_path.make(material, Request(response="order", used=[first]), rng)
    about = [(i.proof.observed[0].part, i.origin.positions) for i in (first, second)]
    assert about[0] != about[1]


def test_wrong_models_on_a_relay() -> None:
    """By hand, for the lamp behind K1: through the coil, ending at the lamp, without F2."""
    circuit = load_template(FOLDER / "relay-and-pilot.yaml").build()
    flows = Flows(solve(circuit, [{"S1": "on"}]))
    path = flows.path("E1")
    assert path is not None
    found = {(w.misconception, w.labels) for w in wrong_paths(flows, path, ["E1", "P1"], ())}
    assert ("coil-for-contact", ("F1", "S1", "K1:coil", "E1", "G3")) in found
    assert ("one-wire", ("F2", "K1:30-87", "E1")) in found
    assert ("against-the-current", ("G3", "E1", "K1:30-87", "F2")) in found
    assert labels(path.devices) not in {way for _, way in found}


def test_a_switch_reads_otherwise_at_rest_and_in_another_position() -> None:
    """By hand: at rest both leads of the reverser's motor lie on 31; down, the leads change."""
    circuit = load_template(FOLDER / "reverser.yaml").build()
    flows = Flows(solve(circuit, [{"S1": "up"}]))
    path = flows.path("M1")
    assert path is not None
    found = {
        w.misconception: w.labels for w in wrong_paths(flows, path, ["M1"], [(("S1", "down"),)])
    }
    assert found["other-position"] == (
        "F1", "S1:30-2", "X1:2", "M1", "X1:1", "S1:1-31", "G2",
    )  # fmt: skip
    assert "coil-for-contact" not in found


def test_no_step_carries_less_than_the_load() -> None:
    """Kirchhoff: along one way the current only grows where other loads join it."""
    for family in FAMILIES:
        material = draw_material(find_template(family), random.Random(family))
        flows = Flows(material.sound)
        for observation in material.seen:
            path = flows.path(observation.load)
            if path is None:
                continue
            assert min(s.amps for s in path.steps) >= 0.97 * path.load.amps
            assert all(a.b == b.a for a, b in pairwise(path.steps))


# --- alterations ----------------------------------------------------------------------


def other_key(item: Item) -> Item:
    """A wrong option marked as the key, the true one unmarked."""
    key, other = item.key, wrong(item)
    return with_option(
        with_option(item, other, is_key=True), key, is_key=False, misconception="one-wire"
    )


def seen(item: Item, **changes: object) -> Item:
    """Something else is said of the load."""
    observed = replace(item.proof.observed[0], **changes)  # type: ignore[arg-type]
    return replace(item, proof=replace(item.proof, observed=(observed,)))


def figures(option: Option, value: float) -> tuple[Figure, ...]:
    """The first figure is another."""
    return (replace(option.figures[0], value=value), *option.figures[1:])


Alter = Callable[[Item], Item]
LISTS: dict[str, tuple[Alter, str]] = {
    "another key": (other_key, "is marked wrongly"),
    "a step too many in the key": (
        lambda i: with_option(i, i.key, claim=i.key.claim + ">G1"), "is marked wrongly"
    ),
    "text of an option": (
        lambda i: with_option(i, i.key, text=wrong(i).text + " → G1"), "which names"
    ),
    "a figure": (
        lambda i: with_option(i, i.key, figures=figures(i.key, 77.0)), "A, not 77 A"
    ),
    "a figure that is none": (
        lambda i: with_option(i, i.key, figures=(Figure(name="luck", value=1.0),)), "nobody can"
    ),
    "a figure not a number": (
        lambda i: with_option(i, i.key, figures=figures(i.key, float("nan"))), "A, not nan A"
    ),
    "a current in a sentence": (
        lambda i: with_option(i, wrong(i), rationale=("There it is 99 A.",)), "99 A is none"
    ),
    "a voltage in a sentence": (
        lambda i: with_option(i, wrong(i), rationale=("There it is 9.9 V.",)), "9.9 V is none"
    ),
    "no misconception": (
        lambda i: with_option(i, wrong(i), misconception=""), "no misconception"
    ),
    "no such part": (
        lambda i: with_option(i, wrong(i), claim=f"{wrong(i).claim}>Q9"), "no part 'Q9'"
    ),
    "no such branch": (
        lambda i: with_option(i, wrong(i), claim=f"{wrong(i).claim}:9-9"), "has no branch"
    ),
    "a claim of nothing": (lambda i: with_option(i, wrong(i), claim=""), "no part ''"),
    "load": (lambda i: seen(i, part="GB1"), "is no load"),
    "no such load": (lambda i: seen(i, part="Q9"), "no part 'Q9'"),
    "level": (lambda i: seen(i, level="dark"), "is said to be 'dark'"),
    "nothing seen": (
        lambda i: replace(i, proof=replace(i.proof, observed=())), "there must be one"
    ),
    "proof": (lambda i: replace(i, proof=replace(i.proof, figures=())), "does not say what"),
    "positions": (
        lambda i: replace(i, origin=replace(i.origin, positions=())), ""
    ),
    "fault": (
        lambda i: replace(i, origin=replace(i.origin, fault="G2:open")), "about a sound circuit"
    ),
    "response": (lambda i: replace(i, response="several"), "not answered by several"),
    "stem": (lambda i: replace(i, stem=("It works.",)), "the stem does not"),
    "question": (lambda i: replace(i, question="Which way?"), "the question does not name"),
    "kind of the load": (lambda i: replace(i, key_kind="fuse"), "the question is about a fuse"),
}  # fmt: skip
ORDERS: dict[str, tuple[Alter, str]] = {
    "order": (turned, "in this order"),
    "a step beside the way": (
        lambda i: with_option(i, i.options[0], claim="G1"), "is not on the way"
    ),
    "text": (lambda i: with_option(i, i.options[0], text="Fuse F99"), "which names"),
    "solution": (lambda i: replace(i, solution=()), "no worked solution"),
    "a current in the solution": (
        lambda i: replace(i, solution=("It takes 99 A.",)), "99 A is none"
    ),
    "a figure": (
        lambda i: with_option(i, i.options[0], figures=figures(i.options[0], 77.0)), "not 77 A"
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", LISTS)
def test_what_was_altered_in_a_list_is_named(what: str) -> None:
    """Whatever is changed, the verifier says so in a line."""
    alter, expected = LISTS[what]
    _found(made("one")[list(LISTS).index(what) % len(made("one"))], alter, expected)


@pytest.mark.parametrize("what", ORDERS)
def test_what_was_altered_in_an_order_is_named(what: str) -> None:
    """Whatever is changed, the verifier says so in a line."""
    alter, expected = ORDERS[what]
    _found(made("order")[list(ORDERS).index(what)], alter, expected)


def _found(item: Item, alter: Alter, expected: str) -> None:
    found = verifier().verify(alter(item))
    assert found
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line]


def test_another_state_has_another_way() -> None:
    """The motor's way up is not its way down: the item of one state is wrong in the other."""
    for item in made("one"):
        if item.family == "power-seat":
            moves = tuple((n, "rest" if n == "S2" else p) for n, p in item.origin.positions)
            altered = replace(item, origin=replace(item.origin, positions=moves))
            assert verifier().verify(altered)
            return
    raise AssertionError("no item of the reversing seat")


def test_a_load_seen_in_another_state_is_found() -> None:
    """What the stem says must hold in the state of the item."""
    item = made("one")[0]
    observed = replace(item.proof.observed[0], moves=(("S1", "off"),))
    assert isinstance(observed, Observed)
    altered = replace(item, proof=replace(item.proof, observed=(observed,)))
    assert any("in another state" in line for line in verifier().verify(altered))
