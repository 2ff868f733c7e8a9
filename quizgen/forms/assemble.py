"""A plan to forms of proved items: cells to slots, slots to candidates, candidates to forms.

The slots of a plan are filled in waves. Those of one wave share neither kind nor circuit family
and do not need each other, so a `Runner` may have them made at the same time; each wave knows
the items of the waves before it, and keeps away from what they asked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.base.spread import Here, Runner
from quizgen.forms.blueprint import Pair, allot
from quizgen.forms.candidates import TRIES, Filled, Order, Workshop, fill_order
from quizgen.forms.plan import Plan
from quizgen.forms.problem_set import Form
from quizgen.forms.select import select
from quizgen.forms.slots import Slot, key_places, movable
from quizgen.items.item import Item

# circuits drawn for an item: few at first, since most pairs of kind and circuit either give one
# soon or never; where a plan cannot be met without the pairs that gave none, many
PATIENCE = (8, TRIES)
MOST_CANDIDATES = 6  # for one slot, however many forms there are
ENOUGH_OUTSIDE = 16  # items of a kind that miss the plan's difficulty before the kind is left out

Progress = Callable[[str], None]
Pools = dict[tuple[str, str, int], tuple[Item, ...]]
"""Items made so far, by family, kind and turn of the slot."""


def make_forms(
    workshop: Workshop, codes: tuple[str, ...], progress: Progress, runner: Runner | None = None
) -> tuple[tuple[Slot, ...], tuple[Form, ...]]:
    """The slots of a plan and the forms that fill them.

    Where a family turns out to give no question of a kind, the plan is allotted anew without
    the pair. Raises UnprovableError that names the cell which cannot be met.
    """
    pools: Pools = {}
    run = runner or Here()
    barren = Barren(workshop.plan)
    try:
        hasty = replace(workshop, tries=PATIENCE[0])
        slots = _filled_slots(hasty, barren, len(codes), pools, run, progress)
    except UnprovableError:
        if any(barren.outside.values()):
            raise  # questions there are, of another difficulty: patience makes no others
        barren = Barren(workshop.plan)
        patient = replace(workshop, tries=PATIENCE[1])
        slots = _filled_slots(patient, barren, len(codes), pools, run, progress)
    pool = [pools[_place(slot)] for slot in slots]
    forms = []
    for code, items in zip(codes, select(pool, len(codes)), strict=True):
        places = key_places(items, workshop.seed.under("form", code))
        placed = tuple(with_key_at(i, p) for i, p in zip(items, places, strict=True))
        forms.append(Form(code=code, items=placed))
    return slots, tuple(forms)


def _filled_slots(
    workshop: Workshop, barren: Barren, forms: int, pools: Pools, runner: Runner,
    progress: Progress,
) -> tuple[Slot, ...]:  # fmt: skip
    """Slots that all have items in `pools`; raises UnprovableError where there are none."""
    while True:
        slots = barren.allot(workshop.seed)
        failed = _fill(workshop, slots, forms, pools, runner, progress)
        if not failed:
            return slots
        barren.add(failed)


@dataclass
class Barren:
    """Pairs of family and kind that gave nothing; predicted shares of what missed the range."""

    plan: Plan
    pairs: set[Pair] = field(default_factory=set)
    outside: dict[str, list[float]] = field(default_factory=dict)  # by kind

    def add(self, failed: Mapping[Pair, Filled]) -> None:
        """A kind that misses the range on several circuits misses it on all."""
        self.pairs |= set(failed)
        for (_, kind), filled in failed.items():
            self.outside.setdefault(kind, []).extend(filled.outside)
        for kind, shares in self.outside.items():
            if len(shares) >= ENOUGH_OUTSIDE:
                self.pairs |= {(family, kind) for family in self.plan.circuits}

    def allot(self, seed: Seed) -> tuple[Slot, ...]:
        """Slots without these pairs. Raises UnprovableError that says why there are none."""
        try:
            return allot(self.plan, seed, self.pairs)
        except UnprovableError as error:
            shares = [share for some in self.outside.values() for share in some]
            if not shares:
                raise
            low, high = self.plan.difficulty
            raise UnprovableError(
                f"{error}; what was made is predicted to be answered by {min(shares):.0%} to "
                f"{max(shares):.0%}, the plan's difficulty is {low:g} to {high:g}"
            ) from None


def _place(slot: Slot) -> tuple[str, str, int]:
    return slot.family, slot.kind, slot.turn


def _fill(
    workshop: Workshop,
    slots: tuple[Slot, ...],
    forms: int,
    pools: Pools,
    runner: Runner,
    progress: Progress,
) -> dict[Pair, Filled]:
    """Candidates for every slot into `pools`; the pairs of family and kind that gave none."""
    wanted = min(forms + 1, MOST_CANDIDATES) if forms > 1 else 1
    failed: dict[Pair, Filled] = {}
    done = 0
    for wave in waves(slots):
        todo = [s for s in wave if _place(s) not in pools and (s.family, s.kind) not in failed]
        orders = [Order(workshop, slot, wanted, _kin(slot, pools)) for slot in todo]
        made: dict[int, Filled] = {}
        done += len(wave) - len(todo)
        for number, found in runner.map(fill_order, orders):
            made[number] = found
            done += 1
            progress(f"question {done} of {len(slots)}: {todo[number].kind}, {todo[number].family}")
        for number, slot in enumerate(todo):
            if made[number].items:
                pools[_place(slot)] = made[number].items
            else:
                failed[slot.family, slot.kind] = made[number]
    return failed


def waves(slots: Sequence[Slot]) -> tuple[tuple[Slot, ...], ...]:
    """Slots without kin among them, each in the first wave after its kin before it.

    Kin are slots of the same kind or the same circuit family.
    """
    last: dict[str, int] = {}
    found: list[list[Slot]] = []
    for slot in slots:
        kin = (f"kind {slot.kind}", f"family {slot.family}")
        wave = max(last.get(name, -1) for name in kin) + 1
        last.update(dict.fromkeys(kin, wave))
        if wave == len(found):
            found.append([])
        found[wave].append(slot)
    return tuple(map(tuple, found))


def _kin(slot: Slot, pools: Pools) -> tuple[Item, ...]:
    """The items made so far of the slot's kind or family."""
    return tuple(
        item
        for (family, kind, _), items in pools.items()
        for item in items
        if family == slot.family or kind == slot.kind
    )


def with_key_at(item: Item, place: int) -> Item:
    """The item with its key moved to `place`; the other options keep their order.

    An item whose options have an order of their own stays as it is.
    """
    if not movable(item):
        return item
    others = [o for o in item.options if not o.is_key]
    options = (*others[:place], item.key, *others[place:])
    return replace(item, options=options)
