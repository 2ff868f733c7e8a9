"""Items about choosing tests and about what is certain, made once for all tests of them.

Their circuits and fault dictionaries take most of the time, so all kinds share them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.item import Figure, Item, Observed, Option
from quizgen.items.kinds import KINDS
from quizgen.items.material import Material, Request, draw_material
from quizgen.items.verify import Verifier
from tests.items.altered import with_option, wrong

FAMILIES = ("blower-pack", "fuel-gauge", "push-button-relay", "warning-lamp", "ground-cluster")
Alter = Callable[[Item], Item]


@cache
def material(family: str) -> Material:
    """A random circuit of a family."""
    rng = random.Random(f"choosing {family}")
    return draw_material(find_template(family), rng, machine="A machine")


@cache
def items(kind: str, response: str | None = None, each: int = 3) -> tuple[Item, ...]:
    """Up to so many items of each family, none about a fault that an earlier one hides."""
    found: list[Item] = []
    for family in FAMILIES:
        rng = random.Random(f"{kind} {family}")
        for _ in range(each):
            request = Request(response=response, used=tuple(found))  # type: ignore[arg-type]
            try:
                found.append(KINDS[kind].make(material(family), request, rng))
            except UnprovableError:
                break
    return tuple(found)


@cache
def verifier() -> Verifier:
    """One that remembers the circuits of all items."""
    return Verifier(remembered=8)


def with_figure(item: Item, option: Option, name: str, value: float) -> Item:
    """The item with one figure of an option changed."""
    figures = tuple(replace(f, value=value) if f.name == name else f for f in option.figures)
    return with_option(item, option, figures=figures)


def figure(option: Option, name: str) -> float:
    """A figure of an option by its name."""
    return next(f.value for f in option.figures if f.name == name)


def swapped_key(item: Item) -> Item:
    """Another option marked as the key, the true one unmarked."""
    key, other = item.key, wrong(item)
    return with_option(with_option(item, other, is_key=True), key, is_key=False, misconception="x")


def with_proof(item: Item, **changes: object) -> Item:
    """The item with its proof changed."""
    return replace(item, proof=replace(item.proof, **changes))  # type: ignore[arg-type]


def other_observation(item: Item) -> Item:
    """A load seen to do what it does not."""
    first, *others = item.proof.observed
    levels = {"dark": "bright", "stopped": "turns", "at the lower stop": "high"}
    seen = Observed(part=first.part, level=levels.get(first.level, "dark"))
    return with_proof(item, observed=(seen, *others))


def other_voltage(item: Item) -> Item:
    """The 12 V machine as a 24 V one, or the other way round."""
    settings = dict(item.origin.parameters)
    settings["system"] = 24 if settings["system"] == 12 else 12
    return replace(item, origin=replace(item.origin, parameters=tuple(settings.items())))


def with_fault(item: Item, fault: str) -> Item:
    """The item as if another fault were hidden."""
    return replace(item, origin=replace(item.origin, fault=fault))


def saying(item: Item, option: Option, sentence: str) -> Item:
    """A sentence more in a rationale."""
    return with_option(item, option, rationale=(*option.rationale, sentence))


def figures(*pairs: tuple[str, float]) -> tuple[Figure, ...]:
    """Figures without units."""
    return tuple(Figure(name=name, value=value) for name, value in pairs)


COMMON: dict[str, tuple[Alter, str]] = {
    "observation": (other_observation, " is said to be "),
    "nothing told": (lambda i: with_proof(i, observed=()), "nothing is told"),
    "hidden fault": (lambda i: with_fault(i, "GB1:weak:50"), " is said to be "),
    "no such fault": (lambda i: with_fault(i, "Q9:open"), "no part 'Q9'"),
    "kind of part": (lambda i: replace(i, key_kind="horn"), "the kind of part is horn"),
    "stem": (lambda i: replace(i, stem=("It does not work.",)), "the stem does not"),
    "which is the key": (swapped_key, "key"),
    "no misconception": (lambda i: with_option(i, wrong(i), misconception=""), "no misconception"),
    "claim that is none": (lambda i: with_option(i, i.key, claim="=,: ;"), ""),
    "claim of another part": (lambda i: with_option(i, wrong(i), claim="not:Q9"), "Q9"),
}  # fmt: skip
"""What may be altered in an item of any of these kinds, and what the verifier has to say."""


def found_in(item: Item) -> tuple[str, ...]:
    """What the verifier finds, as lines."""
    lines = verifier().verify(item)
    assert not [line for line in lines if "\n" in line]
    return lines
