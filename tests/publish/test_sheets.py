"""Answer sheets: what is described is what is printed, and a camera can find it."""

from __future__ import annotations

from itertools import combinations
from math import hypot
from pathlib import Path

import cv2
import numpy as np
import pdfplumber
import pypdfium2
import pytest
from pypdf import PdfReader

from quizgen.base.errors import UnprovableError
from quizgen.forms.sheet import CODE, MARKER, PAPERS, RADIUS, Sheet, digit_columns, lay_out_sheet
from quizgen.items.item import Item
from quizgen.publish.documents import write_sheets
from quizgen.publish.sheet_svg import Bearer
from tests.publish.samples import HEADING
from tests.publish.test_from_items import item, numerical, ordering, several

ITEMS = [item(1), several(), ordering(), numerical(), *(item(n) for n in range(14))]
BEARER = Bearer(form="B", token="ab12cd34", id="S-007", name="Marta Öberg")
DPI = 200
PER_MM = DPI / 25.4


@pytest.mark.parametrize("paper", list(PAPERS))
def test_nothing_overlaps_and_all_is_on_the_page(paper: str) -> None:
    """Targets keep apart from each other, from the markers and from the code."""
    sheet = lay_out_sheet(ITEMS, paper)
    targets = [target for _, target in sheet.targets]
    for a, b in combinations(targets, 2):
        assert hypot(a.x - b.x, a.y - b.y) > 2.5 * RADIUS
    left, top = sheet.code
    solid = [(m.x, m.y, MARKER) for m in sheet.markers] + [(left, top, CODE)]
    for t in targets:
        assert RADIUS < t.x < sheet.paper.width - RADIUS
        assert RADIUS < t.y < sheet.paper.height - RADIUS
        for x, y, side in solid:
            assert not (x - RADIUS < t.x < x + side + RADIUS and y - 3 < t.y < y + side + 3)


def test_many_questions_stand_closer() -> None:
    """Sixty, some of them orders and figures, still keep the distance that a mark needs."""
    items = [*[ordering()] * 6, numerical(), *(item(n) for n in range(53))]
    sheet = lay_out_sheet(items)
    targets = [target for _, target in sheet.targets]
    assert len({row.item for row in sheet.rows}) == 60
    assert min(hypot(a.x - b.x, a.y - b.y) for a, b in combinations(targets, 2)) > 2.5 * RADIUS
    assert max(t.x for t in targets) < sheet.paper.width - 10
    assert max(t.y for t in targets) < min(m.y for m in sheet.markers if m.y > 100) - RADIUS


def test_rows_are_what_the_answers_need() -> None:
    """A row of letters, of letters with many, a row a place, a column a digit."""
    sheet = lay_out_sheet(ITEMS)
    rows = {n: [r for r in sheet.rows if r.item == n] for n in (1, 2, 3, 4)}
    assert ["".join(t.value for t in r.targets) for r in rows[1]] == ["ABCD"]
    assert [r.many for r in rows[2]] == [True]
    assert [r.label for r in rows[3]] == ["1.", "2.", "3.", "4."]
    assert ["".join(t.value for t in r.targets) for r in rows[4]] == ["−", *["0123456789"] * 4]


def test_a_figure_gives_nothing_away() -> None:
    """Whatever the answer, there is a minus and room for three whole digits."""
    assert digit_columns(numerical()) == ("-", "d", "d", "d", ".", "d")


def test_too_many_questions_are_refused() -> None:
    """One line that says which question and what to do."""
    with pytest.raises(UnprovableError, match=r"question .* does not fit on one answer sheet"):
        lay_out_sheet([numerical()] * 30)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Sheet, np.ndarray]:
    """A printed sheet as a grey picture."""
    path = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
    sheet = lay_out_sheet(ITEMS)
    write_sheets(HEADING, [(sheet, BEARER)], path)
    picture = pypdfium2.PdfDocument(path)[0].render(scale=DPI / 72, grayscale=True).to_numpy()
    return path, sheet, np.ascontiguousarray(picture[:, :, 0] if picture.ndim == 3 else picture)


def test_the_markers_are_found_where_they_are_described(
    page: tuple[Path, Sheet, np.ndarray],
) -> None:
    """Within a fifth of a millimetre, each with its own number."""
    _, sheet, picture = page
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    corners, ids, _ = finder.detectMarkers(picture)
    found = {int(i): c[0][0] / PER_MM for c, i in zip(corners, ids.ravel(), strict=True)}
    assert set(found) == {m.id for m in sheet.markers}
    for marker in sheet.markers:
        assert found[marker.id] == pytest.approx((marker.x, marker.y), abs=0.2)


def test_the_code_says_set_form_and_student(page: tuple[Path, Sheet, np.ndarray]) -> None:
    """And nothing else."""
    _, _, picture = page
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert text == "QUIZGEN 1 ab12cd34 B S-007"


def test_circles_are_printed_where_they_are_described(page: tuple[Path, Sheet, np.ndarray]) -> None:
    """Dark on the rim, light between rim and letter."""
    _, sheet, picture = page
    for _, target in sheet.targets:
        angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        rim, inside = (
            picture[
                np.round((target.y + r * np.sin(angles)) * PER_MM - 0.5).astype(int),
                np.round((target.x + r * np.cos(angles)) * PER_MM - 0.5).astype(int),
            ].mean()
            for r in (RADIUS, 0.8 * RADIUS)
        )
        assert rim < 160 < inside


def test_the_page_says_whose_it_is(page: tuple[Path, Sheet, np.ndarray]) -> None:
    """Name and number can be read, on one page; a screen reader is told the rest."""
    path, _, _ = page
    reader = PdfReader(path)
    assert len(reader.pages) == 1
    text = reader.pages[0].extract_text()
    assert "Marta Öberg" in text
    assert "S-007" in text


@pytest.mark.parametrize(("name", "first", "last"), [("سعيد", "س", "د"), ("שרה", "ש", "ה")])
def test_names_that_run_to_the_left_do(tmp_path: Path, name: str, first: str, last: str) -> None:
    """By Unicode's classes R and AL (UAX 9): the first letter stands right of the last."""
    bearer = Bearer(form="A", token="ab12cd34", id="S-007", name=name)
    path = write_sheets(HEADING, [(lay_out_sheet(ITEMS), bearer)], tmp_path / "s.pdf")
    with pdfplumber.open(path) as pdf:
        at = {char["text"]: char["x0"] for char in pdf.pages[0].chars}
    assert at[first] > at[last]


def test_the_item_list_alone_decides_the_sheet() -> None:
    """Which option is the key makes no difference."""

    def keyed(key: int) -> list[Item]:
        return [item(n, key) for n in range(6)]

    assert lay_out_sheet(keyed(0)) == lay_out_sheet(keyed(3))


@pytest.mark.parametrize(
    "name",
    [
        "Wolfeschlegelsteinhausenbergerdorff-Ångström-Łączyński-Dvořák",
        "عبد الرحمن بن يوسف بن عبد العزيز بن محمد الأنصاري القرطبي",
        "שָׂרָה כהן־לוי",
        "Wilhelmina Montgomery-Warmington " * 2,
    ],
)
def test_a_long_or_foreign_name_stays_off_the_markers(tmp_path: Path, name: str) -> None:
    """Sixty characters, accents, right to left: nothing over the edge, on a marker, in the box."""
    bearer = Bearer(form="30", token="ab12cd34", id="S-007", name=name)
    sheet = lay_out_sheet(ITEMS)
    path = write_sheets(HEADING, [(sheet, bearer)], tmp_path / "s.pdf")
    with pdfplumber.open(path) as pdf:
        (page,) = pdf.pages
        form = page.search("Form 30")[0]
        beside = [
            char["text"] for char in page.chars
            if char["x1"] > form["x0"] - 3
            and char["top"] < form["bottom"] and char["bottom"] > form["top"]
        ]  # fmt: skip
        assert "".join(beside).replace(" ", "") == "Form30"
        for char in page.chars:
            assert 0 <= char["x0"] <= char["x1"] <= page.width
            for marker in sheet.markers:
                left, top, right, bottom = (
                    millimetres * 72 / 25.4
                    for millimetres in (marker.x, marker.y, marker.x + MARKER, marker.y + MARKER)
                )
                beside = char["x0"] > right or char["x1"] < left
                assert beside or char["top"] > bottom or char["bottom"] < top, char["text"]
