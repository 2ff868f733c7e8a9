"""The rows of a CSV file that somebody wrote, typed or saved from a spreadsheet."""

from __future__ import annotations

import csv
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place


def table_rows(
    path: Path, *, separators: str = ",;\t", remark: str = ""
) -> list[tuple[int, list[str]]]:
    """Number of the line and cells of every row; blank lines have no cells.

    Of `separators` the one that the first line has most of counts; a line that begins with
    `remark` is taken as blank. Raises InputError for a file that cannot be read as UTF-8, FileError
    where a row is none.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: is not UTF-8 text; save it as CSV UTF-8") from None
    lines = text.splitlines()
    if remark:
        lines = ["" if line.startswith(remark) else line for line in lines]
    first = next((line for line in lines if line.strip()), "")
    rows = csv.reader(lines, delimiter=max(separators, key=first.count))
    try:
        return [(rows.line_num, row) for row in rows]
    except csv.Error as error:
        raise FileError(Place(path, rows.line_num), f"is no row of a table ({error})") from None
