"""The pages read back: what must stand there, what must not, and that a screen reader can."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pdfplumber
import pypdf
import pytest

from quizgen.grading.keys import Amendment, keys_of
from quizgen.grading.responses import Response
from quizgen.grading.score import Rules, score
from quizgen.publish.page_options import PageOptions
from quizgen.reports.charts import Bar, histogram, intervals
from quizgen.reports.class_figures import class_figures
from quizgen.reports.class_report import class_report
from quizgen.reports.feedback import Feedback, feedback_of
from quizgen.reports.pages import file_name, write_class_report, write_feedback
from quizgen.reports.results import Results
from quizgen.reports.write_reports import write_class, write_sheets
from quizgen.store.contents import Graded
from tests.grading import graded
from tests.reports.simulated import answers, big_set, scored

SET = graded.the_set()
PAGES = PageOptions()


def sheet(*values: str, changes: tuple[Amendment, ...] = ()) -> Feedback:
    """The feedback on answers to form A."""
    keys, given = keys_of(SET, changes), graded.answered(*values)
    return feedback_of(SET, keys, Graded(given=given, result=score(given, keys, Rules())))


def words(path: Path) -> str:
    """The text of a PDF with single blanks."""
    with pdfplumber.open(path) as document:
        text = " ".join(page.extract_text() for page in document.pages)
    return " ".join(text.replace("\u00a0", " ").split())


def test_each_miss_is_explained_by_what_was_chosen() -> None:
    """Their option's reason and idea, then the right one's; a right answer is not explained."""
    found = sheet("A", "AB", "CABD", "0")
    assert [m.number for m in found.misses] == [1, 2, 4]
    first, second, third = found.misses
    assert (first.given, first.key) == ("A", "B")
    assert [(t.letter, t.belief) for t in first.told] == [("A", "stops at the first likely part")]
    assert first.told[0].reasons == ("What speaks for or against the fuse.",)
    assert [t.letter for t in first.right] == ["B"]
    assert [(t.letter, t.missed) for t in second.told] == [("B", False), ("C", True)]
    assert second.right == ()
    assert third.told[0].reasons == ("It is not 0 V.",)
    assert third.solution == ("The way to the answer.",)


def test_points_come_with_their_uncertainty() -> None:
    """2 of 4 points: Wilson's interval is 15 % to 85 % (by hand: 0.5 ± 0.35)."""
    found = sheet("B", "AC", "", "0")
    assert (found.points, found.out_of, found.share) == ("2", 4, "50 %")
    assert (found.low, found.high) == ("15 %", "85 %")
    assert [sign for _, sign, _ in found.strip] == ["✓", "✓", "–", "✗"]


def test_what_to_practise_follows_from_what_was_lost() -> None:
    """The topic and level of the misses, and the questions."""
    (practice,) = sheet("A", "A", "CABD", "11.9").practice
    assert (practice.topic, practice.level, practice.questions) == ("lamps", "interpret", (1, 2))
    assert sheet("B", "AC", "CABD", "11.9").practice == ()


def test_what_cost_most_is_practised_first() -> None:
    """Half a point lost comes after a whole one, whatever their order in the set; three at most."""
    topics = ("fuses", "lamps", "grounds", "relays")
    slots = tuple(replace(s, topic=t) for s, t in zip(SET.slots, topics, strict=True))
    keys, given = keys_of(SET), graded.answered("A", "A", "", "0")
    found = feedback_of(
        replace(SET, slots=slots), keys, Graded(given=given, result=score(given, keys, Rules()))
    )
    assert [p.topic for p in found.practice] == ["fuses", "grounds", "relays"]


def test_an_undecided_mark_gives_nothing_away() -> None:
    """Neither key nor reason while a person is still looking at it."""
    keys, given = keys_of(SET), graded.answered("A", "AC", "CABD", "11.9")
    doubt = Response(item=1, value=("A",), state="doubtful", doubt="faint")
    given = replace(given, responses=(doubt, *given.responses[1:]))
    found = feedback_of(SET, keys, Graded(given=given, result=score(given, keys, Rules())))
    (miss,) = found.misses
    assert (miss.key, miss.given, miss.told, miss.right, miss.solution) == ("", "", (), (), ())
    assert found.pending == 1


def test_a_withdrawn_question_is_not_held_against_anybody() -> None:
    """It is no miss, and the points are of three."""
    gone = Amendment(form="A", number=1, change="withdraw", why="x", who="y")
    found = sheet("A", "AC", "CABD", "11.9", changes=(gone,))
    assert (found.misses, found.out_of, found.withdrawn) == ((), 3, 1)


@pytest.mark.parametrize("large", [False, True])
def test_a_feedback_sheet_on_paper(tmp_path: Path, large: bool) -> None:
    """Name, points, reasons, tags and language; nothing under 18 pt in large print; no praise."""
    path = write_feedback(
        [sheet("A", "AB", "CADB", "0")], tmp_path / "s.pdf", PageOptions(large_print=large)
    )
    text = words(path)
    expected = ("Ana Okoro", "You answered A; right is B.", "What speaks for or against the",
                "Mistaken idea: stops at the first likely part", "95 %")  # fmt: skip
    assert [phrase for phrase in expected if phrase not in text] == []
    assert not re.search(r"well done|great|unfortunately|bad luck|best in", text, re.IGNORECASE)
    reader = pypdf.PdfReader(path)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    if large:
        with pdfplumber.open(path) as document:
            letters = [c for page in document.pages for c in page.chars if c["text"].strip()]
        sizes = {round(letter["size"], 1) for letter in letters}
        assert {size for size in sizes if size < 18} <= {0.8}  # words for screen readers alone


def test_what_was_chosen_and_what_is_right_stay_together(tmp_path: Path) -> None:
    """However long the text before them is, a page ends between questions that fit on one."""
    found = sheet("A", "AB", "CADB", "0")
    long = [replace(found, practice=found.practice * n, misses=found.misses * 2) for n in (4, 10)]
    path = write_feedback(long, tmp_path / "s.pdf", PAGES)
    with pdfplumber.open(path) as document:
        begins = [page.extract_text().splitlines()[0] for page in document.pages]
    torn = ("Left out", "Right", "The way to", "You answered", "You chose", "Your figure")
    assert [first for first in begins if first.startswith(torn)] == []


def test_a_feedback_sheet_on_a_screen(tmp_path: Path) -> None:
    """One file without a script or an address; a name is text, whatever it holds."""
    evil = replace(sheet("A", "AB", "CADB", "0"), name="<script>alert(1)</script>")
    html = write_feedback([evil], tmp_path / "s.html").read_text(encoding="utf-8")
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert not re.search(r'(src|href)="https?:', html)


def alternatives(path: Path) -> list[str]:
    """What a screen reader says of the figures of a tagged PDF."""
    found: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        for child in node if isinstance(node, list) else ():
            walk(child)
        if isinstance(node, dict):
            found.extend([str(node["/Alt"])] if "/Alt" in node else [])
            walk(node.get("/K"))

    walk(pypdf.PdfReader(path).trailer["/Root"]["/StructTreeRoot"])
    return found


def results(students: int, changes: tuple[Amendment, ...] = ()) -> Results:
    """A simulated class of two forms."""
    two = big_set(students, 6, "AB")
    keys = keys_of(two, changes)
    return Results(
        problem_set=two, amendments=changes, keys=keys, graded=tuple(scored(two, answers(two)))
    )


def on_a_screen(found: Results, folder: Path, pages: PageOptions = PAGES) -> str:
    """The class report as HTML alone."""
    figures = class_figures(found.problem_set, found.keys, found.graded)
    report = class_report(found.problem_set, figures, found.graded)
    return write_class_report(report, folder / "class.html", pages).read_text(encoding="utf-8")


def test_the_class_report_on_paper_and_on_a_screen(tmp_path: Path) -> None:
    """What to teach, what to look at, every question, and charts with words for a reader."""
    change = Amendment(form="A", number=2, change="key", texts=("B", "C"), why="both fit", who="ml")
    html, pdf = write_class(results(24, (change,)), tmp_path, PAGES)
    text = words(pdf)
    for expected in ("Class report", "24 students are few", "Teach again", "stops at the first",
                     "Every question", "A/6", "B/6", "Reliability", "both fit"):  # fmt: skip
        assert expected.lower() in text.lower(), expected
    assert "very good" not in text
    assert len(alternatives(pdf)) == 3
    page = html.read_text(encoding="utf-8")
    assert all(len(title) > 40 for title in re.findall(r"<title>([^<]+)</title><", page)[1:])
    assert page.count('role="img"') == 3
    assert "<script" not in page


def test_charts_in_black_and_white_have_no_colour(tmp_path: Path) -> None:
    """Every colour of a chart is a grey: its three parts are equal."""
    page = on_a_screen(results(6), tmp_path, PageOptions(black_and_white=True))
    charts = "".join(re.findall(r"<svg.*?</svg>", page))
    colours = set(re.findall(r'"#([0-9a-f]{6})"', charts))
    assert colours
    assert all(c[:2] == c[2:4] == c[4:] for c in colours), colours


def test_a_large_class_gets_labels_and_no_list_of_students(tmp_path: Path) -> None:
    """200 students: Ebel's words, and the export for names."""
    page = on_a_screen(results(200), tmp_path)
    assert "200 students: see the export" in page
    assert re.search("very good|reasonably good", page)
    assert "are few" not in page


def test_forms_of_one_student_each_are_reported_by_place(tmp_path: Path) -> None:
    """A form for each student: no table of options for one person, but figures for each place."""
    own = big_set(6, 4, "ABCDEF")
    keys = keys_of(own)
    found = Results(
        problem_set=own, amendments=(), keys=keys, graded=tuple(scored(own, answers(own)))
    )
    page = on_a_screen(found, tmp_path)
    assert "What was chosen" not in page
    assert "A/1" not in page.partition("Every question")[2]
    assert page.partition("Every question")[2].count("lamps, interpret") == 4


def test_the_same_results_give_the_same_files(tmp_path: Path) -> None:
    """Twice, byte by byte."""
    twice = [
        write_feedback([sheet("A", "AB", "", "0")], tmp_path / f"{n}.pdf").read_bytes()
        for n in range(2)
    ]
    assert twice[0] == twice[1]


def test_files_of_feedback_and_their_names(tmp_path: Path) -> None:
    """A file for each student, of a safe name; one PDF for all on request."""
    few = results(2)
    found = write_sheets(few, tmp_path, PAGES, chosen=["S-00001"])
    assert [p.name for p in found] == ["S-00001.html", "S-00001.pdf"]
    found = write_sheets(few, tmp_path, PAGES, one_file=True)
    assert [p.name for p in found] == ["S-00001.html", "S-00002.html", "week-07.feedback.pdf"]
    with pdfplumber.open(found[-1]) as document:
        starts = [n for n, page in enumerate(document.pages, 1) if "form " in page.extract_text()]
    assert len(starts) == 2
    assert all(n % 2 for n in starts), "two students on one leaf"
    ids = ("../../etc", "a/b", "a_b", "a.b", "..", "C:x", "", "a b", " 2e")
    names = [file_name(i) for i in ids]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[A-Za-z0-9_=-]+", name) for name in names)


def test_a_chart_shows_its_figures_to_scale() -> None:
    """Bars as tall as their counts, dots where their shares are, the same figures in words."""
    chart = histogram([("0", 1), ("1", 4), ("2", 2)], "Points of 2")
    heights = [float(h) for h in re.findall(r'<rect [^>]*height="([\d.]+)"', chart.svg)]
    assert heights[0] / heights[1] == pytest.approx(1 / 4, abs=0.01)
    assert heights[2] / heights[1] == pytest.approx(2 / 4, abs=0.01)
    assert "1: 4" in chart.alternative
    bars = [Bar(label="a < b", share=s, low=0.1, high=0.9) for s in (0.25, 0.5, 0.75)]
    chart = intervals(bars, "Shares")
    xs = [float(x) for x in re.findall(r'cx="([\d.]+)"', chart.svg)]
    assert xs[1] - xs[0] == pytest.approx(xs[2] - xs[1], abs=0.02)
    assert "a &lt; b" in chart.svg
    assert "a < b: 25 %" in chart.alternative


def test_a_report_without_a_scenario_has_no_college() -> None:
    """A set whose scenario is gone still has its report."""
    lost = replace(SET, scenario="gone")
    keys = keys_of(lost)
    given = graded.answered("B", "AC", "CABD", "11.9")
    one = Graded(given=given, result=score(given, keys, Rules()))
    assert feedback_of(lost, keys, one).heading.college == ""
    assert class_figures(lost, keys, [one]).students == 1
