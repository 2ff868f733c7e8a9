"""The documents of a problem set: a workbook per form, answer sheets, the instructor's key."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from quizgen.base.writing import write_whole
from quizgen.forms.sheet import Sheet
from quizgen.publish.html import key_html, sheets_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.sheet_svg import Bearer, name_tag, sheet_svg
from quizgen.publish.view import AnswerKey, Heading, Workbook

STANDARD = PageOptions()


def workbook_bytes(workbook: Workbook, kind: str, options: PageOptions = STANDARD) -> bytes:
    """The pages of `workbook` as a "pdf", or as "html", one file for a browser.

    Raises OutsideError (Pango, fonts).
    """
    if kind == "html":
        return workbook_html(workbook, options, screen=True).encode()
    return pdf_bytes(workbook_html(workbook, options))


def key_bytes(key: AnswerKey, kind: str, options: PageOptions = STANDARD) -> bytes:
    """The pages of `key`; `kind` and errors as for a workbook."""
    if kind == "html":
        return key_html(key, options, screen=True).encode()
    return pdf_bytes(key_html(key, options))


def sheets_bytes(heading: Heading, sheets: Sequence[tuple[Sheet, Bearer]]) -> bytes:
    """Answer sheets as a PDF, one a page. Raises OutsideError (Pango, fonts)."""
    drawn = [
        (sheet_svg(sheet, heading, bearer), _whose(bearer), name_tag(sheet, bearer))
        for sheet, bearer in sheets
    ]
    paper = sheets[0][0].paper
    size = f"{paper.width}mm {paper.height}mm"
    return pdf_bytes(sheets_html(heading, drawn, size))


def write_sheets(heading: Heading, sheets: Sequence[tuple[Sheet, Bearer]], path: Path) -> Path:
    """Print answer sheets, one a page, to the PDF `path`. Raises OutsideError (fonts, disk)."""
    return write_whole(path, sheets_bytes(heading, sheets))


def _whose(bearer: Bearer) -> str:
    name = f" of {bearer.name}, {bearer.id}" if bearer.id else ""
    return f"Answer sheet{name}, form {bearer.form}: circles to fill, a row for each question."
