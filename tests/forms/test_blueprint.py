"""Cells to slots: exact counts, an even spread, and one line where it cannot be."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.forms.blueprint import allot
from quizgen.forms.plan import ANY, Cell, Plan, all_topics, topics_of
from quizgen.forms.slots import Slot
from quizgen.items.item import LEVELS
from quizgen.items.kinds import KINDS

FAMILIES = ("blower-pack", "headlamps", "horn-pair", "starter")
SEED = Seed(b"sixteen letters or more")
TOPICS = all_topics(FAMILIES)


def plan_of(*cells: Cell) -> Plan:
    """A plan that allows every kind."""
    return Plan(
        name="week", title="", week="", scenario="brindlemere", forms=1, cells=cells,
        circuits=FAMILIES, kinds=tuple(KINDS), options=3, difficulty=(0.0, 1.0), secret="",
    )  # fmt: skip


def meets(slot: Slot, cell: Cell) -> bool:
    """The slot could stand for the cell."""
    topic = cell.topic in (ANY, slot.topic) and (
        cell.topic == ANY or cell.topic in topics_of(slot.family)
    )
    return topic and cell.level in (ANY, KINDS[slot.kind].level)


levels_asked = sorted({kind.level for kind in KINDS.values()}, key=LEVELS.index)
cells = st.builds(
    Cell, st.sampled_from((ANY, *TOPICS)), st.sampled_from((ANY, *levels_asked)), st.integers(1, 4)
)


@settings(max_examples=40, deadline=None)
@given(st.lists(cells, min_size=1, max_size=5, unique_by=lambda c: (c.topic, c.level)))
def test_every_cell_gets_its_count(asked: list[Cell]) -> None:
    """As many slots as asked for, numbered from 1; specific cells are met in full."""
    slots = allot(plan_of(*asked), SEED)
    assert [slot.number for slot in slots] == list(range(1, sum(c.count for c in asked) + 1))
    for cell in asked:
        assert sum(meets(slot, cell) for slot in slots) >= cell.count
    for slot in slots:
        assert any(meets(slot, cell) for cell in asked)
        assert slot.level == KINDS[slot.kind].level


def test_families_share_the_work() -> None:
    """Eight questions about anything: two on each of four families, none twice in a row."""
    slots = allot(plan_of(Cell(ANY, "interpret", 8)), SEED)
    assert set(Counter(slot.family for slot in slots).values()) == {2}
    assert all(a.family != b.family for a, b in pairwise(slots))


def test_levels_rise_through_a_form() -> None:
    """Reading the diagram comes before choosing a test."""
    slots = allot(plan_of(*(Cell(ANY, level, 2) for level in reversed(levels_asked))), SEED)
    order = [LEVELS.index(slot.level) for slot in slots]
    assert order == sorted(order)


def test_the_same_seed_gives_the_same_slots() -> None:
    """And another seed others."""
    plan = plan_of(Cell(ANY, ANY, 9))
    assert allot(plan, SEED) == allot(plan, SEED)
    assert allot(plan, SEED) != allot(plan, Seed(b"another sixteen letters"))


def test_a_topic_nobody_has_is_named() -> None:
    """None of the plan's circuits is about it."""
    with pytest.raises(UnprovableError, match=r"trailer x read.*none of its circuits is about"):
        allot(plan_of(Cell("trailer", "read", 1)), SEED)


def test_a_level_no_allowed_kind_asks_at_is_named() -> None:
    """And which kinds would help."""
    plan = replace(plan_of(Cell(ANY, "read", 1)), kinds=("fault-from-readings",))
    with pytest.raises(UnprovableError, match="no kind of question allowed asks at that level"):
        allot(plan, SEED)


def test_what_gave_nothing_is_not_asked_again() -> None:
    """A barren pair of family and kind is replaced; when all are barren the cell is named."""
    plan = replace(
        plan_of(Cell("starter", "interpret", 1)),
        circuits=("starter",), kinds=("fault-from-readings",),
    )  # fmt: skip
    with pytest.raises(UnprovableError, match="starter gave no question of fault-from-readings"):
        allot(plan, SEED, {("starter", "fault-from-readings")})
