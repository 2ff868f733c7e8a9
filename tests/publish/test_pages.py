"""What a reader meets on the printed pages, read back from the PDF."""

from __future__ import annotations

import dataclasses
import io
import logging
from collections import Counter

import pdfplumber
import pytest
from pypdf import PdfReader

from quizgen.circuit.wire_data import COLOURS
from quizgen.diagram.symbols import GLYPHS
from quizgen.publish.html import key_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.symbol_pictures import symbol_name
from quizgen.publish.view import AnswerKey, FormAnswers, Heading, Problem, ReadingTable, Workbook
from tests.publish.samples import (
    CAUTIONS,
    HEADING,
    OPTIONS,
    READINGS,
    TOPICS,
    answer,
    answer_key,
    drawing,
    problem,
    workbook,
)

STANDARD = PageOptions()
LARGE = PageOptions(large_print=True)
GREY = PageOptions(black_and_white=True)
LONG_WORD = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamter"
LONG_TITLE = (
    "Series resistance, shared grounds, relay control and reversing motors, third evening, part 2"
)
HEBREW = "שָׂרָה כהן־לוי"
ARABIC = "عبد الرحمن بن يوسف"


def pages(html: str) -> list[pdfplumber.page.Page]:
    """The pages of the PDF made from `html`."""
    return pdfplumber.open(io.BytesIO(pdf_bytes(html))).pages


def words(page: pdfplumber.page.Page) -> list[dict]:
    """The words of a page with their boxes."""
    return page.extract_words(use_text_flow=True, keep_blank_chars=False)


def text(html: str) -> str:
    """All words of the document, in one line."""
    return " ".join(" ".join(w["text"] for w in words(page)) for page in pages(html))


def difficult(number: int) -> Problem:
    """A problem whose every text is long, foreign or full of markup."""
    return Problem(
        number=number,
        machine=f"{LONG_WORD}, 24 V",
        stem=(f"The {LONG_WORD} <b>does</b> not & will not run: Zdeněk Łączyński saw 0.4 Ω → OL.",),
        question=f"Which of {LONG_WORD} and {LONG_WORD} is it?",
        choices=workbook(problem(options=(LONG_WORD * 2, *OPTIONS))).problems[0].choices,
        readings=ReadingTable(
            shared=LONG_WORD,
            columns=("Instrument", "Black lead on", "Shows"),
            rows=((LONG_WORD, LONG_WORD, "12.3 V"), ("K1 terminal 30", ARABIC, "OL")),
        ),
        figure=dataclasses.replace(
            drawing(64, 90) if number % 2 else drawing(170, 120),
            colours=tuple(COLOURS),
            symbols=tuple(symbol_name(part) for part in GLYPHS),
        ),
    )


def difficult_workbook() -> Workbook:
    """Long titles, long names, right-to-left names."""
    heading = Heading(
        college=f"{LONG_WORD} Technical College",
        course=LONG_TITLE,
        title=LONG_TITLE,
        week="Week 12",
        instructor=f"{HEBREW} and {LONG_WORD}",
        topics=(*TOPICS, LONG_WORD),
        cautions=(*CAUTIONS, LONG_WORD),
    )
    return workbook(difficult(1), difficult(2), heading=heading, student=ARABIC * 3)


@pytest.mark.parametrize("options", [STANDARD, LARGE, PageOptions(size="letter")], ids=str)
@pytest.mark.parametrize("book", [difficult_workbook(), workbook(problem(1, drawing()))])
def test_words_stay_inside_the_margins_and_apart(book: Workbook, options: PageOptions) -> None:
    """No word reaches past the margins, and no two words lie on each other."""
    check_places(workbook_html(book, options))


@pytest.mark.parametrize("options", [STANDARD, LARGE], ids=str)
def test_words_of_a_key_stay_inside_the_margins_and_apart(options: PageOptions) -> None:
    """Long words in every field, orders of five letters, two rows in the table of keys."""
    made = answer()
    long = dataclasses.replace(
        made,
        key="E C A D B",
        machine=LONG_WORD,
        stem=(LONG_WORD * 2,),
        question=LONG_WORD * 2,
        about=(LONG_WORD, "interpret"),
        solution=(LONG_WORD * 2,),
        choices=tuple(
            dataclasses.replace(c, text=LONG_WORD, figures=LONG_WORD, misconception=LONG_WORD)
            for c in made.choices
        ),
        figure=drawing(170, 120),
    )
    answers = (long, *(answer(n) for n in range(2, 18)))
    heading = difficult_workbook().heading
    check_places(
        key_html(
            AnswerKey(heading=heading, forms=(FormAnswers(form="30", answers=answers),)), options
        )
    )


def check_places(html: str) -> str:
    """Assert that words keep inside the margins and off each other, on every page; all words."""
    printed: list[str] = []
    edge = 14 * 72 / 25.4  # the narrowest margin is 15 mm
    for page in pages(html):
        found = words(page)
        printed += (word["text"] for word in found)
        for word in found:
            assert word["x0"] >= edge, word["text"]
            assert word["x1"] <= page.width - edge, word["text"]
            assert word["bottom"] <= page.height - 5, word["text"]
        for i, one in enumerate(found):
            for other in found[i + 1 :]:
                wide = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
                high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
                assert wide < 1 or high < 3, (one["text"], other["text"])
    return " ".join(printed)


def test_text_is_printed_as_written() -> None:
    """Markup in a name is text, and letters outside Latin are there."""
    printed = text(workbook_html(difficult_workbook(), STANDARD))
    assert "<b>does</b> not & will not" in printed
    assert "Zdeněk Łączyński" in printed
    assert "Ω → OL" in printed
    for letter in HEBREW + ARABIC:
        assert letter in printed or not letter.isalpha()


@pytest.mark.parametrize("count", [1, 40])
def test_every_problem_is_printed_once_and_in_order(count: int) -> None:
    """One problem or forty: each number heads one problem, none is lost between pages."""
    book = workbook(*(problem(n + 1, readings=None) for n in range(count)))
    pdf = pdf_bytes(workbook_html(book, STANDARD))
    reader = PdfReader(io.BytesIO(pdf))
    titles = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    inner = [e.title for part in reader.outline if isinstance(part, list) for e in part]
    numbers = [t.split()[0] for t in (*titles, *inner) if "Orchard" in t]
    assert numbers == [str(n + 1) for n in range(count)]
    printed = "".join(page.extract_text() for page in reader.pages)
    assert printed.count("Which fault explains") == count


def test_a_problem_is_never_divided_between_pages() -> None:
    """From its heading to its last option, a problem that fits a page stands on one page."""
    book = workbook(*(problem(n + 1, drawing(115 + n, 100 + 8 * n)) for n in range(9)))
    for page in pages(workbook_html(book, STANDARD)):
        printed = Counter(w["text"] for w in words(page))
        problems = printed["Orchard"]
        for word in ("booster", "shows", "Which", "winding"):
            counted = printed[word] + printed[word.capitalize()] * (word == "shows")
            assert counted == problems, (page.page_number, word)
        assert len(page.rects) >= problems


def test_the_footer_tells_page_and_form() -> None:
    """A sheet that has come loose still says which form and which page it is."""
    book = workbook(*(problem(n + 1, drawing()) for n in range(5)))
    sheets = pages(workbook_html(book, STANDARD))
    for number, page in enumerate(sheets, 1):
        foot = page.crop((0, page.height - 56, page.width, page.height)).extract_text()
        assert f"Form A · page {number} of {len(sheets)}" in foot
        assert HEADING.title in foot


def test_the_cover_has_fields_topics_and_cautions() -> None:
    """The first page carries everything a student reads or fills in before starting."""
    first = pages(workbook_html(workbook(problem(1, drawing())), STANDARD))[0]
    printed = " ".join(w["text"] for w in words(first)).replace("- ", "-")
    for expected in ("Name", "Date", "Class", "Form A", "Week 1", HEADING.course, HEADING.college):
        assert expected in printed
    for line in (*TOPICS, *CAUTIONS):
        assert line.replace("'", "’") in printed


def test_large_print_has_no_small_letters() -> None:
    """In large print every letter outside a figure is at least 18 pt."""
    book = workbook(problem(1), problem(2, None, ("0.0 V", "6 V", "12.3 V", "OL")))
    for html in (workbook_html(book, LARGE), key_html(answer_key(1, "A"), LARGE)):
        small = {c["text"] for page in pages(html) for c in page.chars if c["size"] < 17.99}
        assert not small


def test_a_large_print_figure_is_larger_than_the_standard_one() -> None:
    """The figure grows with the text, turned sideways where that shows it larger."""
    book = workbook(problem(1, drawing(150, 100)))

    def label(options: PageOptions) -> float:
        sizes = [
            c["size"]
            for p in pages(workbook_html(book, options))
            for c in p.chars
            if c["text"] == "Ω"
        ]
        return max(sizes)

    assert label(LARGE) > 1.3 * label(STANDARD)


def test_black_and_white_pages_have_no_colour() -> None:
    """With black-and-white pages every fill and stroke is a grey."""

    def coloured(options: PageOptions) -> set[tuple[float, ...]]:
        sheets = pages(workbook_html(workbook(problem(1, drawing())), options))
        sheets += pages(key_html(answer_key(1, "A"), options))
        marks = [m for p in sheets for m in (*p.chars, *p.rects, *p.lines, *p.curves)]
        colours = [m[k] for m in marks for k in ("stroking_color", "non_stroking_color")]
        return {c for c in colours if isinstance(c, tuple) and len(set(c)) > 1}

    assert coloured(STANDARD)
    assert not coloured(GREY)


@pytest.mark.parametrize(
    ("size", "points"),
    [("a4", (595.28, 841.89)), ("a3", (841.89, 1190.55)), ("letter", (612.0, 792.0))],
)
def test_page_sizes_are_the_standard_ones(size: str, points: tuple[float, float]) -> None:
    """A4 and A3 as in ISO 216, letter as in ANSI/ASME Y14.1, in points of 1/72 inch."""
    page = pages(workbook_html(workbook(problem()), PageOptions(size=size)))[0]
    assert (page.width, page.height) == pytest.approx(points, abs=0.1)


def test_the_key_shows_letters_reasons_and_figures() -> None:
    """The instructor finds per problem the letter, each option's reason and the proof's figures."""
    printed = text(key_html(answer_key(2), STANDARD))
    assert printed.count("Supply reaches terminal 2, so it has already passed") == 4
    assert printed.count("would be 0.9 to 3.1 V") == 4
    assert printed.count("Mistaken idea: one wire is enough") == 4
    assert "Problem 1 2 Form A B B Form B B B" in printed


@pytest.mark.parametrize("options", [STANDARD, LARGE, GREY], ids=str)
def test_the_pdf_engine_has_nothing_to_complain_about(
    options: PageOptions, caplog: pytest.LogCaptureFixture
) -> None:
    """No unknown style property, missing font or broken image."""
    with caplog.at_level(logging.WARNING):
        pdf_bytes(workbook_html(difficult_workbook(), options))
        pdf_bytes(key_html(answer_key(1), options))
    assert not caplog.records


def test_readings_keep_their_rows() -> None:
    """Each reading stands on one line with its lead position."""
    sheets = pages(workbook_html(workbook(problem()), STANDARD))
    lines = [line for page in sheets for line in page.extract_text().splitlines()]
    for row in READINGS.rows:
        assert any(line.replace("\u00a0", " ").startswith(" ".join(row)) for line in lines)


TOPIC_OF_90 = (
    "Voltage drop, shared grounds and back-feed in lamps and motors with two stations, part two"
)
NAME_OF_60 = "Maximiliana-Þórgunnur Ó Súilleabháin-Wójcikiewicz y Fernández"


@pytest.mark.parametrize(
    ("count", "options"), [(40, STANDARD), (1, PageOptions(size="letter")), (1, LARGE)], ids=str
)
def test_sets_of_one_and_of_forty_keep_inside_the_margins(count: int, options: PageOptions) -> None:
    """A topic of 90 characters, a name of 60 in Latin and one from right to left."""
    assert (len(TOPIC_OF_90), len(NAME_OF_60)) == (90, 61)
    heading = dataclasses.replace(
        HEADING, topics=(TOPIC_OF_90, *TOPICS), instructor=f"{HEBREW} {NAME_OF_60}"
    )
    problems = (
        problem(n + 1, None if n % 3 else drawing(60 + n, 90), readings=None if n % 2 else READINGS)
        for n in range(count)
    )
    html = workbook_html(workbook(*problems, heading=heading, student=NAME_OF_60), options)
    printed = check_places(html).replace("- ", "-")
    assert TOPIC_OF_90 in printed
    assert NAME_OF_60 in printed
