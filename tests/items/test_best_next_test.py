"""Items that ask for the best next test: right as made, every alteration found."""

from __future__ import annotations

import pytest

from quizgen.circuit.template import find_template
from quizgen.items.act import LOOK, parse_act
from quizgen.items.item import Item
from quizgen.items.trials import in_words
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

KIND = "best-next-test"


def test_items_as_made_are_right() -> None:
    """Items of five families verify without a finding, and every family gives some."""
    made = items(KIND)
    findings = {f"{i.family} {i.origin.fault}": f for i in made if (f := found_in(i))}
    assert not findings
    assert len({i.family for i in made}) == 5


def test_the_key_tells_most_a_minute() -> None:
    """By the figures of the item itself: a third more than any other option, weighed or not."""
    for item in items(KIND):
        for name in ("bits", "even bits"):
            rates = {o.claim: figure(o, name) / figure(o, "minutes") for o in item.options}
            others = [rate for claim, rate in rates.items() if claim != item.key.claim]
            assert rates[item.key.claim] >= 1.3 * max(others) - 1e-9


def test_no_test_tells_more_than_its_outcomes() -> None:
    """Information is not below 0 nor above log2 of the number of parts (an identity)."""
    for item in items(KIND):
        parts = next(f.value for f in item.proof.figures if f.name == "parts")
        for option in item.options:
            assert figure(option, "bits") >= 0.0
            assert 2.0 ** figure(option, "even bits") <= parts + 1e-6


def test_items_on_one_circuit_hide_different_faults() -> None:
    """What an earlier item of the form hides is not hidden again."""
    hidden = [(i.family, i.origin.fault) for i in items(KIND)]
    assert len(set(hidden)) == len(hidden)


def test_a_look_goes_on_from_the_present_state() -> None:
    """Controls are only moved on, as the state depends on the way there."""
    looks = [(i, parse_act(o.claim)) for i in items(KIND) for o in i.options if LOOK in o.claim]
    for item, act in looks:
        assert act.moves[: len(item.origin.positions)] == item.origin.positions


def elsewhere(item: Item) -> Item:
    """The claim of a wrong option moved to the battery, text and figures left."""
    act = "voltmeter red=GB1.+ black=chassis"
    moves = " ".join(f"{n}={p.replace(' ', '_')}" for n, p in item.origin.positions)
    return with_option(item, wrong(item), claim=f"{act} {moves}".strip())


ALTERED: dict[str, tuple[Alter, str]] = COMMON | {
    "bits": (lambda i: with_figure(i, i.key, "bits", 0.1), "its bits: stated 0.1"),
    "even bits": (lambda i: with_figure(i, wrong(i), "even bits", 9.0), "its even bits"),
    "minutes": (lambda i: with_figure(i, wrong(i), "minutes", 9.0), "its minutes"),
    "not a number": (lambda i: with_figure(i, i.key, "bits", float("nan")), "its bits"),
    "no figures": (lambda i: with_option(i, i.key, figures=()), "its bits: stated None"),
    "place": (elsewhere, "does not say"),
    "instrument": (
        lambda i: with_option(i, wrong(i), claim="ohmmeter red=GB1/+ black=GB1/-"), "ohmmeter"
    ),
    "printed minutes": (
        lambda i: with_option(i, i.key, text=i.key.text.replace(" min)", "7 min)")), "minutes"
    ),
    "printed share": (lambda i: saying(i, i.key, "In 3 cases of 100."), "3 cases of 100"),
    "printed minutes of a rationale": (lambda i: saying(i, wrong(i), "77 min."), "77 min"),
    "printed volts": (lambda i: saying(i, i.key, "There it is 777.0 V."), "V"),
    "count of suspects": (
        lambda i: with_proof(i, figures=figures(("suspects", 1), ("parts", 1))), "the proof counts"
    ),
    "unsafe act": (
        lambda i: with_option(i, wrong(i), claim="fused-jumper red=GB1.+ black=chassis"),
        "fused-jumper",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_found(number: int, what: str) -> None:
    """Whatever in an item is changed, the verifier says so in a line."""
    alter, expected = ALTERED[what]
    made = items(KIND)
    found = found_in(alter(made[number % len(made)]))
    assert any(expected in line for line in found), found


def test_loads_that_do_the_same_have_one_clause() -> None:
    """Five lamps that all stay dark are told once, not five times."""
    circuit = find_template("ground-cluster").build()
    words = in_words(circuit, {"E1": "dark", "M1": "stopped", "E2": "dark"})
    assert words.count("stay dark") == words.count("dark") == 1
    assert words.count("; ") == 1
    assert words.endswith("M1 stands still")
