"""What the QR code of an answer sheet says: which set, which form, whose. Nothing about keys."""

from __future__ import annotations

from dataclasses import dataclass

FIRST = ("QUIZGEN", "1")  # what the sheet belongs to, and the version of this text
NOBODY = "-"


@dataclass(frozen=True)
class SheetCode:
    """Token of the set, code of the form, id of the student ("" on a sheet without a name)."""

    token: str
    form: str
    student: str = ""

    @property
    def text(self) -> str:
        """As printed.

        >>> SheetCode("ab12cd34", "A").text
        'QUIZGEN 1 ab12cd34 A -'
        """
        return " ".join((*FIRST, self.token, self.form, self.student or NOBODY))


def parse_sheet_code(text: str) -> SheetCode | None:
    """The parts of a code; None for a code that belongs to something else.

    >>> parse_sheet_code("QUIZGEN 1 ab12cd34 A S-007")
    SheetCode(token='ab12cd34', form='A', student='S-007')
    """
    match text.split(" "):
        case [program, version, token, form, student] if (program, version) == FIRST:
            if token and form and student:
                return SheetCode(token, form, "" if student == NOBODY else student)
    return None
