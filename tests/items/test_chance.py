"""Neither the place of a key nor its length tells more than chance (a fixed seed).

`tests/bench/bench_items.py` holds thousands of items of all kinds to the same bounds.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.circuit.template import find_template
from quizgen.forms.assemble import with_key_at
from quizgen.forms.slots import key_places
from quizgen.items.item import Item
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material
from tests.items.chance import bounds, guesses
from tests.items.test_lint import item

FAMILIES = ("horn-pair", "push-button-relay", "warning-lamp", "fuel-gauge")
QUICK = ("first-suspect", "covering-checks", "best-next-test", "fault-from-readings")
OF_A_CIRCUIT = 5  # items of each kind


@pytest.fixture(scope="module")
def quick_items() -> tuple[Item, ...]:
    """Items with three and with four options of the kinds that are quickly made."""
    made = []
    for turn, family in enumerate(FAMILIES):
        rng = random.Random(f"chance {turn} {family}")
        material = draw_material(find_template(family), rng, machine="A machine")
        for number, kind in enumerate(QUICK * OF_A_CIRCUIT):
            request = Request(options=3 + number % 2, response="one")
            try:
                made.append(KINDS[kind].item(material, request, rng))
            except UnprovableError:
                continue
    return tuple(made)


def forms(count: int) -> list[Item]:
    """The items of so many forms of twenty, keys where the forms put them; all begin at A."""
    texts = ("Wire W4 is open", "Ground G2 is open", "Switch S1 is open", "Fuse F1 is blown")
    plain = [item(*texts[: 3 + number % 2], key=0) for number in range(20)]
    found = []
    for code in range(count):
        places = key_places(plain, Seed(b"chance").under(code))
        found += [with_key_at(i, place) for i, place in zip(plain, places, strict=True)]
    return found


def unlikely(items: Sequence[Item]) -> list[str]:
    """The counts that are no chance."""
    return [str(count) for count in guesses(items) if not count.is_chance]


def test_keys_as_made_are_no_guess(quick_items: tuple[Item, ...]) -> None:
    """Places and longest keys, with three and with four options."""
    counts = guesses(quick_items)
    assert len(counts) == 3 + 1 + 4 + 1
    assert sum(count.tried for count in counts if "at A" in count.what) >= 60
    assert unlikely(quick_items) == []


def test_keys_of_a_thousand_placed_items_are_no_guess() -> None:
    """Fifty forms of twenty questions."""
    placed = forms(50)
    assert len(placed) == 1000
    assert unlikely(placed) == []


def test_a_place_that_is_preferred_is_found() -> None:
    """Every third key is moved to the first place."""
    bent = [with_key_at(i, 0) if n % 3 == 0 else i for n, i in enumerate(forms(50))]
    assert any("key at A" in text for text in unlikely(bent))


def test_keys_that_are_too_often_longest_are_found() -> None:
    """40 of 60 with three options; 20 are expected."""
    long, short = "Wire W4 is open at X3", "Wire W4 is open"
    others = ("Ground G2 is open", "Switch S1 is open")
    items = [item(long, *others, key=0)] * 40 + [item(short, *others, key=0)] * 20
    assert any("longest" in text for text in unlikely(items))


def test_bounds_are_exact() -> None:
    """Sums of binomial terms as fractions: no more than the risk beyond, more with the bound.

    1,000 throws of a four-sided die at 1 %; independent of the library's distribution.
    """
    from fractions import Fraction
    from math import comb

    low, high = bounds(1000, 0.25, 0.01)
    terms = [comb(1000, k) * 3 ** (1000 - k) for k in range(1001)]
    half = Fraction(1, 200) * 4**1000
    assert sum(terms[:low]) <= half < sum(terms[: low + 1])
    assert sum(terms[high + 1 :]) <= half < sum(terms[high:])
