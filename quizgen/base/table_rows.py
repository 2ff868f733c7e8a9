"""The rows of a CSV file that somebody wrote, typed or saved from a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place


def table_rows(
    path: Path, *, separators: str = ",;\t", remark: str = ""
) -> list[tuple[int, list[str]]]:
    """Number of the line and cells of every row; blank lines have no cells.

    Of `separators` the one that the first line has most of counts; a line that begins with
    `remark` is taken as blank. Raises InputError for a file that cannot be read as UTF-8, FileError
    where a row is none, a quote that is never closed among them: it would swallow the rest.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    return rows_in(content, path, separators=separators, remark=remark)


def rows_in(
    content: bytes, where: Path | str, *, separators: str = ",;\t", remark: str = ""
) -> list[tuple[int, list[str]]]:
    """The rows of a file's content, as `table_rows` gives them; `where` names it in errors."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{where}: is not UTF-8 text; save it as CSV UTF-8") from None
    lines = list(io.StringIO(text, newline=None))  # inside quotes too a line end stays one
    if remark:
        lines = ["\n" if line.startswith(remark) else line for line in lines]
    first = next((line for line in lines if line.strip()), "")
    rows = csv.reader(lines, delimiter=max(separators, key=first.count), strict=True)
    found: list[tuple[int, list[str]]] = []
    try:
        for row in rows:
            found.append((rows.line_num, row))
    except csv.Error as error:
        begun = found[-1][0] + 1 if found else 1
        raise FileError(Place(where, begun), f"is no row of a table ({error})") from None
    return found
