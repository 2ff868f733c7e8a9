"""Items changed in one place, for tests of what the verifier says to it."""

from __future__ import annotations

from dataclasses import replace

from quizgen.items.item import Item, Option, Refutation
from quizgen.items.verify import Verifier


def with_option(item: Item, old: Option, **changes: object) -> Item:
    """The item with one option changed."""
    new = replace(old, **changes)  # type: ignore[arg-type]
    return replace(item, options=tuple(new if o == old else o for o in item.options))


def with_origin(item: Item, **changes: object) -> Item:
    """The item as if it came from another circuit, state or fault."""
    return replace(item, origin=replace(item.origin, **changes))  # type: ignore[arg-type]


def wrong(item: Item) -> Option:
    """The first wrong option."""
    return next(o for o in item.options if not o.is_key)


def swapped(item: Item) -> Item:
    """Another option marked as the key, the true one unmarked."""
    return with_option(with_option(item, wrong(item), is_key=True), item.key, is_key=False)


def refuted(item: Item, **changes: object) -> Item:
    """The first wrong option's refutation changed."""
    option = wrong(item)
    assert isinstance(option.refuted_by, Refutation)
    return with_option(item, option, refuted_by=replace(option.refuted_by, **changes))  # type: ignore[arg-type]


def turned(item: Item) -> Item:
    """The order the other way round."""
    return replace(item, order=item.order[::-1])


def assert_named(verifier: Verifier, item: Item, expected: str) -> None:
    """The verifier finds what is wrong, and says it in lines."""
    found = verifier.verify(item)
    assert found
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line]
