"""Sentences, reading tables and figures before they go onto a page."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.publish.figure import fitted, grey, natural_size, smallest_letters
from quizgen.publish.page_options import Size
from quizgen.publish.readings import reading_table
from quizgen.publish.typeset import NO_BREAK, typeset


@dataclass(frozen=True)
class Shown:
    """A reading as text."""

    instrument: str
    red: str
    black: str
    state: str
    shown: str


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("12.3 V", "12.3~V"),
        ("about 25 V or 0.4 Ω", "about 25~V or 0.4~Ω"),
        ("1.5 mm² wire", "1.5~mm² wire"),
        ("2 Volts", "2 Volts"),
        ("relay K1 terminal 87a", "relay~K1 terminal~87a"),
        ("ground point G2", "ground point G2"),
        ("the pump's fuse F12", "the pump’s fuse~F12"),
        ('It says "OL".', "It says “OL”."),
        ("bell\x07 and null\x00", "bell and null"),
    ],
)
def test_units_and_numbers_keep_together(written: str, printed: str) -> None:
    """A line never ends between a number and its unit or a part word and its number."""
    assert typeset(written).replace(NO_BREAK, "~") == printed


@given(st.text())
def test_typesetting_twice_changes_nothing_more(text: str) -> None:
    """Correcting a corrected sentence leaves it as it is."""
    assert typeset(typeset(text)) == typeset(text)


def test_what_all_readings_share_is_said_once() -> None:
    """The instrument, state and black lead move above the table; lead and value stay."""
    table = reading_table(
        [
            Shown("voltmeter", "K1 terminal 30", "chassis", "ignition on", "12.3 V"),
            Shown("voltmeter", "K1 terminal 87", "chassis", "ignition on", "12.3 V"),
        ]
    )
    assert table is not None
    assert table.shared == "Voltmeter, ignition on, black lead on chassis"
    assert table.columns == ("Red lead on", "Shows")
    assert table.rows == (("K1 terminal 30", "12.3 V"), ("K1 terminal 87", "12.3 V"))


def test_what_the_stem_has_said_is_not_said_again() -> None:
    """The state of the machine stands above the table only when the stem does not tell it."""
    reading = Shown("voltmeter", "K1 terminal 30", "chassis", "Ignition switch S1 on", "12.3 V")
    silent = reading_table([reading], "Ignition switch S1 on. The pump stands still.")
    spoken = reading_table([reading], "The pump stands still.")
    assert silent is not None
    assert spoken is not None
    assert silent.shared == "Voltmeter, black lead on chassis"
    assert spoken.shared == "Voltmeter, ignition switch S1 on, black lead on chassis"


def test_what_differs_has_a_column() -> None:
    """Two states need a column of states; an empty column is left out."""
    table = reading_table(
        [
            Shown("test lamp", "M1 terminal 1", "", "switch at rest", "dark"),
            Shown("test lamp", "M1 terminal 1", "", "switch on 2", "lit bright"),
        ]
    )
    assert table is not None
    assert table.shared == "Test lamp, red lead on M1 terminal 1"
    assert table.columns == ("Machine", "Shows")
    assert table.rows[1] == ("switch on 2", "lit bright")


def test_no_readings_make_no_table() -> None:
    """A problem without readings has no empty table."""
    assert reading_table([]) is None


@pytest.mark.parametrize(
    ("head", "size"),
    [
        ('<svg width="150mm" height="10cm" viewBox="0 0 1 1">', Size(150, 100)),
        ('<svg width="72pt" height="1in">', Size(25.4, 25.4)),
        ('<svg width="96" height="96">', Size(25.4, 25.4)),  # CSS: 96 px to the inch
        ('<svg stroke-width="3" viewBox="0 0 120 80.5">', Size(120, 80.5)),
    ],
)
def test_a_figure_tells_its_size(head: str, size: Size) -> None:
    """Width and height count in their unit, else the viewBox counts in millimetres."""
    found = natural_size(head + '<rect width="5" height="5"/></svg>')
    assert (found.width, found.height) == pytest.approx((size.width, size.height))


def test_a_figure_without_a_size_is_refused() -> None:
    """A drawing that says nothing of its size is not guessed at."""
    with pytest.raises(InputError, match="neither"):
        natural_size("<svg><rect width='5' height='5'/></svg>")


def test_figures_shrink_to_fit_but_never_grow() -> None:
    """Both sides keep their ratio; a small figure stays small."""
    assert fitted(Size(340, 100), 170, 200) == Size(170, 50)
    assert fitted(Size(100, 400), 170, 200) == Size(50, 200)
    assert fitted(Size(60, 40), 170, 200) == Size(60, 40)


def test_greys_keep_lightness_order() -> None:
    """Yellow stays lighter than green, green than red, red than blue (ITU-R BT.709 weights)."""
    levels = [int(grey(c)[1:3], 16) for c in ("#ffff00", "#00ff00", "#ff0000", "#0000ff")]
    assert levels == sorted(levels, reverse=True)
    assert grey("#fff #000 #808080 url(#clip)") == "#ffffff #000000 #808080 url(#clip)"


def test_the_smallest_letters_are_found() -> None:
    """2.54 mm are 7.2 pt of 1/72 inch; a drawing without text may shrink as far as it likes."""
    svg = '<svg><text font-size="5">a</text><text font-size="2.54">b</text></svg>'
    assert smallest_letters(svg) == pytest.approx(7.2)
    assert smallest_letters("<svg/>") == float("inf")


@dataclass(frozen=True)
class Read:
    """A reading as text."""

    red: str
    shown: str
    state: str = ""
    black: str = ""
    instrument: str = "test-lamp"


def test_leads_that_never_move_are_said_once() -> None:
    """The table then shows what changes: the state and the reading."""
    rows = [Read("F2 terminal 1", "lit", "S1 on"), Read("F2 terminal 1", "dark", "S1 off")]
    table = reading_table(rows)
    assert table is not None
    assert table.shared == "Test lamp, red lead on F2 terminal 1"
    assert table.columns == ("Machine", "Shows")


def test_a_clamp_has_no_leads() -> None:
    """It goes around a wire."""
    table = reading_table([Read("around wire W8", "1.8 A", instrument="clamp-ammeter")])
    assert table is not None
    assert table.columns == ("Where", "Shows")
