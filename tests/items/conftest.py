"""The same few items for all tests of this folder."""

from __future__ import annotations

import pytest

from quizgen.items.item import Item
from quizgen.items.verify import Verifier
from tests.items.made import FAMILIES, items_of_family


@pytest.fixture(scope="session")
def made() -> tuple[Item, ...]:
    """Three items from each family, of three circuits."""
    return tuple(item for family in FAMILIES for item in items_of_family(family, 7, 3, 1))


@pytest.fixture(scope="session")
def verifier() -> Verifier:
    """One that remembers the circuits of all items as made."""
    return Verifier(remembered=16)
