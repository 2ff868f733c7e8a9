"""Items as the generator makes them, a few from each family, for tests to look at."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import Template, find_template
from quizgen.items.item import Item
from quizgen.items.kind import Kind
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material

FAMILIES = ("blower-pack", "ground-switched-lamps", "push-button-relay", "two-station-motor")


def complain(*said: object) -> str:
    """What the driver says; no matter here."""
    return "It does not work."


def items_of_one_circuit(template: Template, rng: random.Random, count: int) -> Iterator[Item]:
    """Up to `count` items about one random circuit in one state."""
    material = draw_material(template, rng, machine="A machine", complain=complain)
    for _ in range(count):
        try:
            yield KINDS["fault-from-readings"].make(material, Request(), rng)
        except UnprovableError:
            continue


def items_of_family(family: str, seed: int, count: int, per_circuit: int) -> list[Item]:
    """Exactly `count` items, at most `per_circuit` of one circuit."""
    rng = random.Random(f"{family} {seed}")
    template = find_template(family)
    found: list[Item] = []
    while len(found) < count:
        found += items_of_one_circuit(template, rng, min(per_circuit, count - len(found)))
    return found


def items_of_kind(kind: Kind, families: Sequence[str], response: str) -> tuple[Item, ...]:
    """Two items of a kind from each family that gives any, answered as asked."""
    found = []
    for family in families:
        for seed in range(2):
            rng = random.Random(f"{family} {seed}")
            material = draw_material(find_template(family), rng, machine="A machine")
            request = Request(response=response, options=3 + seed)  # type: ignore[arg-type]
            try:
                found.append(kind.make(material, request, rng))
            except UnprovableError:
                continue
    return tuple(found)
