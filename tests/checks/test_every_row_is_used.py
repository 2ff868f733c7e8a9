"""Each published figure is checked once, or a reason is given why not."""

from __future__ import annotations

from collections import Counter

from tests.checks.published import reasons, rows, taken


def test_each_row_is_used_by_one_check() -> None:
    """None is forgotten, none is checked in two places."""
    counted = Counter(row_id for row_id, _ in taken())
    assert set(counted) == set(rows())
    assert [row_id for row_id, count in counted.items() if count > 1] == []


def test_what_is_not_used_has_a_reason() -> None:
    """And is not used."""
    assert not set(reasons()) & set(rows())
    assert all(len(reason) > 10 for reason in reasons().values())


def test_every_row_says_where_it_comes_from() -> None:
    """Source, and how the figure is known."""
    known = {"read at the source", "read on a page that quotes it", "from memory",
             "derived from read"}  # fmt: skip
    for row in rows().values():
        assert row.source, row.id
        assert row.how_known in known, row.id
