"""Proved items for a slot: made, filtered, and verified by code that did not make them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import InputError, UnprovableError
from quizgen.base.seeds import Seed
from quizgen.circuit.template import find_template
from quizgen.forms.isomorph import isomorph
from quizgen.forms.plan import Plan
from quizgen.forms.slots import Slot
from quizgen.items.difficulty import predicted_share
from quizgen.items.item import Item, Moves, Response
from quizgen.items.kinds import KINDS
from quizgen.items.material import Material, Request, draw_material
from quizgen.items.verify import Verifier
from quizgen.scenario.records import Machine
from quizgen.scenario.scenario import Scenario

TRIES = 24  # circuits drawn for one item before it is given up
FRESH = 0.5  # share of these that keep away from what was asked before
MOST_OUTSIDE = 8  # items of the wrong difficulty made for one slot before it is given up


@dataclass(frozen=True)
class Filled:
    """What was made for a slot; `outside` are predicted shares that the plan's range leaves out."""

    items: tuple[Item, ...]
    outside: tuple[float, ...] = ()


@dataclass(frozen=True)
class Workshop:
    """What items are made in: nothing but records, so that another process can have it too.

    `response` is the way to answer that is asked for; None leaves it to the kind. `tries` is how
    many circuits are drawn for an item before it is given up.
    """

    plan: Plan
    scenario: Scenario
    seed: Seed
    response: Response | None = None
    tries: int = TRIES

    def candidates(self, slot: Slot, count: int, used: Sequence[Item]) -> Filled:
        """Up to `count` items for the slot, no two alike, none like one of `used`.

        Fewer if `tries` circuits in a row give no more; none at all says that the family does
        not give this kind of question, or none of the difficulty asked for.
        """
        found: list[Item] = []
        outside: list[float] = []
        seed = self.seed.under("slot", slot.number, slot.family, slot.kind)
        verifier = Verifier(remembered=2)
        for number in range(count):
            one = self._one(slot, seed.under("item", number), [*used, *found], verifier, outside)
            if one is None:
                break
            found.append(one)
        return Filled(tuple(found), tuple(outside))

    def _one(
        self, slot: Slot, seed: Seed, used: Sequence[Item], verifier: Verifier,
        outside: list[float],
    ) -> Item | None:  # fmt: skip
        known = {isomorph(item) for item in used if item.kind == slot.kind}
        low, high = self.plan.difficulty
        for attempt in range(self.tries):
            rng = seed.under("try", attempt).rng()
            request = Request(
                options=self.plan.options, response=self.response,
                used=used if attempt < FRESH * self.tries else (),
            )  # fmt: skip
            try:
                item = KINDS[slot.kind].item(self._material(slot, rng), request, rng)
            except UnprovableError:
                continue
            share = predicted_share(item)
            if not low <= share <= high:
                outside.append(share)
                if len(outside) >= MOST_OUTSIDE:
                    break
            elif not verifier.verify(item) and isomorph(item) not in known:
                return item
        return None

    def _material(self, slot: Slot, rng: random.Random) -> Material:
        """A circuit of the family, on a machine that carries it where there is one."""
        template = find_template(slot.family)
        machines = self.scenario.machines_with(template.name)
        if not machines:
            return replace(
                draw_material(template, rng, machine=template.title), template=slot.family
            )
        machine = machines[(slot.turn + rng.randrange(len(machines))) % len(machines)]
        complain = Driver(self.scenario, machine, template.name, rng)
        try:
            material = draw_material(
                template, rng, machine.settings(template.name), machine.title, complain
            )
        except InputError as error:
            raise InputError(f"scenario {self.scenario.name}, {machine.id}: {error}") from None
        return replace(material, template=slot.family)


@dataclass(frozen=True)
class Order:
    """Up to `count` items wanted for a slot, unlike those `used`. One job for a `Runner`."""

    workshop: Workshop
    slot: Slot
    count: int
    used: tuple[Item, ...] = ()


def fill_order(order: Order) -> Filled:
    """See `Workshop.candidates`."""
    return order.workshop.candidates(order.slot, order.count, order.used)


@dataclass(frozen=True)
class Driver:
    """Who brings a machine in, and says what does not work."""

    scenario: Scenario
    machine: Machine
    family: str
    rng: random.Random

    def __call__(self, part: str, name: str, does: str, instead_of: str, moves: Moves) -> str:
        return self.scenario.complaint(
            self.rng, self.machine, self.family, dict(moves),
            part=part, load=name, does=does, instead_of=instead_of,
        )  # fmt: skip
