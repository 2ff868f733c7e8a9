"""From a plan to slots: which circuit family stands at which place, the same in every form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.base.seeds import Seed


@dataclass(frozen=True)
class Slot:
    """Place `number` (from 1) of every form holds an item on `family`, `turn`-th of its family."""

    number: int
    family: str
    turn: int


def make_slots(families: Sequence[str], count: int, seed: Seed) -> tuple[Slot, ...]:
    """`count` slots that share the families as evenly as can be, in a drawn order.

    No family comes twice in a row where another is left.
    """
    rng = seed.under("slots").rng()
    order = [families[i % len(families)] for i in range(count)]
    rounds = [order[i : i + len(families)] for i in range(0, count, len(families))]
    mixed: list[str] = []
    for one_round in rounds:
        rng.shuffle(one_round)
        if mixed and len(one_round) > 1 and one_round[0] == mixed[-1]:
            one_round.append(one_round.pop(0))
        mixed += one_round
    turns: dict[str, int] = {}
    slots = []
    for number, family in enumerate(mixed, 1):
        turns[family] = turns.get(family, -1) + 1
        slots.append(Slot(number, family, turns[family]))
    return tuple(slots)


def key_places(count: int, options: int, seed: Seed) -> tuple[int, ...]:
    """Where the key stands in each item: every place equally often, in a drawn order."""
    rng = seed.under("key places").rng()
    places = [i % options for i in range(count - count % options)]
    places += rng.sample(range(options), count % options)
    rng.shuffle(places)
    return tuple(places)
