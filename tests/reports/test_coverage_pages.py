"""Coverage as pages and tables: readable, whole, harmless, the same in every form."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader

from quizgen.base.paths import data_folder
from quizgen.publish.page_options import PageOptions
from quizgen.reports.competencies import read_competencies, shipped_mapping
from quizgen.reports.coverage import Coverage, Wanted, coverage
from quizgen.reports.coverage_counts import Figures
from quizgen.reports.coverage_page import state_of
from quizgen.reports.write_coverage import coverage_csv, write_coverage, write_terms
from quizgen.store.database import open_store
from tests.reports.terms import Week, keep

TERM = [
    Week(c, ((w % 5, 2), (c, 3), (2, w % 5)), (0, 1, 2), f"2026-09-{w + 10}", seed=10 * w + c)
    for w in range(4) for c in range(2)
] + [Week(1, ((4, 4),), (), "2026-10-20")]  # fmt: skip


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Coverage:
    """Two classes, four weeks, and a set that is planned only."""
    store = open_store(str(tmp_path_factory.mktemp("store") / "grades.sqlite"))
    keep(store, TERM, 4)
    found = coverage(store, Wanted(day=date(2026, 11, 2)), read_competencies(shipped_mapping()))
    store.close()
    return found


@pytest.fixture(scope="module")
def files(report: Coverage, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Everything that can be written, by file name."""
    folder, options = tmp_path_factory.mktemp("out"), PageOptions()
    written = write_coverage(report, folder, options, print) + write_terms(
        report, folder, options, print
    )
    return {path.name: path for path in written}


class Reader(HTMLParser):
    """Tags with their attributes, and the texts of table cells."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep it."""
        self.tags.append((tag, dict(attrs)))


def test_the_page_needs_nothing_else_and_no_script(files: dict[str, Path]) -> None:
    """One file: no script, no address outside, every link leads to something in it."""
    text = files["coverage.html"].read_text(encoding="utf-8")
    tags = Reader(text).tags
    assert not [tag for tag, _ in tags if tag in ("script", "link", "img", "iframe")]
    ids = {a["id"] for _, a in tags if a.get("id")}
    links = [a["href"] for tag, a in tags if tag == "a"]
    assert links
    assert all(link and link.startswith("#") and link[1:] in ids for link in links)


def test_a_keyboard_and_a_screen_reader_get_all_of_it(files: dict[str, Path]) -> None:
    """Headers have scopes, what scrolls can be reached and has a name, drawings have a title."""
    text = files["coverage.html"].read_text(encoding="utf-8")
    tags = Reader(text).tags
    assert dict(tags)["html"]["lang"]
    assert all(a.get("scope") for tag, a in tags if tag == "th")
    regions = [a for _, a in tags if a.get("role") == "region"]
    assert regions
    assert all(a["tabindex"] == "0" and a["aria-label"] for a in regions)
    assert text.count('role="img"><title>') == sum(tag == "svg" for tag, _ in tags)
    assert [tag for tag, _ in tags if tag == "h1"] == ["h1"]


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    """WCAG 2.2, success criterion 1.4.3."""
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def tints() -> Iterator[str]:
    """Every colour that text of the heat map may stand on."""
    css = (data_folder("templates") / "print" / "coverage.css").read_text(encoding="utf-8")
    root = re.search(r":root \{([^}]*)\}", css)
    assert root
    yield from re.findall(r"#[0-9a-f]{6}", root.group(1))
    for rule in re.findall(r"\.map \.\w+ \{([^}]*background[^}]*)\}", css):
        yield from re.findall(r"#[0-9a-f]{6}", rule)


def test_text_on_every_tint_has_enough_contrast() -> None:
    """4.5 : 1 for the ink and the soft ink of page.css; #777777 on white is the known 4.48."""
    assert round(contrast("#777777", "#ffffff"), 2) == 4.48
    found = set(tints())
    assert len(found) >= 6
    assert all(contrast("#1a1d21", tint) >= 4.5 for tint in found)
    assert contrast("#565c64", "#ffffff") >= 4.5


@pytest.mark.parametrize(
    ("figures", "state"),
    [
        (Figures(), "none"),
        (Figures(planned=2), "unmet"),
        (Figures(planned=2, asked=10, right=6), "open"),
        (Figures(planned=2, asked=100, right=75), "good"),
        (Figures(planned=2, asked=100, right=45), "weak"),
    ],
)
def test_a_square_is_judged_by_the_whole_interval(figures: Figures, state: str) -> None:
    """Wilson at 0.6: 10 answers decide nothing, 75 or 45 of 100 do."""
    assert state_of(figures, 0.6) == state


def test_the_table_says_what_the_report_says(report: Coverage) -> None:
    """A row for each cell and each competency of paper, the counts as they are."""
    rows = list(csv.DictReader(io.StringIO(coverage_csv(report))))
    assert len(rows) == sum(
        len(c.cells) + sum(e.on_paper for e in c.elements) for c in report.classes
    )
    cell = report.classes[0].cells[0]
    first = rows[0]
    assert (first["topic_or_code"], first["level"]) == (cell.topic, cell.level)
    assert [int(first[n]) for n in ("planned", "asked", "right", "too_little")] == [
        cell.figures.planned, cell.figures.asked, cell.figures.right, cell.figures.too_little
    ]  # fmt: skip


def test_a_term_report_has_method_mapping_and_lines_to_sign(files: dict[str, Path]) -> None:
    """One for each class; no student is named in it, and the coordinator's file names them."""
    names = [name for name in files if name.endswith(".term.pdf")]
    assert len(names) == 2
    text = "\n".join(page.extract_text() for page in PdfReader(files[names[0]]).pages)
    for expected in ("Method", "AURETR112", "Wilson", "Signatures", "workshop"):
        assert expected in text
    assert "Student 1" not in text
    assert "C0-001" not in text
    whole = "\n".join(p.extract_text() for p in PdfReader(files["coverage.pdf"]).pages)
    assert "Class 0" in whole
    assert "Never planned" in whole
