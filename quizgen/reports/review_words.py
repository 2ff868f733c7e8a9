"""A doubt about a scanned sheet in words, the same on page, table and terminal."""

from __future__ import annotations

from collections.abc import Mapping

from quizgen.grading.settling import Doubt

MOST_CHOICES = 8
LABELS = {
    "ignore": "set the page aside",
    "counts": "it counts",
    "none": "none of them counts",
}


def about(doubt: Doubt, names: Mapping[str, str]) -> str:
    """Where it is and whom it concerns."""
    parts = [f"{doubt.source.file}, page {doubt.source.place}"]
    if doubt.student:
        parts.append(f"{doubt.student} {names.get(doubt.student, '')}".strip())
    if doubt.form:
        parts.append(f"form {doubt.form}" + (f", question {doubt.item}" if doubt.item else ""))
    return " · ".join(parts)


def choices_of(doubt: Doubt) -> tuple[str, ...]:
    """What may be decided, in words; nothing where an answer is written."""
    pages = tuple(f"{number}: {place}" for number, place in enumerate(doubt.places, 1))
    others = doubt.choices[len(pages) :]
    few = others if len(others) <= MOST_CHOICES else others[-1:]
    more = () if few == others else ("student and form, such as S-001 A",)
    told = (f"{choice}: {LABELS[choice]}" if choice in LABELS else choice for choice in few)
    return (*pages, *more, *told)
