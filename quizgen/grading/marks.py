"""Marks on a flat sheet: empty, filled, or something that a person has to look at.

A target is judged by how much ink lies inside its printed rim, against what the sheet's own
empty targets show (their grey letters, the scanner's noise). Two thresholds make three states;
nothing between them is guessed. The thresholds are ours: `tests/bench/bench_scans.py` counts
misreadings over marks of many kinds under blur, noise, shade and bad light.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from quizgen.forms.sheet import RADIUS, Row, Sheet
from quizgen.grading.registration import Flat

State = Literal["empty", "unclear", "filled"]

INSIDE = 0.82 * RADIUS  # clear of the rim
BESIDE = (1.22 * RADIUS, 1.5 * RADIUS)  # around the rim, clear of neighbours
EMPTY_BELOW = 0.10  # of full ink, above the empty targets of the sheet
FILLED_ABOVE = 0.38
SPREAD = 6.0  # standard deviations of the empty targets that count as empty all the same
STRAY_ABOVE = 0.30  # ink around a target: a cross, a line, a ring


@dataclass(frozen=True)
class Mark:
    """One target: what it stands for, ink beyond that of an empty one, state."""

    value: str
    ink: float
    state: State


@dataclass(frozen=True)
class RowMarks:
    """One row with its answer: values filled. `doubt` says why a person has to look, "" if not."""

    item: int
    place: int
    marks: tuple[Mark, ...]
    answer: tuple[str, ...]
    doubt: str = ""


def read_marks(flat: Flat, sheet: Sheet) -> tuple[RowMarks, ...]:
    """Every row of a sheet."""
    inks = [[flat.disc(t.x, t.y, INSIDE) for t in row.targets] for row in sheet.rows]
    around = [[flat.ring(t.x, t.y, *BESIDE) for t in row.targets] for row in sheet.rows]
    base, noise = _empty_level([ink for row in inks for ink in row])
    limit = max(EMPTY_BELOW, SPREAD * noise)
    return tuple(
        _row(row, [ink - base for ink in mine], stray, min(limit, FILLED_ABOVE / 2))
        for row, mine, stray in zip(sheet.rows, inks, around, strict=True)
    )


def _empty_level(inks: Sequence[float]) -> tuple[float, float]:
    """Ink of an empty target and its spread, from the lighter half of the sheet's targets."""
    lighter = np.sort(np.array(inks))[: max(len(inks) // 2, 1)]
    middle = float(np.median(lighter))
    return middle, float(np.median(np.abs(lighter - middle)) * 1.4826)


def _row(row: Row, inks: Sequence[float], stray: Sequence[float], empty_below: float) -> RowMarks:
    marks = tuple(
        Mark(target.value, round(ink, 4), _state(ink, empty_below))
        for target, ink in zip(row.targets, inks, strict=True)
    )
    filled = tuple(m.value for m in marks if m.state == "filled")
    doubt = "; ".join(_doubts(row, marks, stray))
    return RowMarks(row.item, row.place, marks, filled, doubt)


def _state(ink: float, empty_below: float) -> State:
    if ink < empty_below:
        return "empty"
    return "filled" if ink > FILLED_ABOVE else "unclear"


def _doubts(row: Row, marks: Sequence[Mark], stray: Sequence[float]) -> Iterator[str]:
    filled = [m.value for m in marks if m.state == "filled"]
    unclear = [m.value for m in marks if m.state == "unclear"]
    if len(filled) > 1 and not row.many:
        yield f"{' and '.join(filled)} are filled"
    if unclear and filled:
        yield f"{' '.join(filled)} filled, {' '.join(unclear)} unclear"
    elif unclear:
        yield f"{' '.join(unclear)} unclear"
    beside = [t.value for t, ink in zip(row.targets, stray, strict=True) if ink > STRAY_ABOVE]
    if beside:
        yield f"marks beside {' '.join(beside)}"
