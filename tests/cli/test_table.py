"""Tables of a terminal keep to 80 columns and stay in line, whatever stands in them."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from quizgen.cli.table import WIDTH, table

HEADS = ("student", "name", "form", "points", "")
NAMES = ["Ada Krol", "Anna " * 16, "山田太郎 김철수", "محمد الخوارزمي"]
NAMES += ["Zoe\u0301 Ångström", "Zoë 🚜"]


def shown(text: str) -> int:
    """Columns by Unicode's own tables (UAX 11), combining marks without any."""
    wide = {"W": 2, "F": 2}
    return sum(
        0
        if unicodedata.category(c) in ("Mn", "Me", "Cf")
        else wide.get(unicodedata.east_asian_width(c), 1)
        for c in text
    )


def test_names_of_any_letters_stay_in_line() -> None:
    """The column behind the names begins at one place, and no line is too wide."""
    lines = table(HEADS, [(f"S-{i}", n, "A", "3 of 5", "") for i, n in enumerate(NAMES)])
    places = {shown(line[: line.rindex("  A  ")]) for line in lines[1:]}
    assert len(places) == 1
    assert max(map(shown, lines)) <= WIDTH
    assert any("..." in line for line in lines)


@given(st.lists(st.text(max_size=120), min_size=1, max_size=4), st.integers(0, 40))
def test_a_long_text_leaves_room_for_the_others(names: list[str], most: int) -> None:
    """80 columns at most, with a long name and a remark behind it."""
    for line in table(("id", "name", "points"), [("S-1", n, "x" * most) for n in names]):
        assert shown(line) <= WIDTH
