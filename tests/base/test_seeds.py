"""Draws follow from a secret and labels, and give nothing back."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.seeds import Seed

PATHS = st.lists(st.one_of(st.text(), st.integers()), max_size=4).map(tuple)


@given(st.binary(), PATHS)
def test_the_same_path_gives_the_same_numbers_each_time(secret: bytes, path: tuple) -> None:
    """A generator is made anew, not shared: two of the same purpose agree."""
    first, second = (Seed(secret).under(*path).rng() for _ in range(2))
    assert [first.random() for _ in range(3)] == [second.random() for _ in range(3)]


@given(st.binary(), PATHS, st.binary(), PATHS)
def test_another_secret_or_path_gives_other_numbers(
    one: bytes, path: tuple, other: bytes, another: tuple
) -> None:
    """Two different purposes never share their draws, however their labels are cut."""
    same = one.rstrip(b"\0") == other.rstrip(b"\0") and [*map(str, path)] == [*map(str, another)]
    seeds = Seed(one).under(*path), Seed(other).under(*another)
    assert (seeds[0].rng().random() == seeds[1].rng().random()) == same
    assert (seeds[0].token() == seeds[1].token()) == same


def test_labels_are_not_run_together() -> None:
    """("a", "bc") and ("ab", "c") are two purposes."""
    seed = Seed(b"secret")
    assert seed.under("a", "bc").token() != seed.under("ab", "c").token()


def test_a_token_is_hmac_sha_256() -> None:
    """As `printf 'token:\\0\\0\\0\\1A' | openssl dgst -sha256 -hmac Jefe` prints it."""
    assert Seed(b"Jefe").under("A").token(12) == "5d3cd3877c95"
