"""Marks on scanned sheets: what is clear is read right, what is not goes to a person."""

from __future__ import annotations

import random

import cv2
import numpy as np
import pytest

from quizgen.forms.sheet import DIGITS, LETTERS, MINUS, RADIUS, lay_out_sheet
from quizgen.grading.marks import read_marks
from quizgen.grading.registration import UnreadableError, flatten, read_code
from quizgen.publish.sheet_svg import Bearer
from tests.grading.graded import item as a_question
from tests.grading.graded import number, option
from tests.grading.paper import STYLES, filled_in, printed, scanned
from tests.publish.test_from_items import item, numerical, ordering, several

SHEET = lay_out_sheet([item(1), several(), ordering(), numerical(), *(item(n) for n in range(20))])
BEARER = Bearer(form="A", token="ab12cd34", id="S-007", name="Ada Krol")
CONDITIONS: dict[str, dict[str, float | int]] = {
    "flat bed": {},
    "coarse": {"dpi": 100},
    "telephone": {
        "dpi": 150, "turn": 4, "skew": 0.015, "shade": 0.4, "blur": 1, "noise": 6, "jpeg": 60,
    },
    "upside down": {"turn": 180, "noise": 4},
    "pale": {"contrast": 0.6, "noise": 6},
}  # fmt: skip


@pytest.mark.parametrize("light", list(CONDITIONS))
def test_no_mark_is_misread(light: str) -> None:
    """Filled circles are filled, empty ones empty, and all others in doubt."""
    rng = random.Random(light)
    styles = list(STYLES)
    marks = {
        (row.item, row.place, rng.choice(row.targets).value): styles[i % len(styles)]
        for i, row in enumerate(SHEET.rows)
    }
    picture = scanned(filled_in(SHEET, BEARER, marks, rng), rng, **CONDITIONS[light])  # type: ignore[arg-type]
    flat = flatten(picture)
    assert read_code(flat, *SHEET.code) == BEARER.code
    for row in read_marks(flat, SHEET):
        for mark in row.marks:
            style = marks.get((row.item, row.place, mark.value), "")
            wanted = {"": "empty", "doubt": "unclear"}.get(STYLES.get(style, ""), "filled")
            assert mark.state == wanted, (row.item, mark, style)
        assert bool(row.doubt) == any(m.state == "unclear" for m in row.marks)


def test_two_filled_circles_are_in_doubt_unless_many_may_be() -> None:
    """Question 1 takes one answer, question 2 any number."""
    marks = {(n, 0, v): "filled" for n in (1, 2) for v in "BC"}
    rows = read_marks(flatten(filled_in(SHEET, BEARER, marks, random.Random(1))), SHEET)
    assert rows[0].doubt == "B and C are filled"
    assert rows[1].doubt == ""
    assert rows[1].answer == ("B", "C")


def test_a_filled_circle_with_a_cross_over_it_is_in_doubt() -> None:
    """Somebody took it back without an eraser; where many may be filled nothing else tells."""
    marks = {(2, 0, v): "filled" for v in "BC"}
    picture = filled_in(SHEET, BEARER, marks, random.Random(1))
    at = next(t for row, t in SHEET.targets if row.item == 2 and t.value == "C")
    per_mm = picture.shape[1] / SHEET.paper.width
    for lean in (-1, 1):
        ends = [
            (round((at.x + side * 2.4) * per_mm), round((at.y + side * lean * 2.2) * per_mm))
            for side in (-1, 1)
        ]
        cv2.line(picture, *ends, 40, round(0.5 * per_mm), cv2.LINE_AA)
    row = next(r for r in read_marks(flatten(picture), SHEET) if r.item == 2)
    assert row.doubt == "C may be crossed out, or filled with a cross"


def test_every_letter_is_taken_off_as_it_is_printed() -> None:
    """All targets of an empty sheet look alike, whatever stands in them: its own printed ink."""
    eight = a_question("x", "one", [option(str(n), is_key=not n) for n in range(8)])
    sheet = lay_out_sheet([*[eight] * 8, number(), number()])
    seen = {mark.value: mark.ink for row in read_marks(flatten(printed(sheet, BEARER)), sheet)
            for mark in row.marks}  # fmt: skip
    assert set(seen) == set(LETTERS + DIGITS + MINUS)
    assert max(map(abs, seen.values())) < 0.006


def test_a_pale_stroke_over_a_minus_is_in_doubt() -> None:
    """A minus leaves less ink than a letter does, and what makes up for that is no minus."""
    picture = printed(SHEET, BEARER).copy()
    at = next(t for _, t in SHEET.targets if t.value == MINUS)
    per_mm = picture.shape[1] / SHEET.paper.width
    ends = [(round((at.x + side * 1.3) * per_mm), round((at.y - side) * per_mm))
            for side in (-1, 1)]  # fmt: skip
    cv2.line(picture, *ends, 170, round(0.35 * per_mm), cv2.LINE_AA)
    row = next(r for r in read_marks(flatten(picture), SHEET) if r.marks[0].value == MINUS)
    assert row.marks[0].state == "unclear"


def test_a_stain_over_a_circle_is_no_filling() -> None:
    """On the sheet of somebody who fills circles by half, a stain is as dark as that."""
    picture = printed(SHEET, BEARER).copy()
    per_mm = picture.shape[1] / SHEET.paper.width
    for row in SHEET.rows[-8:]:
        at = (round(row.targets[0].x * per_mm), round(row.targets[0].y * per_mm))
        half = round(0.9 * RADIUS * per_mm)
        cv2.ellipse(picture, at, (half, half), 20, 0, 180, 70, -1)
    row = SHEET.rows[-10]
    edge = row.targets[1].x + 0.9 * RADIUS
    stain = np.zeros_like(picture)
    middle = (round((edge - 14) * per_mm), round(row.targets[1].y * per_mm))
    cv2.circle(stain, middle, round(14 * per_mm), 1, -1)
    picture = np.where(stain, picture * 0.72, picture).astype(np.uint8)
    found = {(r.item, r.place): r for r in read_marks(flatten(picture), SHEET)}
    assert found[row.item, row.place].doubt
    assert all(found[r.item, r.place].answer == ("A",) for r in SHEET.rows[-8:])


def test_an_empty_sheet_has_no_marks_and_no_doubts() -> None:
    """The grey letters are no marks."""
    for row in read_marks(flatten(printed(SHEET, BEARER)), SHEET):
        assert row.answer == ()
        assert row.doubt == ""


def covered(picture: np.ndarray, corner: int) -> np.ndarray:
    """The picture with one corner under a thumb."""
    height, width = picture.shape
    changed = picture.copy()
    rows = slice(0, height // 8) if corner in (0, 1) else slice(height - height // 8, height)
    columns = slice(0, width // 6) if corner in (0, 3) else slice(width - width // 6, width)
    changed[rows, columns] = 255
    return changed


@pytest.mark.parametrize("corner", range(4))
def test_a_sheet_without_a_corner_is_refused(corner: int) -> None:
    """Nothing is guessed from three markers."""
    with pytest.raises(UnreadableError, match="one corner marker cannot"):
        flatten(covered(printed(SHEET, BEARER), corner))


def test_a_picture_of_something_else_is_refused() -> None:
    """No markers, too small, or next to no contrast."""
    rng = np.random.default_rng(3)
    with pytest.raises(UnreadableError, match="no corner marker"):
        flatten(rng.integers(0, 255, (1500, 1000), dtype=np.uint8))
    with pytest.raises(UnreadableError, match="too small"):
        flatten(np.zeros((90, 60), dtype=np.uint8))
    faded = scanned(printed(SHEET, BEARER), random.Random(1), contrast=0.15)
    with pytest.raises(UnreadableError, match=r"contrast|markers"):
        flatten(faded)
