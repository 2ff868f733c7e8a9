"""The verifier finds nothing in items as made, and what was altered in items that were altered.

An altered item is wrong by construction, so what the verifier has to say is known beforehand.
"""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import quizgen
from quizgen.base.seeds import Seed
from quizgen.forms.candidates import Workshop
from quizgen.forms.plan import Plan
from quizgen.forms.slots import Slot
from quizgen.items.item import Item, Observed, Option, Reading, Refutation
from quizgen.items.verify import Verifier, verify_item
from quizgen.scenario.scenario import find_scenario
from tests.items.altered import with_option, with_origin
from tests.items.made import FAMILIES, items_of_family

PACKAGE = Path(quizgen.__file__).parent


def test_items_as_made_are_right(made: tuple[Item, ...], verifier: Verifier) -> None:
    """Twelve items from four families verify without a finding."""
    wrong = {f"{i.family} {i.origin.fault}": f for i in made if (f := verifier.verify(i))}
    assert not wrong


@pytest.mark.parametrize("family", FAMILIES)
def test_an_item_with_a_machine_and_a_driver_is_right(family: str) -> None:
    """So does an item that was made for a slot of a form, the driver's words included."""
    kind = "fault-from-readings"
    plan = Plan(
        name="week", title="", week="", scenario="brindlemere", forms=1, cells=(),
        circuits=(family,), kinds=(kind,), options=4, difficulty=(0.0, 1.0), secret="",
    )  # fmt: skip
    workshop = Workshop(plan, find_scenario("brindlemere"), Seed(b"verify"))
    (item,) = workshop.candidates(Slot(1, family, kind, "any", "interpret"), 1, ()).items
    assert item.machine
    assert verify_item(item) == ()


@pytest.mark.slow
@pytest.mark.parametrize("family", FAMILIES)
def test_two_hundred_and_forty_items_are_right(family: str) -> None:
    """Many circuits and faults: generator and verifier never disagree."""
    verifier = Verifier()
    wrong = [
        f"{item.origin}: {finding}"
        for item in items_of_family(family, 1, 60, 20)
        for finding in verifier.verify(item)
    ]
    assert not wrong, "\n".join(wrong)


def test_nothing_is_shared_with_the_writer_of_items() -> None:
    """No module that the verifier needs, however far away, is one that makes or proves items."""
    folder = PACKAGE / "items" / "verify"
    todo = [
        ".".join(p.relative_to(PACKAGE.parent).with_suffix("").parts) for p in folder.rglob("*.py")
    ]
    seen: set[str] = set()
    while todo:
        module = todo.pop()
        path = PACKAGE.parent / (module.replace(".", "/") + ".py")
        if module in seen or not path.exists():
            continue
        seen.add(module)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                todo += [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            elif isinstance(node, ast.Import):
                todo += [alias.name for alias in node.names]
    assert "quizgen.solver.operating_point" in seen  # the search does go far
    items = {m for m in seen if m.startswith("quizgen.items.")}
    shared = {m for m in items if not m.startswith("quizgen.items.verify")}
    assert shared <= {"quizgen.items.item", "quizgen.items.act"}  # what an item says
    assert not {m for m in seen if m.startswith(("quizgen.diagnosis", "quizgen.forms"))}


# --- alterations ----------------------------------------------------------------------


def with_reading(item: Item, index: int, **changes: object) -> Item:
    """The item with one reading changed."""
    readings: list[Reading] = list(item.readings)
    readings[index] = replace(readings[index], **changes)  # type: ignore[arg-type]
    return replace(item, readings=tuple(readings))


def wrong_option(item: Item) -> tuple[Option, Refutation]:
    """A wrong option that a reading refutes, and that refutation."""
    for option in item.options:
        if option.refuted_by is not None and option.refuted_by.reading >= 0:
            return option, option.refuted_by
    raise AssertionError("no option is refuted by a reading")


def with_refutation(item: Item, **changes: object) -> Item:
    """The item with a wrong option's refutation changed."""
    option, refutation = wrong_option(item)
    return with_option(item, option, refuted_by=replace(refutation, **changes))  # type: ignore[arg-type]


def swapped_key(item: Item) -> Item:
    """Another option marked as the key, the true one unmarked."""
    option, _ = wrong_option(item)
    keys = [o for o in item.options if o.is_key]
    return with_option(with_option(item, option, is_key=True), keys[0], is_key=False)


def other_voltage(item: Item) -> Item:
    """The 12 V machine as a 24 V one, or the other way round."""
    settings = dict(item.origin.parameters)
    settings["system"] = 24 if settings["system"] == 12 else 12
    return with_origin(item, parameters=tuple(settings.items()))


def other_observation(item: Item) -> Item:
    """A load that is out of order seen to work."""
    first, *others = item.proof.observed
    level = {"dark": "bright", "stopped": "turns", "silent": "sounds"}
    seen = Observed(part=first.part, level=level.get(first.level, "dark"))
    return replace(item, proof=replace(item.proof, observed=(seen, *others)))


def higher(item: Item) -> Item:
    """The first reading a volt higher, figure and print alike."""
    volts = round(item.readings[0].volts + 1.0, 1)
    return with_reading(item, 0, volts=volts, shown=f"{volts:.1f} V")


def another_figure(item: Item) -> Item:
    """A figure in a rationale that no point of the circuit has."""
    option, _ = wrong_option(item)
    return with_option(item, option, rationale=(*option.rationale, "There it is 7.7 V."))


def without_a_claim(item: Item) -> Item:
    """A proof that has lost the refutation of one claim."""
    return replace(item, proof=replace(item.proof, refutations=item.proof.refutations[1:]))


ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "reading": (higher, "reading 1, "),
    "print of a reading": (lambda i: with_reading(i, 0, shown="9.9 V"), "printed is 9.9 V"),
    "place of a lead": (
        lambda i: with_reading(i, 0, red="GB7 terminal 9"), "printed is 'GB7 terminal 9'"
    ),
    "no such point": (lambda i: with_reading(i, 0, red_node="Q9.1"), "has no point Q9.1"),
    "state of a reading": (lambda i: with_reading(i, 0, state="At rest"), "'At rest' does not say"),
    "instrument": (lambda i: with_reading(i, 0, instrument="ohmmeter"), "readings of a ohmmeter"),
    "template": (
        lambda i: replace(with_origin(i, template="no-such"), family="no-such"),
        "cannot be made again",
    ),
    "parameter": (other_voltage, "worked out anew"),  # readings of 0 V stay what they are
    "fault": (
        lambda i: with_origin(i, fault="W2:open" if i.key.claim == "W1:open" else "W1:open"),
        "; the fault put in is",
    ),
    "fault that is none": (lambda i: with_origin(i, fault="Q9:open"), "no part 'Q9'"),
    "positions": (lambda i: with_origin(i, positions=()), "reading "),
    "key's claim": (
        lambda i: with_option(i, i.key, claim="GB1:weak:50"), "the key is "
    ),
    "which is the key": (swapped_key, "the key is "),
    "two keys": (lambda i: with_option(i, wrong_option(i)[0], is_key=True), "2 options"),
    "no key": (lambda i: with_option(i, i.key, is_key=False), "0 options"),
    "claim of an option": (
        lambda i: with_option(i, wrong_option(i)[0], claim=i.key.claim), "options have the claim"
    ),
    "text of an option": (
        lambda i: with_option(i, wrong_option(i)[0], text="It is worn out"), "'It is worn out'"
    ),
    "equal texts": (
        lambda i: with_option(i, wrong_option(i)[0], text=i.key.text), "two options have the text"
    ),
    "low bound": (
        lambda i: with_refutation(i, low=wrong_option(i)[1].low - 0.03), "the low bound is"
    ),
    "high bound": (
        lambda i: with_refutation(i, high=wrong_option(i)[1].high + 0.03), "the high bound is"
    ),
    "reading that refutes": (lambda i: with_refutation(i, reading=99), "there is no reading 100"),
    "finding that refutes": (lambda i: with_refutation(i, found="9.9 V"), "it says 9.9 V"),
    "refutation of something else": (
        lambda i: with_refutation(i, claim=i.key.claim), "its refutation is about"
    ),
    "no refutation": (
        lambda i: with_option(i, wrong_option(i)[0], refuted_by=None), "nothing is said to refute"
    ),
    "observation": (other_observation, " is said to be "),
    "figure": (another_figure, "has 7.7 V"),
    "proof": (without_a_claim, "the proof passes over the sound circuit"),
    "count of claims": (
        lambda i: replace(i, proof=replace(i.proof, claims=3)), "the proof counts 3 claims"
    ),
    "margin": (lambda i: replace(i, proof=replace(i.proof, margin_volts=0.1)), "margin is 0.1 V"),
    "kind at fault": (lambda i: replace(i, key_kind="horn"), "the kind of part at fault is horn"),
    "no readings": (lambda i: replace(i, readings=()), " fits all that is told as well as the key"),
    "family": (lambda i: replace(i, family="no-such"), "the family is no-such"),
    "level": (lambda i: replace(i, level="guess"), "there is no level guess"),
    "kind": (lambda i: replace(i, kind="no-such"), "nobody can verify"),
}  # fmt: skip


@pytest.mark.parametrize(("number", "what"), list(enumerate(ALTERED)), ids=list(ALTERED))
def test_what_was_altered_is_named(
    made: tuple[Item, ...], number: int, what: str, verifier: Verifier
) -> None:
    """Whatever in an item is changed, the verifier finds it and says what is wrong, in a line."""
    alter, expected = ALTERED[what]
    item = made[number % len(made)]
    found = verifier.verify(alter(item))
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line or line.endswith(".")]


def refuted_by_sight() -> Item:
    """An item that leans on what was seen or heard: not every one does, so a few are made."""
    for seed in range(20):
        for item in items_of_family("two-station-motor", seed, 2, 1):
            if any(r.reading == -1 for r in item.proof.refutations):
                return item
    raise AssertionError("forty items and none rests on an observation")


def test_an_observation_that_no_longer_refutes_is_found(verifier: Verifier) -> None:
    """A refutation by what was seen falls when the item does not tell it."""
    item = refuted_by_sight()
    assert not verifier.verify(item)
    untold = replace(item, proof=replace(item.proof, observed=()))
    assert any("the item does not tell" in line for line in verifier.verify(untold))
