"""The review queue as a page for a browser, and beside it a table to fill in.

The page holds everything in one file and runs no script: whoever decides writes the decisions into
the table, which `quizgen grade review --from` reads.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from quizgen.base.writing import write_whole
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.settling import Doubt
from quizgen.publish.html import render
from quizgen.publish.page_options import PageOptions
from quizgen.reports.review_table import read_decided, table_text
from quizgen.reports.review_words import about, choices_of
from quizgen.reports.wording import heading_of

Crops = Mapping[tuple[str, str], bytes]


@dataclass(frozen=True, kw_only=True)
class Told:
    """A doubt in words, with its pictures as addresses."""

    id: str
    about: str
    reason: str
    figures: str
    likely: str
    choices: tuple[str, ...]
    pictures: tuple[Markup, ...]
    decides: bool


def review_html(problem_set: ProblemSet, doubts: Sequence[Doubt], crops: Crops, table: str) -> str:
    """The page. `table` is the name of the file to fill in."""
    names = problem_set.student_names
    values: dict[str, object] = {
        "heading": heading_of(problem_set),
        "doubts": [_told(doubt, names, crops) for doubt in doubts],
        "table": table,
    }
    return render("review.html.j2", values, PageOptions(), True)


def _told(doubt: Doubt, names: Mapping[str, str], crops: Crops) -> Told:
    pictures = [crops[piece] for piece in doubt.shown if piece in crops]
    return Told(
        id=doubt.id, about=about(doubt, names), reason=doubt.reason, figures=doubt.figures,
        likely=doubt.candidate, choices=choices_of(doubt), decides=doubt.decides,
        pictures=tuple(_address(png) for png in pictures),
    )  # fmt: skip


def _address(png: bytes) -> Markup:
    return Markup(f"data:image/png;base64,{base64.b64encode(png).decode()}")


def write_review(
    problem_set: ProblemSet, doubts: Sequence[Doubt], crops: Crops, path: Path
) -> tuple[Path, Path]:
    """Page and table, side by side. A table that is there keeps what was filled in.

    Raises OutsideError when they cannot be written, InputError when the table there is none.
    """
    table = path.with_suffix(".csv")
    filled = {row.id: row for row in read_decided(table)} if table.exists() else {}
    names = problem_set.student_names
    page = review_html(problem_set, doubts, crops, table.name)
    return (
        write_whole(path, page.encode()),
        write_whole(table, table_text(doubts, names, filled).encode("utf-8-sig")),
    )
