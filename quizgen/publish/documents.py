"""The documents of a problem set: a workbook per form, answer sheets, the instructor's key."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from quizgen.base.writing import write_whole
from quizgen.forms.sheet import Sheet
from quizgen.publish.html import key_html, sheets_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.sheet_svg import Bearer, sheet_svg
from quizgen.publish.view import AnswerKey, Heading, Workbook

STANDARD = PageOptions()


def write_workbook(workbook: Workbook, path: Path, options: PageOptions = STANDARD) -> Path:
    """Print `workbook` to `path` and return it. Raises OutsideError (fonts, disk).

    A PDF, or for a name that ends with .html one file for a browser.
    """
    if path.suffix == ".html":
        return write_whole(path, workbook_html(workbook, options, screen=True).encode())
    return write_whole(path, pdf_bytes(workbook_html(workbook, options)))


def write_key(key: AnswerKey, path: Path, options: PageOptions = STANDARD) -> Path:
    """Print `key` to `path`, a PDF or an HTML file, and return it. Raises OutsideError."""
    if path.suffix == ".html":
        return write_whole(path, key_html(key, options, screen=True).encode())
    return write_whole(path, pdf_bytes(key_html(key, options)))


def write_sheets(heading: Heading, sheets: Sequence[tuple[Sheet, Bearer]], path: Path) -> Path:
    """Print answer sheets, one a page, to the PDF `path`. Raises OutsideError (fonts, disk)."""
    drawn = [(sheet_svg(sheet, heading, bearer), _whose(bearer)) for sheet, bearer in sheets]
    paper = sheets[0][0].paper
    size = f"{paper.width}mm {paper.height}mm"
    return write_whole(path, pdf_bytes(sheets_html(heading, drawn, size)))


def _whose(bearer: Bearer) -> str:
    name = f" of {bearer.name}, {bearer.id}" if bearer.id else ""
    return f"Answer sheet{name}, form {bearer.form}: circles to fill, a row for each question."
