"""Stem, figure and options of a problem stand together, on pages that are well used."""

from __future__ import annotations

import dataclasses
import io
import itertools
from functools import cache

import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.circuit.template import find_template
from quizgen.diagram import Drawing, lay_out
from quizgen.diagram.corner import empty_corner
from quizgen.diagram.lettering import Box
from quizgen.items.item import Origin
from quizgen.publish.circuit_figures import sound_figure
from quizgen.publish.figure import natural_size, smallest_letters
from quizgen.publish.html import workbook_html
from quizgen.publish.metrics import line_count, text_width
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.placement import HEAD, LEAD, place_all
from quizgen.publish.room import Leading, asked_height, known_height
from quizgen.publish.view import Figure, Problem, ReadingTable
from tests.publish.samples import OPTIONS, READINGS, drawing, problem, workbook

STANDARD = PageOptions()
MM = 72 / 25.4
SHAPES = [
    (70, 150, "beside"),
    (100, 180, "beside"),
    (150, 120, "below"),
    (170, 215, "first"),
    (400, 300, "below"),
]


def pages(*problems: Problem, options: PageOptions = STANDARD) -> list[pdfplumber.page.Page]:
    """The pages of a workbook with these problems."""
    html = workbook_html(workbook(*problems), options)
    return pdfplumber.open(io.BytesIO(pdf_bytes(html))).pages


def holding(sheets: list[pdfplumber.page.Page], text: str) -> list[int]:
    """Numbers of the pages that `text` stands on."""
    return [p.page_number for p in sheets if text in p.extract_text().replace("\u00a0", " ")]


@cache
def shipped(template: str) -> Figure:
    """The figure of a shipped circuit with its usual parameters."""
    return sound_figure(Origin(template=template, parameters=(), positions=(), fault=""))


@pytest.mark.parametrize(("width", "height", "kind"), SHAPES)
def test_a_figure_goes_where_it_fits(width: float, height: float, kind: str) -> None:
    """Narrow beside the text, low below it, and one that fills a page on a page of its own; a
    wide one that the page width shrinks anyway stays with its text."""
    (place,) = place_all([problem(1, drawing(width, height))], STANDARD)
    assert place.kind == kind


def test_text_stands_in_the_empty_corner_of_a_drawing() -> None:
    """A figure too wide for text beside it and too high for text above it."""
    figure = drawing(160, 212)
    fed_on_the_left = dataclasses.replace(figure, corner=((50.0, 125.0),))
    (alone,) = place_all([problem(1, figure)], STANDARD)
    (together,) = place_all([problem(1, fed_on_the_left)], STANDARD)
    assert alone.kind == "first"
    assert together.kind == "beside"
    assert together.indent > 50 * 0.97
    assert together.tail > 212 * 0.97 - 125


def test_a_circuit_fed_on_the_right_has_its_text_on_the_left() -> None:
    """The empty corner is where the drawing has it, and the figure keeps to the other edge."""
    figure = dataclasses.replace(drawing(160, 212), left_corner=((50.0, 125.0),))
    made = problem(1, figure)
    (place,) = place_all([made], STANDARD)
    assert place.kind == "beside"
    assert place.on_left
    page = pages(made)[1]
    sign = next(c for c in page.chars if c["text"] == "Ω")
    question = next(w for w in page.extract_words() if w["text"] == "Which")
    assert question["x0"] < 20 * MM
    assert sign["x0"] > page.width / 2


@pytest.mark.parametrize("left", [False, True])
@pytest.mark.parametrize("name", ["headlamps", "two-station-motor", "starter"])
def test_an_empty_corner_is_empty(name: str, left: bool) -> None:
    """No word, symbol or conductor reaches into what is called empty, and little more
    is."""
    plan = lay_out(find_template(name).build())
    for x, depth in empty_corner(plan, left=left):
        inside = [b for b in ink(plan) if (plan.width - b.left if left else b.right) > x + 1e-6]
        assert all(box.top >= min(depth, 1e6) for box in inside)
        assert not inside or min(box.top for box in inside) <= depth + 12  # a symbol with its leads


def ink(plan: Drawing) -> list[Box]:
    """Boxes of all that is drawn."""
    conductors = [Box(*map(min, zip(a, b, strict=True)), *map(max, zip(a, b, strict=True)))
                  for line in plan.lines for a, b in line.segments]  # fmt: skip
    symbols = [b for p in plan.placed for b in p.bodies]
    return [*conductors, *symbols, *(word.box for word in plan.words)]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    shapes=st.lists(st.tuples(st.floats(40, 230), st.floats(40, 260)), min_size=1, max_size=4),
    size=st.sampled_from(["a4", "letter", "a3"]),
    sentences=st.integers(1, 6),
)
def test_figures_keep_inside_the_page_with_letters_that_can_be_read(
    shapes: list[tuple[float, float]], size: str, sentences: int
) -> None:
    """Letters of 7 pt or more where the page allows it at all; never wider or higher than it."""
    options = PageOptions(size=size)
    room = options.room
    made = [
        dataclasses.replace(problem(n, drawing(*shape)), stem=problem().stem * sentences)
        for n, shape in enumerate(shapes)
    ]
    for (width, height), place in zip(shapes, place_all(made, options), strict=True):
        assert place.size is not None
        assert place.size.width <= room.width + 0.01
        assert place.size.height <= room.height + 0.01
        possible = min(1.0, room.width / width, (room.height - HEAD) / height)
        letters = smallest_letters(drawing(width, height).svg)
        least = min(7.0, letters * possible)
        assert letters * place.size.width / width >= least - 0.02


def test_neighbours_share_a_page_and_use_it() -> None:
    """Two small problems stand on one page after the cover; one alone gets a larger figure."""
    small = [problem(n, drawing(60, 100), readings=None) for n in (1, 2)]
    both = place_all(small, STANDARD)
    assert [place.fresh for place in both] == [True, False]
    assert len(pages(*small)) == 2
    (alone,) = place_all(small[:1], STANDARD)
    assert both[0].size is not None
    assert alone.size is not None
    assert alone.size.height > both[0].size.height


@pytest.mark.parametrize(("width", "height", "kind"), SHAPES)
def test_stem_figure_and_options_are_seen_together(width: float, height: float, kind: str) -> None:
    """All on one page, or the figure on the left and the text on the right of facing pages."""
    sheets = pages(problem(1, drawing(width, height)), problem(2, drawing(width, height)))
    heads, figures = holding(sheets, "Orchard sprayer"), holding(sheets, "Ω")
    asked, last = holding(sheets, "Which fault explains"), holding(sheets, OPTIONS[-1][:20])
    assert len(heads) == 2 or (kind != "first" and len(heads) == 1)
    assert heads == figures
    assert asked == last
    if kind == "first":
        assert [page % 2 for page in figures] == [0, 0]
        assert asked == [page + 1 for page in figures]
    else:
        assert asked == figures


@pytest.mark.parametrize("template", ["two-station-motor", "headlamps", "washer-pump"])
def test_text_beside_a_shipped_figure_lies_on_nothing(template: str) -> None:
    """No word of the page lies on another, nor on a line of the drawing."""
    made = problem(1, shipped(template))
    (place,) = place_all([made], STANDARD)
    assert place.kind == "beside"
    page = pages(made)[1]
    words = page.extract_words()
    for i, one in enumerate(words):
        for other in words[i + 1 :]:
            wide = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
            high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
            assert wide < 1 or high < 2, (one["text"], other["text"])
    last = max(w["bottom"] for w in words if "resistance" in w["text"])
    text = [w for w in words if w["x0"] > (16 + place.indent) * MM - 1 and w["bottom"] <= last]
    assert len(text) > 60
    for (xa, ya), (xb, yb) in drawn(page):
        for word in text:
            assert (
                max(xa, xb) < word["x0"] or min(xa, xb) > word["x1"]
                or max(ya, yb) < word["top"] or min(ya, yb) > word["bottom"]
            ), word["text"]  # fmt: skip


def drawn(page: pdfplumber.page.Page) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The straight strokes of a drawing on the page: those of wires, more than 0.6 pt wide."""
    found = []
    for mark in (*page.curves, *page.lines):
        if mark["linewidth"] < 0.6 or not mark["stroke"]:
            continue
        steps = mark["path"]
        found += [
            (a[-1], b[-1]) for a, b in itertools.pairwise(steps) if b[0] == "l" and a[0] in "ml"
        ]
    wires = [(a, b) for a, b in found if abs(a[0] - b[0]) + abs(a[1] - b[1]) > 20]
    assert len(wires) > 20
    return wires


@pytest.mark.parametrize("width", [112.0, 80.0, 50.0])
@pytest.mark.parametrize("table", [READINGS, None])
def test_the_text_is_as_high_as_was_worked_out(width: float, table: ReadingTable | None) -> None:
    """The height that decides the place is what the PDF engine makes of it, or a little more."""
    made = problem(1, drawing(width, 238), readings=table)
    made = dataclasses.replace(made, stem=made.stem * 3)
    (place,) = place_all([made], STANDARD)
    left = (16 + place.indent) * MM - 1
    words = [w for w in pages(made)[1].extract_words() if w["x0"] >= left]
    words = [w for w in words if (13 + HEAD - LEAD - 2) * MM < w["top"] < 780]
    found = (max(w["bottom"] for w in words) - min(w["top"] for w in words)) / MM
    room = STANDARD.room.width - place.indent
    worked_out = known_height(made, room, Leading()) + asked_height(made, room, Leading())
    assert found <= worked_out <= found + 9


def test_lines_are_counted_with_the_widths_of_the_shipped_font() -> None:
    """Advance widths as the font file says: a space is narrower than m, bold not narrower."""
    assert text_width("m", 10.5) > 2 * text_width(" ", 10.5)
    assert text_width("relay", 10.5, bold=True) > text_width("relay", 10.5)
    assert line_count("one", 100, 10.5) == 1
    assert line_count("word " * 40, 60, 10.5) > line_count("word " * 40, 120, 10.5)
    assert line_count("M" * 60, 40, 10.5) >= 4  # a word longer than the line is broken


def test_large_print_faces_figure_and_text() -> None:
    """The figure fills the left page and says whose it is; the text stands on the right."""
    sheets = pages(problem(1, drawing()), options=PageOptions(large_print=True))
    assert holding(sheets, "Ω") == holding(sheets, "Orchard sprayer")
    (figure,), asked = holding(sheets, "Ω"), holding(sheets, "Which fault explains")
    assert figure % 2 == 0
    assert asked[0] in (figure + 1, figure + 2)
    assert natural_size(drawing().svg).width == 150
