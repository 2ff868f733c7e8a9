"""Marks on a flat sheet: empty, filled, or something that a person has to look at.

A circle is judged by how much ink lies inside its printed rim, against what the sheet's own
empty circles show (their grey letters, the scanner's noise). Two thresholds make three states;
nothing between them is guessed. Around each circle there should be bare paper: ink there is a
row crossed out, a ring, a tick beside it, a letter written next to it. The thresholds are ours:
`tests/bench/bench_scans.py` counts misreadings over marks of many kinds under blur, noise, shade
and bad light.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from quizgen.forms.sheet import MINUS, PITCH, RADIUS, Row, Sheet
from quizgen.grading.registration import SCALE, Flat, UnreadableError
from quizgen.grading.tiles import HALF, cut_tiles, offsets

State = Literal["empty", "unclear", "filled"]
Floats = NDArray[np.float32]

INSIDE = 0.82 * RADIUS  # clear of the rim
EMPTY_BELOW = 0.10  # of full ink, above the empty circles of the sheet, beside a filled circle
BESIDE_SHARE = 0.12  # of the darkest circle of the row: beside a weak one a trace may be the answer
BLANK_BELOW = 0.025  # the same in a row without a filled circle: a thin stroke may be the answer
FILLED_ABOVE = 0.38
OWN_SHARE = 0.62  # of the darker marks of this sheet's writer: a hard pencil fills paler
OWN_LIMITS = (0.2, 0.5)  # whatever the writer's marks are
WEAK = 1.3  # times what is filled: a letter written over a circle comes to that
STAINED = 0.5  # share of the ink inside that stands around it too: a stain may cover both
DARK = 0.45  # ink that no stain comes to
LEAST_OWN = 4  # rows that tell how a writer fills a circle
HALO = (1.16, 1.28, 1.4, 1.52)  # radii around the rim, where a ring would be drawn
HALO_ABOVE = 0.12
CROSS = (1.28, 1.5)  # radii beyond a fill that spills a little, where the arms of a cross end
CROSS_ABOVE = 0.35  # ink of an arm
BETWEEN = 0.7  # mm, half of the width that should be bare between the arms
BARE_SHARE = 0.5  # of both limits of ink beside circles, in a row without a filled circle
SPREAD = 5.0  # standard deviations of the empty circles that count as empty all the same
FRAME = 0.35  # mm along a tile's border that should be bare paper
STROKE_ABOVE = 0.16  # ink of a stroke across the border
STROKE_SPREAD = 6.0  # standard deviations of bare borders that are no stroke
WRITING_ABOVE = 0.012  # mean ink of what is written beside a row
LEAST_RIM = 0.4  # how well an empty circle has to be seen: glare and damaged files wipe them out
MOST_BASE = 0.18  # of ink in the circles that are taken for empty
# ink inside the rim that the grey letter of a target leaves there, as printed: a minus leaves less
# than a B, and a pale stroke over it must not pass for the difference
PRINTED = {
    "A": 0.044, "B": 0.056, "C": 0.038, "D": 0.050, "E": 0.043, "F": 0.036, "G": 0.049,
    "H": 0.046, MINUS: 0.012, "0": 0.056, "1": 0.021, "2": 0.037, "3": 0.038, "4": 0.039,
    "5": 0.040, "6": 0.044, "7": 0.029, "8": 0.046, "9": 0.039,
}  # fmt: skip
USUAL = 0.042  # of these, what most targets leave
PALER, DARKER = 0.5, 1.3  # limits of how much more or less of it a scan may show


@dataclass(frozen=True)
class Mark:
    """One circle: what it stands for, ink beyond that of an empty one, state."""

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


@dataclass(frozen=True, eq=False)
class _Measured:
    """Of every circle, in order: ink inside, and the ink of strokes over its four borders."""

    ink: Floats
    strokes: Floats  # (targets, 4): left, right, above, below
    halo: Floats  # ink around the rim
    arms: Floats  # beyond it, as four strokes outwards leave it
    rims: Floats  # how well the printed circle was seen
    written: Floats  # of every row: ink on the paper behind its last circle
    blank_below: float
    empty_below: float
    filled_above: float
    stroke_noise: float  # what bare paper may show
    halo_noise: float


def read_marks(flat: Flat, sheet: Sheet) -> tuple[RowMarks, ...]:
    """Every row of a sheet. Raises UnreadableError where its circles are not to be seen."""
    measured = _measure(flat, sheet)
    rows = []
    start = 0
    for number, row in enumerate(sheet.rows):
        mine = slice(start, start + len(row.targets))
        rows.append(_row(row, measured, mine, float(measured.written[number]), flat.two_tone))
        start = mine.stop
    return tuple(rows)


def _measure(flat: Flat, sheet: Sheet) -> _Measured:
    beside = np.array([(r.targets[-1].x + PITCH, r.targets[-1].y) for r in sheet.rows])
    tiles, papers = cut_tiles(flat, sheet, beside)
    x, y = offsets()
    distance = np.asarray(np.hypot(x, y), dtype=np.float32)
    inside = distance < INSIDE
    ink = _without_letters(sheet, tiles.ink[:, inside].mean(axis=1))
    base, noise = _empty_level(ink)
    if base > MOST_BASE:
        raise UnreadableError("most circles are dark; the scan is too dark or the sheet is soiled")
    strokes = _borders(tiles.ink).max(axis=2)
    around = _halo(tiles.ink, distance / RADIUS)
    halo_base, halo_noise = _empty_level(around)
    stroke_base, stroke_noise = _empty_level(strokes.ravel())
    filled_above = _own_level(sheet, ink - base, max(BLANK_BELOW, SPREAD * noise))
    return _Measured(
        ink=ink - base,
        strokes=strokes,
        halo=around - halo_base,
        arms=_arms(tiles.ink, x, y),
        rims=tiles.rims,
        written=_written(papers),
        blank_below=min(max(BLANK_BELOW, SPREAD * noise), filled_above / 2),
        empty_below=min(max(EMPTY_BELOW, SPREAD * noise), filled_above / 2),
        filled_above=filled_above,
        stroke_noise=stroke_base + STROKE_SPREAD * stroke_noise,
        halo_noise=SPREAD * halo_noise,
    )


def _without_letters(sheet: Sheet, ink: Floats) -> Floats:
    """Ink as if all targets had the same letter, by what the sheet shows of its letters."""
    letters = np.array([PRINTED[target.value] for _, target in sheet.targets], dtype=np.float32)
    shown = np.clip(_empty_level(ink)[0] / USUAL, PALER, DARKER)
    return np.asarray(ink - shown * (letters - USUAL), dtype=np.float32)


def _own_level(sheet: Sheet, inks: Floats, blank_below: float) -> float:
    """From which ink on a circle is filled, by the darker quarter of this writer's marks.

    Only rows with one marked circle tell.
    """
    own = []
    start = 0
    for row in sheet.rows:
        mine = np.sort(inks[start : start + len(row.targets)])
        start += len(row.targets)
        if len(mine) > 1 and mine[-1] > 2 * blank_below and mine[-2] < blank_below:
            own.append(float(mine[-1]))
    if len(own) < LEAST_OWN:
        return FILLED_ABOVE
    return float(np.clip(OWN_SHARE * np.percentile(own, 75), *OWN_LIMITS))


def _empty_level(inks: Floats) -> tuple[float, float]:
    """Ink of an empty circle and its spread, from the lighter half of the sheet's circles."""
    lighter = np.sort(inks)[: max(len(inks) // 2, 1)]
    middle = float(np.median(lighter))
    return middle, float(np.median(np.abs(lighter - middle)) * 1.4826)


def _borders(ink: Floats) -> Floats:
    """Ink along the four borders of each tile above that border's own middle: (n, 4, along)."""
    wide = max(round(FRAME * SCALE), 1)
    strips = np.stack(
        [ink[:, :, :wide].mean(axis=2), ink[:, :, -wide:].mean(axis=2),
         ink[:, :wide, :].mean(axis=1), ink[:, -wide:, :].mean(axis=1)],
        axis=1,
    )  # fmt: skip
    smooth = (strips[..., :-2] + strips[..., 1:-1] + strips[..., 2:]) / 3
    return np.asarray(smooth - np.median(smooth, axis=2, keepdims=True), dtype=np.float32)


def _halo(ink: Floats, radius: Floats) -> Floats:
    """Ink around each circle: of three narrow rings the darkest."""
    rings = [
        ink[:, (radius > inner) & (radius <= outer)].mean(axis=1) for inner, outer in pairwise(HALO)
    ]
    return np.asarray(np.max(rings, axis=0), dtype=np.float32)


def _arms(ink: Floats, x: Floats, y: Floats) -> Floats:
    """Ink of strokes that leave the circle in all four quarters, as those of a cross do.

    A fill that is too large shows as much between the quarters, so that is taken off twice.
    """
    smooth = (ink[:, :-1, :-1] + ink[:, 1:, :-1] + ink[:, :-1, 1:] + ink[:, 1:, 1:]) / 4
    x, y = x[:-1, :-1], y[:-1, :-1]
    radius = np.hypot(x, y) / RADIUS
    ring = (radius > CROSS[0]) & (radius < CROSS[1])
    quarters = [ring & (right == (x > 0)) & (low == (y > 0)) for right in (0, 1) for low in (0, 1)]
    least = np.min([smooth[:, quarter].max(axis=1) for quarter in quarters], axis=0)
    narrow = ring & (np.minimum(np.abs(x), np.abs(y)) < BETWEEN)
    sides = [narrow & side for side in (x > RADIUS, x < -RADIUS, y > RADIUS, y < -RADIUS)]
    between = np.median([smooth[:, side].mean(axis=1) for side in sides], axis=0)
    return np.asarray(least - 2 * between, dtype=np.float32)


def _written(papers: Floats) -> Floats:
    """Mean ink of what stands out on the paper beside a row."""
    x, y = offsets()
    middle = (np.abs(x) < 0.9 * HALF) & (np.abs(y) < 0.9 * HALF)
    plain = papers[:, middle]
    return np.asarray(np.clip(plain - 0.15, 0, None).mean(axis=1), dtype=np.float32)


def _row(row: Row, measured: _Measured, mine: slice, written: float, two_tone: bool) -> RowMarks:
    inks = measured.ink[mine]
    any_filled = bool((inks > measured.filled_above).any())
    limit = measured.blank_below
    if any_filled:
        limit = max(limit, min(measured.empty_below, BESIDE_SHARE * float(inks.max())))
    marks = tuple(
        Mark(target.value, round(float(ink), 4), _state(float(ink), limit, measured.filled_above))
        for target, ink in zip(row.targets, inks, strict=True)
    )
    filled = tuple(m.value for m in marks if m.state == "filled")
    doubts = [*_doubts(row, marks), *_beside(marks, measured, mine)]
    rims = zip(marks, measured.rims[mine], strict=True)
    unseen = [m.value for m, rim in rims if m.state != "filled" and rim < LEAST_RIM]
    if unseen:
        doubts.append(f"the printed circles of {' '.join(unseen)} cannot be seen")
    if row.box is None and written > WRITING_ABOVE:
        doubts.append("something is written beside the row")
    if two_tone and not doubts:
        doubts.append("the scan is black and white only, a pale mark may be lost; scan in grey")
    return RowMarks(row.item, row.place, marks, filled, "; ".join(doubts))


def _state(ink: float, empty_below: float, filled_above: float) -> State:
    if abs(ink) < empty_below:  # lighter than empty: the paper around it was taken for darker
        return "empty"
    return "filled" if ink > filled_above else "unclear"


def _doubts(row: Row, marks: Sequence[Mark]) -> Iterator[str]:
    filled = [m.value for m in marks if m.state == "filled"]
    unclear = [m.value for m in marks if m.state == "unclear"]
    if len(filled) > 1 and not row.many:
        yield f"{' and '.join(filled)} are filled"
    if unclear and filled:
        yield f"{' '.join(filled)} filled, {' '.join(unclear)} unclear"
    elif unclear:
        yield f"{' '.join(unclear)} unclear"


def _beside(marks: Sequence[Mark], measured: _Measured, mine: slice) -> Iterator[str]:
    """Strokes beside circles. A well filled one may spill over a side, not over two opposite."""
    share = 1.0 if any(mark.state == "filled" for mark in marks) else BARE_SHARE
    over = measured.strokes[mine] > max(share * STROKE_ABOVE, measured.stroke_noise)
    through = (over[:, 0] & over[:, 1]) | (over[:, 2] & over[:, 3])
    ring = measured.halo[mine] > max(share * HALO_ABOVE, measured.halo_noise)
    inks = measured.ink[mine]
    stained = ring & (measured.halo[mine] > STAINED * inks) & (inks < DARK)
    filled_well = inks > WEAK * measured.filled_above
    odd = np.where(filled_well, through, over.any(axis=1) | ring) | stained
    beside = [mark.value for mark, is_odd in zip(marks, odd, strict=True) if is_odd]
    if beside:
        yield f"marks beside {' '.join(beside)}"
    struck = [
        mark.value
        for mark, arm in zip(marks, measured.arms[mine], strict=True)
        if mark.state == "filled" and arm > CROSS_ABOVE and mark.value not in beside
    ]
    if struck:
        yield f"{' '.join(struck)} may be crossed out, or filled with a cross"
