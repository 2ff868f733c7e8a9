"""Items as the generator makes them, a few from each family, for tests to look at."""

from __future__ import annotations

import random
from collections.abc import Iterator

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import Template, find_template
from quizgen.diagnosis.dictionary import build_dictionary
from quizgen.forms.assemble import working_states
from quizgen.items.fault_from_readings import Scene, make_item
from quizgen.items.item import Item, Origin

FAMILIES = ("blower-pack", "ground-switched-lamps", "push-button-relay", "two-station-motor")


def complain(*said: object, **more: object) -> str:
    """What the driver says; no matter here."""
    return "It does not work."


def items_of_one_circuit(template: Template, rng: random.Random, count: int) -> Iterator[Item]:
    """Up to `count` items about one random circuit in one state."""
    parameters = template.draw(rng)
    circuit = template.build(parameters)
    states = working_states(circuit, rng)
    moves = rng.choices(states, [3.0 ** -len(m) for m in states])[0]
    points = [node for node in circuit.nodes if node != circuit.reference]
    dictionary = build_dictionary(circuit, moves, points)
    origin = Origin(
        template=template.name,
        parameters=tuple(parameters.items()),  # type: ignore[arg-type]
        positions=moves,
        fault="",
    )
    for _ in range(count):
        try:
            yield make_item(dictionary, origin, Scene(machine="A machine", complain=complain), rng)
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
