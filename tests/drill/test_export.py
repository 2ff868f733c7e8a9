"""What of a student's practice goes into a table."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime

from quizgen.drill.export import as_csv
from quizgen.drill.record import Line
from quizgen.drill.schedule import Skill


def test_what_a_student_typed_is_no_formula() -> None:
    """The instructor opens the table in a spreadsheet, which runs what begins with = and the like
    (OWASP, CSV injection, from memory)."""
    line = Line(
        number=1, at=datetime(2026, 9, 1, tzinfo=UTC), skill=Skill("lamps", "read"), kind="compute",
        circuit="horn-pair", item="i", given='=HYPERLINK("x")', right=False, seconds=12.0,
    )  # fmt: skip
    (row,) = csv.DictReader(io.StringIO(as_csv([line])))
    assert row["answer"] == '\'=HYPERLINK("x")'
    assert (row["right"], row["seconds"], row["hints"]) == ("false", "12.0", "0")
