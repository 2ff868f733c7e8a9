"""Places of a form: what each is to be about, in which order, and where its key stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.base.seeds import Seed
from quizgen.items.item import LEVELS, Item


@dataclass(frozen=True)
class Slot:
    """Place `number` (from 1) of every form: a question of `kind` on `family`.

    It stands for `topic` at `level` of the blueprint; `turn` counts the family's slots from 0.
    """

    number: int
    family: str
    kind: str
    topic: str
    level: str
    turn: int = 0


@dataclass(frozen=True)
class Wanted:
    """A slot before it has a place."""

    family: str
    kind: str
    topic: str
    level: str


def in_order(wanted: Sequence[Wanted], seed: Seed) -> tuple[Slot, ...]:
    """The slots of a form: the easier levels first, no family twice in a row where it can be."""
    rng = seed.under("order").rng()
    left = sorted(wanted, key=lambda w: (w.family, w.kind, w.topic))
    rng.shuffle(left)
    turns: dict[str, int] = {}
    slots: list[Slot] = []
    for level in LEVELS:
        here = [w for w in left if w.level == level]
        while here:
            before = slots[-1].family if slots else ""
            crowd = {w.family: sum(v.family == w.family for v in here) for w in here}
            # the family with most questions left goes first, or it would be left over at the end
            here.sort(key=lambda w: (w.family == before, -crowd[w.family]))
            w = here.pop(0)
            turns[w.family] = turns.get(w.family, -1) + 1
            turn = turns[w.family]
            slots.append(Slot(len(slots) + 1, w.family, w.kind, w.topic, w.level, turn))
    return tuple(slots)


def key_places(items: Sequence[Item], seed: Seed) -> tuple[int, ...]:
    """Where the key of each item is to stand, in a drawn order.

    Among the items with as many options each place is used as often as can be: if all were
    thrown together, the last of four would make up for those that have three, and be a good
    guess. Items that have no single key, or options in their natural order, keep their place;
    the others make up for it.
    """
    rng = seed.under("key places").rng()
    places = [_fixed(item) for item in items]
    used = Counter((len(i.options), place) for i, place in zip(items, places, strict=True))
    in_all = Counter(places)
    free = [i for i, item in enumerate(items) if movable(item)]
    rng.shuffle(free)
    for i in sorted(free, key=lambda i: len(items[i].options)):
        options = len(items[i].options)
        room = list(range(options))
        rng.shuffle(room)
        places[i] = min(room, key=lambda place: (used[options, place], in_all[place]))
        used[options, places[i]] += 1
        in_all[places[i]] += 1
    return tuple(max(place, 0) for place in places)


def movable(item: Item) -> bool:
    """True if the key may be put anywhere among the options."""
    return item.response == "one" and not item.in_natural_order


def _fixed(item: Item) -> int:
    """The place of a key that cannot be moved; −1 for one that can, or where there is none."""
    if item.response != "one" or movable(item):
        return -1
    return item.options.index(item.key)
