"""Pages as lines: they fit the terminal, and in plain style they read aloud in order."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.drill import telling
from quizgen.drill.page import NARROW, WIDE, Rows, Style, lines_of
from quizgen.drill.question import Question
from tests.drill.asked import ALL, PICTURE, one, several

BOXES = set("│┌┐└┘├┤┬┴┼─━┃╭╮╯╰═║▲▼●○■□")


def page_of(question: Question) -> telling.Page:
    """The question as it is put."""
    return telling.asked(question.shown, telling.practice_heading(question))


@pytest.mark.parametrize("question", ALL, ids=lambda q: q.shown.response)
@pytest.mark.parametrize("columns", [40, 60, NARROW, WIDE, 200])
def test_no_line_is_wider_than_the_terminal(question: Question, columns: int) -> None:
    """At any width from 40 columns; nothing ends in a blank."""
    for plain in (False, True):
        lines = lines_of(page_of(question), Style(columns, plain=plain))
        assert max(map(len, lines)) <= columns
        assert all(line == line.rstrip() for line in lines)


def test_the_drawing_that_fits_is_taken() -> None:
    """Wide on 120 columns, narrow on 80, words on less than it needs."""
    assert set(PICTURE.wide) <= set(lines_of([PICTURE], Style(120)))
    assert set(PICTURE.narrow) <= set(lines_of([PICTURE], Style(80)))


def test_a_diagram_is_told_in_words_when_asked_for() -> None:
    """For the ear one line says that there is one; the command tells it. Else parts and wires."""
    assert "Type diagram" in " ".join(lines_of([PICTURE], Style(80, plain=True)))
    listed = dataclasses.replace(PICTURE, lists=("F1  fuse, 10 A", "", "W1  F1.2  M1.1"))
    assert lines_of(telling.in_words(listed), Style(plain=True)) == PICTURE.spoken.splitlines()
    assert lines_of(telling.in_words(listed), Style()) == list(listed.lists)
    assert PICTURE.spoken.split()[-1] in " ".join(lines_of(telling.in_words(PICTURE), Style()))


def test_plain_pages_are_linear() -> None:
    """No drawn lines, no columns; labels stand before values, a row of a table is a sentence."""
    lines = lines_of(page_of(one()), Style(plain=True))
    text = "\n".join(lines)
    assert not set(text) & BOXES
    assert "  " not in text
    assert "Reading 1. Red lead on: K1 terminal 87. Shows: 12.2 V." in lines
    assert "A: Wire W14 is broken" in lines
    assert lines.index("A: Wire W14 is broken") > lines.index("The pump does not run.")
    assert lines_of([telling.Entry("-", "Eyes first.")], Style(plain=True)) == ["Eyes first."]


def test_a_table_keeps_its_columns_where_there_is_room() -> None:
    """Cells of a column begin in the same place."""
    lines = lines_of([one().shown.grid], Style(80))
    head = next(line for line in lines if "Red lead on" in line)
    assert {line.index("V") > head.index("Shows") for line in lines[2:]} == {True}
    assert lines[2][head.index("Shows") :].startswith("12.2 V")


def test_the_widest_column_wraps_where_there_is_not_room() -> None:
    """The others stay whole, and no word is lost; with no room at all rows become sentences."""
    long = "Ignition switch S1 on, blower switch S2 in position 3, connector X1 apart"
    wide = Rows(("Red lead on", "Machine", "Shows"), (("F3 terminal 2", long, "0.0 Ω"),))
    lines = lines_of([wide], Style(60))
    assert max(map(len, lines)) <= 60
    assert lines[1].startswith("  F3 terminal 2  Ignition switch S1")
    assert lines[1].endswith("0.0 Ω")
    assert set(long.split()) <= set(" ".join(lines).split())
    crowded = Rows(
        ("Red lead on", "Black lead on", "Shows"), (("F3 terminal 2", "G1", "0.0 Ω"),) * 2
    )
    lines = lines_of([crowded], Style(40))
    assert lines == lines_of([crowded], Style(80))  # 13, 13 and 5 columns fit
    crowded = Rows(("Red lead on", "Machine, at rest", "Black lead on", "Shows"), (("F3",) * 4,))
    assert lines_of([crowded], Style(40))[0].startswith("  - Red lead on: F3; Machine")


def test_bold_only_where_asked_for() -> None:
    """Headings alone, and no other control characters."""
    assert "\x1b" not in "".join(lines_of(page_of(one()), Style()))
    bold = [line for line in lines_of(page_of(one()), Style(bold=True)) if "\x1b" in line]
    assert len(bold) == 1


@given(st.text(st.characters(codec="utf-8", exclude_categories=["C"]), max_size=200))
def test_every_word_is_shown(text: str) -> None:
    """Wrapping loses nothing but white space."""
    lines = lines_of([telling.Para(text), telling.Entry("A", text)], Style(40))
    assert (
        "".join("".join(lines).split()) == "".join((text + "A" + text).split()) or not text.split()
    )


def test_symbols_name_what_is_in_the_figure() -> None:
    """A fuse is explained where one is drawn, and colours get their codes."""
    text = "\n".join(lines_of(telling.symbols(PICTURE), Style()))
    assert "Fuse: melts" in text
    assert "Motor: M" not in text
    assert "RD" in text
    assert lines_of(telling.symbols(several().shown.picture), Style())
