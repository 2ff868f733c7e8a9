"""The two documents of a problem set: a workbook per form, and the instructor's key."""

from __future__ import annotations

from pathlib import Path

from quizgen.base.writing import write_whole
from quizgen.publish.html import key_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.view import AnswerKey, Workbook

STANDARD = PageOptions()


def write_workbook(workbook: Workbook, path: Path, options: PageOptions = STANDARD) -> Path:
    """Print `workbook` to the PDF `path` and return it. Raises OutsideError (fonts, disk)."""
    return write_whole(path, pdf_bytes(workbook_html(workbook, options)))


def write_key(key: AnswerKey, path: Path, options: PageOptions = STANDARD) -> Path:
    """Print `key` to the PDF `path` and return it. Raises OutsideError (fonts, disk)."""
    return write_whole(path, pdf_bytes(key_html(key, options)))
