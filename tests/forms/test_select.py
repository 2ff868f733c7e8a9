"""Items to forms: one for each slot, no two alike, forms equally hard, keys spread evenly."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.forms import select as module
from quizgen.forms.assemble import with_key_at
from quizgen.forms.isomorph import isomorph
from quizgen.forms.select import select
from quizgen.forms.slots import key_places
from quizgen.items.item import Item
from tests.items.made import FAMILIES, items_of_family


@pytest.fixture(scope="module")
def pool() -> list[list[Item]]:
    """Four slots with three items each."""
    return [items_of_family(family, 5, 3, 1) for family in FAMILIES]


def test_a_form_has_one_item_of_each_slot(
    pool: list[list[Item]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the order of the slots; with three forms every item is used once."""
    monkeypatch.setattr(module, "key_is_longest", lambda item: False)
    forms = select(pool, 3)
    for form in forms:
        assert [item.family for item in form] == list(FAMILIES)
    used = Counter(item.id for form in forms for item in form)
    assert used == Counter(item.id for items in pool for item in items)


def test_forms_are_balanced(pool: list[list[Item]], monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two shares in two slots each form takes a high one and a low one."""
    share = {i.id: 0.9 if n % 2 else 0.4 for items in pool for n, i in enumerate(items)}
    monkeypatch.setattr(module, "predicted_share", lambda item: share[item.id])
    two = [items[:2] for items in pool[:2]]
    for form in select(two, 2):
        assert sum(share[item.id] for item in form) == pytest.approx(1.3)


def test_the_longest_option_is_not_the_key_too_often(
    pool: list[list[Item]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two items in each of four slots, one with a longest key, three longest are chance."""
    longest = {items[0].id for items in pool}
    monkeypatch.setattr(module, "key_is_longest", lambda item: item.id in longest)
    share = {i.id: 0.5 if i.id in longest else 0.1 for items in pool for i in items}
    monkeypatch.setattr(module, "predicted_share", lambda item: share[item.id])
    two = [items[:2] for items in pool]
    for form in select(two, 2):
        assert sum(item.id in longest for item in form) <= 3


def test_the_same_question_never_comes_twice(pool: list[list[Item]]) -> None:
    """Two slots with the same two items: no form has one of them twice."""
    twice = [pool[0][:2], pool[0][:2]]
    for form in select(twice, 2):
        assert form[0].id != form[1].id


def test_where_all_are_alike_it_is_said() -> None:
    """One line, and what would help."""
    item = items_of_family("ground-switched-lamps", 3, 1, 1)[0]
    with pytest.raises(UnprovableError, match="too much alike"):
        select([[item], [item]], 1)


def test_names_and_wording_do_not_make_another_question(pool: list[list[Item]]) -> None:
    """The machine and the sentences may differ; another fault or another point may not."""
    item = pool[0][0]
    reworded = replace(item, id="x", machine="Another", stem=("Other words.",))
    assert isomorph(reworded) == isomorph(item)
    fewer = replace(item, readings=item.readings[1:])
    assert isomorph(fewer) != isomorph(item)
    assert isomorph(pool[0][0]) != isomorph(pool[1][0])


def test_keys_stand_everywhere_equally_often(pool: list[list[Item]]) -> None:
    """Of twelve items the counts of two places differ by one at most."""
    items = [item for some in pool for item in some]
    places = key_places(items, Seed(b"sixteen letters or more"))
    placed = [with_key_at(item, place) for item, place in zip(items, places, strict=True)]
    assert [item.options.index(item.key) for item in placed] == list(places)
    counts = Counter(places)
    assert max(counts.values()) - min(counts.values()) <= 1


def test_options_in_their_own_order_stay(pool: list[list[Item]]) -> None:
    """Figures by size are not shuffled; the key keeps its place and the plan counts with it."""
    fixed = replace(pool[0][0], in_natural_order=True)
    assert with_key_at(fixed, 3) == fixed
    places = key_places([fixed, *pool[1]], Seed(b"sixteen letters or more"))
    assert places[0] == fixed.options.index(fixed.key)
