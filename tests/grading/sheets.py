"""Readings of scanned sheets, made without a scanner."""

from __future__ import annotations

from quizgen.grading.responses import Response, Source
from quizgen.grading.sheet_reading import FormReading, SheetReading

TOKEN = "abcd1234"
PICTURE = b"\x89PNG"


def answers(*texts: str) -> tuple[Response, ...]:
    """Letters of four questions; "" is blank, "B?" in doubt and most likely B."""
    made = []
    for number, text in enumerate(texts, 1):
        letters = tuple(text.rstrip("?"))
        state = "doubtful" if "?" in text else "answered" if text else "blank"
        doubt = "C unclear" if "?" in text else ""
        value = text.rstrip("?") if number == 4 else letters or ""
        made.append(Response(item=number, value=value, state=state, doubt=doubt))  # type: ignore[arg-type]
    return tuple(made)


def reading(
    identity: str, student: str = "S-001", form: str = "A",
    responses: tuple[Response, ...] = (), *, token: str = TOKEN, code: str | None = None,
    problem: str = "", file: str = "scan.pdf", place: int = 1, forms: str | None = None,
) -> SheetReading:  # fmt: skip
    """A page as read. `forms` are those whose circles stand like this."""
    given = responses or answers("B", "AC", "CABD", "11.9")
    seen = form if forms is None else forms
    return SheetReading(
        source=Source(file=file, digest="00", place=place),
        identity=identity,
        problem=problem,
        code=f"QUIZGEN 1 {token} {form} {student or '-'}" if code is None else code,
        forms=() if problem else tuple(FormReading(form=f, responses=given) for f in seen),
    )
