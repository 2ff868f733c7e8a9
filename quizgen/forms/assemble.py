"""A plan to forms of proved items: cells to slots, slots to candidates, candidates to forms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from quizgen.forms.blueprint import Pair, allot
from quizgen.forms.candidates import Workshop
from quizgen.forms.problem_set import Form
from quizgen.forms.select import select
from quizgen.forms.slots import Slot, key_places, movable
from quizgen.items.item import Item

MOST_CANDIDATES = 6  # for one slot, however many forms there are

Progress = Callable[[str], None]


def make_forms(
    workshop: Workshop, codes: tuple[str, ...], progress: Progress
) -> tuple[tuple[Slot, ...], tuple[Form, ...]]:
    """The slots of a plan and the forms that fill them.

    Where a family turns out to give no question of a kind, the plan is allotted anew without
    the pair. Raises UnprovableError that names the cell which cannot be met.
    """
    barren: set[Pair] = set()
    pools: dict[tuple[str, str, int], list[Item]] = {}
    while True:
        slots = allot(workshop.plan, workshop.seed, barren)
        failed = _fill(workshop, slots, len(codes), pools, progress)
        if not failed:
            break
        barren |= failed
    pool = [pools[_place(slot)] for slot in slots]
    forms = []
    for code, items in zip(codes, select(pool, len(codes)), strict=True):
        places = key_places(items, workshop.seed.under("form", code))
        placed = tuple(with_key_at(i, p) for i, p in zip(items, places, strict=True))
        forms.append(Form(code=code, items=placed))
    return slots, tuple(forms)


def _place(slot: Slot) -> tuple[str, str, int]:
    return slot.family, slot.kind, slot.turn


def _fill(
    workshop: Workshop,
    slots: tuple[Slot, ...],
    forms: int,
    pools: dict[tuple[str, str, int], list[Item]],
    progress: Progress,
) -> set[Pair]:
    """Candidates for every slot into `pools`; the pairs of family and kind that gave none."""
    wanted = min(forms + 1, MOST_CANDIDATES) if forms > 1 else 1
    failed: set[Pair] = set()
    for slot in slots:
        progress(f"question {slot.number} of {len(slots)}: {slot.kind}, {slot.family}")
        if _place(slot) in pools or (slot.family, slot.kind) in failed:
            continue
        used = [item for items in pools.values() for item in items]
        found = workshop.candidates(slot, wanted, used)
        if found:
            pools[_place(slot)] = found
        else:
            failed.add((slot.family, slot.kind))
    return failed


def with_key_at(item: Item, place: int) -> Item:
    """The item with its key moved to `place`; the other options keep their order.

    An item whose options have an order of their own stays as it is.
    """
    if not movable(item):
        return item
    others = [o for o in item.options if not o.is_key]
    options = (*others[:place], item.key, *others[place:])
    return replace(item, options=options)
