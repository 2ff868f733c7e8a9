"""Fills the slots of a form with proved items."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.circuit.template import Template, find_template
from quizgen.forms.slots import Slot
from quizgen.items.item import Item, Moves
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material
from quizgen.scenario.records import Machine
from quizgen.scenario.scenario import Scenario

TRIES = 40  # circuits drawn for one slot before it is given up
OPTIONS = 4  # to a question; one fewer where a circuit is short of good wrong answers


@dataclass(frozen=True)
class Workshop:
    """What items are made in: a scenario and the secret's seed."""

    scenario: Scenario
    seed: Seed


def iterate_items(workshop: Workshop, code: str, slots: tuple[Slot, ...]) -> Iterator[Item]:
    """The items of a form one by one; no fault claim comes twice in a family."""
    used: list[Item] = []
    for slot in slots:
        seed = workshop.seed.under("form", code, "slot", slot.number)
        used.append(fill_slot(workshop.scenario, slot, seed, used))
        yield used[-1]


def fill_slot(scenario: Scenario, slot: Slot, seed: Seed, used: Sequence[Item] = ()) -> Item:
    """One proved item for a slot. Raises UnprovableError when `TRIES` circuits yield none."""
    template = _template(slot.family)
    machines = scenario.machines_with(slot.family)
    if not machines:
        raise UnprovableError(
            f"scenario {scenario.name}: no machine carries {slot.family}; add one to fleet.yaml"
        )
    for attempt in range(TRIES):
        rng = seed.under("try", attempt).rng()
        machine = machines[(slot.turn + rng.randrange(len(machines))) % len(machines)]
        try:
            options = OPTIONS if attempt < TRIES // 4 else OPTIONS - 1
            return _try(scenario, template, machine, rng, Request(options=options, used=used))
        except UnprovableError:
            continue
    raise UnprovableError(
        f"slot {slot.number}, {slot.family}: {TRIES} circuits gave no question with one answer; "
        "take another family or fewer items of this one"
    )


def _try(
    scenario: Scenario,
    template: Template,
    machine: Machine,
    rng: random.Random,
    request: Request,
) -> Item:
    def complain(part: str, load: str, does: str, instead_of: str, moves: Moves) -> str:
        return scenario.complaint(
            rng, machine, template.name, dict(moves),
            part=part, load=load, does=does, instead_of=instead_of,
        )  # fmt: skip

    material = draw_material(
        template, rng, machine.settings(template.name), machine.title, complain
    )
    return KINDS["fault-from-readings"].make(material, request, rng)


@cache
def _template(family: str) -> Template:
    return find_template(family)


def with_key_at(item: Item, place: int) -> Item:
    """The item with its key moved to `place`; the other options keep their order.

    An item of fewer options counts its places round again.
    """
    place %= len(item.options)
    others = [o for o in item.options if not o.is_key]
    options = (*others[:place], item.key, *others[place:])
    return replace(item, options=options)
