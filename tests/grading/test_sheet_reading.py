"""Whole pages: printed, filled in, pictured, read."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest

from quizgen.forms.problem_set import ProblemSet
from quizgen.forms.sheet import lay_out_sheet
from quizgen.grading.pages import Page, Picture
from quizgen.grading.responses import Source
from quizgen.grading.settling import settle
from quizgen.grading.sheet_reading import SheetReading, read_sheet
from quizgen.publish.sheet_svg import Bearer
from tests.grading.devices import a_fate, suffer
from tests.grading.graded import number, one, several, the_set
from tests.grading.hands import a_writer, mark, write_on
from tests.grading.paper import printed

SET = the_set()
STEADY = replace(a_writer(random.Random(0)), shake=0.3)
FILLED = {1: "B", 2: "AC", 3: "CABD", 4: (" ", " ", "1", "1", "9")}


def page_of(picture: Picture) -> Page:
    """A picture as a page of a file."""
    return Page(Source(file="scan.png", digest="00", place=1), "page-1", picture)


def read(picture: Picture, problem_set: ProblemSet = SET) -> SheetReading:
    """What the reader makes of a picture."""
    found = read_sheet(page_of(picture), problem_set)
    assert found is not None
    return found


@cache
def filled(paper: str = "a4", student: str = "S-001", token: str = SET.token) -> Picture:
    """Form A with everything answered right, by a steady hand. Not to be written on."""
    sheet = lay_out_sheet(SET.forms[0].items, paper)
    picture = printed(sheet, Bearer(form="A", token=token, id=student, name="Ana Okoro")).copy()
    for row, target in sheet.targets:
        wanted = FILLED[row.item]
        here = wanted if row.many or row.item == 1 else wanted[row.place]
        if target.value in here:
            mark(picture, target, "disc", STEADY)
    picture.setflags(write=False)
    return picture


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_a_sheet_is_read_whichever_way_it_lies(paper: str, turn: int) -> None:
    """Letters, several letters, an order and a figure, on either paper."""
    reading = read(np.ascontiguousarray(np.rot90(filled(paper), turn)))
    assert reading.code == "QUIZGEN 1 abcd1234 A S-001"
    (given,) = settle([reading], {}, SET).students
    assert [r.value for r in given.responses] == [("B",), ("A", "C"), tuple("CABD"), "11.9"]
    assert {r.state for r in given.responses} == {"answered"}


def test_without_a_code_the_marks_are_read_by_every_form_that_fits() -> None:
    """Forms A and B stand alike here; a form with other circles is not offered."""
    other = replace(SET.forms[0], code="C", items=(number(), number(), several(), one()))
    more = replace(SET, forms=(*SET.forms, other))
    picture = filled().copy()
    picture[150:480, 1700:2100] = 255
    reading = read(picture, more)
    assert reading.code == ""
    assert [seen.form for seen in reading.forms] == ["A", "B"]
    assert "QR code cannot be read" in settle([reading], {}, more).doubts[0].reason


def test_a_sheet_of_another_set_is_not_read() -> None:
    """Its code is told, its marks mean nothing here."""
    reading = read(filled(token="ffff0000"))
    assert reading.forms == ()
    assert "another set (ffff0000" in settle([reading], {}, SET).doubts[0].reason


def test_circles_of_another_layout_are_noticed() -> None:
    """A code that says A on a sheet whose circles stand elsewhere, as after a set was rebuilt."""
    moved = replace(SET.forms[0], items=(number(), number(), number(), one()))
    other = replace(SET, forms=(moved, SET.forms[1]))
    reading = read(filled(), other)
    assert "circles are not where this form has them" in reading.problem
    assert reading.crops[0].what == "page"


def test_a_page_with_a_problem_is_shown_and_an_empty_one_is_not() -> None:
    """A covered corner goes to a person with a picture; the back of a sheet does not."""
    covered = filled().copy()
    covered[:400, :400] = 255
    reading = read(covered)
    assert "one corner marker cannot be seen" in reading.problem
    assert reading.crops[0].png.startswith(b"\x89PNG")
    back = np.full((2000, 1400), 240, dtype=np.uint8)
    assert read_sheet(page_of(back), SET) is None


@pytest.mark.parametrize(("gain", "lift"), [(0.15, 190), (0.05, 0)], ids=["pale", "dark"])
def test_a_sheet_too_pale_or_dark_to_read_is_no_empty_page(gain: float, lift: float) -> None:
    """What was handed in is never passed over in silence."""
    picture = (filled().astype(np.float32) * gain + lift).astype(np.uint8)
    assert read(picture).problem


@pytest.mark.parametrize("shines", [0.0, 0.1])
def test_an_empty_back_may_be_grey_and_shone_through(shines: float) -> None:
    """Uneven light, and the ink of the front at a tenth, mirrored: paper and nothing else."""
    front = filled()[:, ::-1].astype(np.float32)
    light = np.linspace(1.0, 0.5, front.shape[1], dtype=np.float32)
    back = (240 - (255 - front) * shines) * light
    assert read_sheet(page_of(back.astype(np.uint8)), SET) is None


def test_two_sheets_in_one_picture_are_not_taken_for_one() -> None:
    """Whose marks would they be?"""
    reading = read(np.hstack([filled(), filled(student="S-002")]))
    assert "more than one sheet" in reading.problem


@pytest.mark.parametrize(
    ("event", "reason"),
    [
        ("struck", "marks beside"), ("letter", "written beside"), ("ring", "marks beside"),
        ("tight ring", "marks beside"),
        ("second", "B and C are filled"), ("cross", "unclear"), ("pale", "unclear"),
        ("rest", "unclear"), ("glare", "circles of A B C cannot be seen"),
    ],
)  # fmt: skip
def test_second_thoughts_go_to_a_person(event: str, reason: str) -> None:
    """A row struck out, a letter beside it, a ring, two circles, a cross, a veil, a dot,
    a flash that wipes everything out."""
    steady = replace(a_writer(random.Random(0)), shake=0.3)
    sheet = lay_out_sheet(SET.forms[0].items)
    picture = filled().copy()
    row = sheet.rows[0]
    a, b, c = row.targets
    by = 300 / 25.4
    pixels = {t.value: (round(t.x * by), round(t.y * by)) for t in row.targets}
    if event == "struck":
        ends = [(round(x * by), round(a.y * by)) for x in (a.x - 2.5, c.x + 2.5)]
        cv2.line(picture, ends[0], ends[1], 90, 4)
    elif event == "letter":
        at = (round((c.x + 5) * by), round((c.y + 1.5) * by))
        cv2.putText(picture, "C", at, cv2.FONT_HERSHEY_SIMPLEX, 1.5, 90, 4)
    elif event in ("ring", "tight ring", "cross", "pale"):
        cv2.circle(picture, pixels["B"], round(0.9 * 2.1 * by), 255, -1)  # nothing filled
        if event == "tight ring":
            cv2.circle(picture, pixels["B"], round(1.27 * 2.1 * by), 110, 4)
        else:
            mark(picture, b, event, steady)
    elif event == "glare":
        left, right = (round((x + d) * by) for x, d in ((a.x, -4), (c.x, 4)))
        picture[round((a.y - 4) * by) : round((a.y + 4) * by), left:right] = 250
    elif event == "second":
        mark(picture, c, "disc", steady)
    else:
        cv2.circle(picture, pixels["C"], 11, 40, -1)
    (doubt,) = settle([read(picture)], {}, SET).doubts
    assert reason in doubt.reason
    assert (doubt.item, doubt.shown) == (1, (("page-1", "1"),))


def test_a_scan_in_two_tones_is_asked_about() -> None:
    """What was pale may be lost: no answer is taken unseen."""
    hard = np.where(filled() < 128, 0, 255).astype(np.uint8)
    doubts = settle([read(hard)], {}, SET).doubts
    assert len(doubts) == 4
    assert "black and white only" in doubts[0].reason
    assert [d.candidate for d in doubts] == ["B", "A C", "C A B D", "11.9"]


@pytest.mark.parametrize("seed", range(8))
def test_no_answer_is_wrong_in_silence(seed: int) -> None:
    """Hands and devices of the bench: what is decided without a person is what was meant."""
    rng = random.Random(seed)
    sheet = lay_out_sheet(SET.forms[0].items)
    picture = printed(sheet, Bearer(form="A", token=SET.token, id="S-001", name="A")).copy()
    truth = write_on(picture, sheet, a_writer(rng))
    reading = read(suffer(picture, a_fate(rng), rng))
    for response in reading.forms[0].responses if reading.forms else ():
        places = [place for place in truth.answers if place[0] == response.item]
        if response.state == "doubtful" or response.item == 4:
            continue
        meant = tuple(letter for place in sorted(places) for letter in truth.answers[place])
        assert not truth.unsure & set(places)
        assert tuple(response.value) == meant
