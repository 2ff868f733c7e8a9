"""Names and messages that come from strangers' files: nothing of them steers a terminal."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.legible import JOINERS, legible, spelt
from quizgen.base.suggest import suggest
from quizgen.cli.table import labelled, table, wrapped

# ECMA-48 control sequence introducer in seven and eight bits, and an override of Unicode's UAX 9
STEERING = ("\x1b[2J", "\x9b2J", "\u202eabc")


@given(st.text())
def test_what_is_legible_holds_no_control_and_no_override(text: str) -> None:
    """By Unicode's categories: no Cc, no Cf but the joiners, no line or paragraph separator."""
    for char in legible(text):
        assert unicodedata.category(char) not in ("Cc", "Zl", "Zp", "Cs")
        assert unicodedata.category(char) != "Cf" or char in JOINERS


@pytest.mark.parametrize(
    "name", ["Nalân Şener", "محمد الخوارزمي", "می\u200cخواهم", "山田太郎", "O'Brien", "Zoë 🚜"]
)
def test_names_of_many_languages_stay_as_they_are(name: str) -> None:
    """Persian is spelt with a joiner that Python calls unprintable."""
    assert legible(name) == name
    assert spelt(name) == name


def test_marks_of_direction_that_copying_brings_along_are_left_out() -> None:
    """As some spreadsheets and telephones put them around what is copied."""
    assert spelt("\ufeff\u202aAda\u00a0 Krol\u202c\u200e") == "Ada Krol"


@pytest.mark.parametrize("text", STEERING)
def test_no_table_or_hint_passes_them_on(text: str) -> None:
    """Each place that sets lines for the terminal."""
    said = "\n".join(
        [*table(("a", "b"), [(text, text)]), *wrapped(text), *labelled("a", text),
         suggest("zzzz", [text])]
    )  # fmt: skip
    assert legible(said.replace("\n", "")) == said.replace("\n", "")


def test_a_hint_is_short_whatever_the_names_are() -> None:
    """A file of one line without a separator has one column, called by all of it."""
    assert len(suggest("id", ["x" * 40_000])) < 100
