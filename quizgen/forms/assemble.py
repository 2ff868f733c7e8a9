"""Fills the slots of a form with proved items."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import Template, find_template
from quizgen.diagnosis.dictionary import build_dictionary
from quizgen.forms.slots import Slot
from quizgen.items.fault_from_readings import Scene, make_item
from quizgen.items.item import Item, Origin
from quizgen.items.stem import IDLE
from quizgen.scenario.records import Machine
from quizgen.scenario.scenario import Scenario
from quizgen.solver import solve_cases
from quizgen.solver.observation import observe, visible
from quizgen.solver.operating_point import Moves

TRIES = 40  # circuits drawn for one slot before it is given up
MOST_STATES = 64  # combinations of positions looked at for one circuit
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
            return _try(scenario, template, machine, rng, used, options)
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
    used: Sequence[Item],
    options: int,
) -> Item:
    parameters = template.draw(rng, machine.settings(template.name))
    circuit = template.build(parameters)
    states = working_states(circuit, rng)
    # few things switched on at a time is how a complaint is tried out
    moves = rng.choices(states, [3.0 ** -len(m) for m in states])[0]
    points = [n for n in circuit.nodes if n != circuit.reference]
    dictionary = build_dictionary(circuit, moves, points)
    origin = Origin(
        template=template.name,
        parameters=tuple((k, v) for k, v in parameters.items()),  # type: ignore[misc]
        positions=moves,
        fault="",
    )

    def complain(part: str, load: str, does: str, instead_of: str) -> str:
        return scenario.complaint(
            rng, machine, template.name, dict(moves),
            part=part, load=load, does=does, instead_of=instead_of,
        )  # fmt: skip

    scene = Scene(machine=machine.title, complain=complain)
    return make_item(dictionary, origin, scene, rng, options=options, used=used)


@cache
def _template(family: str) -> Template:
    return find_template(family)


def working_states(circuit: Circuit, rng: random.Random) -> list[Moves]:
    """Control moves after which some load that a driver can see is at work.

    Raises UnprovableError if there are none, as in a circuit that nothing switches on.
    """
    choices = [[(c.name, p) for p in c.positions] for c in circuit.controls]
    rest = circuit.rest_positions()
    combos = list(itertools.product(*choices))
    if len(combos) > MOST_STATES:
        combos = rng.sample(combos, MOST_STATES)
    states = [tuple((n, p) for n, p in combo if p != rest[n]) for combo in combos]
    solutions = solve_cases([circuit], [(0, moves) for moves in states])
    working = [
        moves
        for i, moves in enumerate(states)
        if any(o.level not in IDLE for o in visible(circuit, observe(solutions.point(i))))
    ]
    if not working:
        raise UnprovableError(f"{circuit.name}: no position of the controls sets a load to work")
    return working


def with_key_at(item: Item, place: int) -> Item:
    """The item with its key moved to `place`; the other options keep their order.

    An item of fewer options counts its places round again.
    """
    place %= len(item.options)
    others = [o for o in item.options if not o.is_key]
    options = (*others[:place], item.key, *others[place:])
    return replace(item, options=options)
