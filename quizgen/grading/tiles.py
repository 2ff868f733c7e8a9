"""The circles of a flat sheet, each cut out with its middle in the middle of a tile.

Four markers say how the sheet lies as a whole. Paper also curls, and a feeder pulls it unevenly,
so the printed circles themselves are looked for near their places, and a smooth bend is laid
through what was found. Circles that are not there at all are the sign of another sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.forms.sheet import MARKER, PITCH, RADIUS, Sheet
from quizgen.grading.registration import SCALE, Flat, UnreadableError

HALF = PITCH / 2  # mm from the middle of a tile to its border
SIDE = round(PITCH * SCALE)  # pixels of a tile
SEARCH = 1.6  # mm that a circle may lie off its place
LEAST_SEEN = 0.6  # share of the circles that have to be found
FAINTEST = 0.3  # likeness of what may still be a circle; bare paper with noise comes to this
MOST_OFF = 0.45  # mm that a circle may lie off the bend laid through all
PULL = 0.05  # how stiff the bend is
PAPER = 92  # percentile of the greys around a circle that is paper, even with a ring drawn there

Floats = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Tiles:
    """`ink` (targets, SIDE, SIDE): 0 paper, 1 the black of the print. `bend` in mm, the most.

    `rims` (targets,) tell how well each printed circle was seen, 1 at best.
    """

    ink: Floats
    bend: float
    rims: Floats


def offsets() -> tuple[Floats, Floats]:
    """x and y of a tile's pixels from its middle, in mm."""
    steps = ((np.arange(SIDE) + 0.5) / SCALE - HALF).astype(np.float32)
    x, y = np.meshgrid(steps, steps)
    return x, y


def cut_tiles(flat: Flat, sheet: Sheet, beside: NDArray[np.float64]) -> tuple[Tiles, Floats]:
    """The tiles of all targets in their order, and those around the points `beside` (n, 2) mm.

    Raises UnreadableError where the printed circles are not found in their places.
    """
    places = np.array([(t.x, t.y) for _, t in sheet.targets], dtype=np.float64)
    moved, weights = _found(flat, places)
    bend = _bend(sheet, places, moved, weights)
    shift = bend(places)
    seen = weights > 0
    off = np.hypot(*(moved - shift)[seen].T) if seen.any() else np.array([np.inf])
    if seen.mean() < LEAST_SEEN or np.median(off) > MOST_OFF:
        raise UnreadableError(
            "the printed circles are not where this form has them; it may be a sheet of another "
            "set, or too pale or too crumpled to read"
        )
    most = float(np.hypot(*shift.T).max())
    tiles = _normalised(_cut(flat, places + shift, HALF), flat.contrast)
    extra = _normalised(_cut(flat, beside + bend(beside), HALF), flat.contrast)
    return Tiles(tiles, most, np.sqrt(weights)), extra


def _cut(flat: Flat, middles: NDArray[np.float64], half: float) -> Floats:
    """Square pieces around `middles` in mm, in one go: (n, side, side) greys."""
    import cv2  # noqa: PLC0415

    side = round(2 * half * SCALE)
    if not len(middles):
        return np.zeros((0, side, side), dtype=np.float32)
    steps = (np.arange(side) + 0.5) - side / 2
    x = middles[:, 0, None, None] * SCALE - 0.5 + steps[None, None, :]
    y = middles[:, 1, None, None] * SCALE - 0.5 + steps[None, :, None]
    x, y = (np.broadcast_to(v, (len(middles), side, side)) for v in (x, y))
    rows = max(30000 // side, 1)  # the library draws from maps of at most 32767 lines
    pieces = [
        cv2.remap(
            flat.grey,
            x[i : i + rows].reshape(-1, side).astype(np.float32),
            y[i : i + rows].reshape(-1, side).astype(np.float32),
            cv2.INTER_LINEAR,
            borderValue=255,
        )
        for i in range(0, len(middles), rows)
    ]
    return np.concatenate(pieces).reshape(len(middles), side, side).astype(np.float32)


def _normalised(grey: Floats, contrast: float) -> Floats:
    """Ink against the paper around each circle, so that shade and stains cancel out."""
    if not len(grey):
        return grey
    x, y = offsets()
    outside = np.hypot(x, y) > 1.15 * RADIUS
    paper = np.percentile(grey[:, outside], PAPER, axis=1)[:, None, None]
    return np.asarray((1.0 - grey / np.maximum(paper, 1.0)) / contrast, dtype=np.float32)


def _found(flat: Flat, places: NDArray[np.float64]) -> tuple[NDArray[np.float64], Floats]:
    """How far each circle lies from its place, (n, 2) mm, and how surely it was seen (0: not)."""
    import cv2  # noqa: PLC0415

    template = _rim()
    pieces = _cut(flat, places, template.shape[0] / 2 / SCALE + SEARCH)
    moved = np.zeros((len(places), 2))
    weights = np.zeros(len(places), dtype=np.float32)
    for i, piece in enumerate(pieces):
        fit = cv2.matchTemplate(255.0 - piece, template, cv2.TM_CCOEFF_NORMED)
        _, best, _, at = cv2.minMaxLoc(fit)
        if best > FAINTEST:
            weights[i] = best**2
            moved[i] = (np.array(at) - (np.array(fit.shape[::-1]) - 1) / 2) / SCALE
    return moved, weights


def _rim() -> Floats:
    """What a printed circle looks like: a dark rim, paper on both sides of it."""
    half = RADIUS + 0.8
    steps = (np.arange(round(2 * half * SCALE)) + 0.5) / SCALE - half
    distance = np.hypot(steps[:, None], steps[None, :])
    return np.asarray(np.exp(-(((distance - RADIUS) / 0.22) ** 2)), dtype=np.float32)


class _Bend:
    """A smooth shift over the page: a polynomial of second degree in x and y."""

    def __init__(self, sheet: Sheet, factors: NDArray[np.float64]) -> None:
        self.sheet, self.factors = sheet, factors

    def __call__(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(_terms(self.sheet, places) @ self.factors)


def _terms(sheet: Sheet, places: NDArray[np.float64]) -> NDArray[np.float64]:
    if not len(places):
        return np.zeros((0, 6))
    x = 2 * places[:, 0] / sheet.paper.width - 1
    y = 2 * places[:, 1] / sheet.paper.height - 1
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)


def _bend(
    sheet: Sheet, places: NDArray[np.float64], moved: NDArray[np.float64], weights: Floats
) -> _Bend:
    """Least squares through circles and markers; what lies off counts less, then not at all."""
    half = MARKER / 2
    corners = np.array([(m.x + half, m.y + half) for m in sheet.markers])
    terms = np.concatenate([_terms(sheet, places), _terms(sheet, corners)])
    shifts = np.concatenate([moved, np.zeros_like(corners)])
    weight = np.concatenate([weights, np.full(len(corners), 3.0)])
    factors = np.zeros((terms.shape[1], 2))
    for limit in (np.inf, 0.6, 0.3):
        off = np.hypot(*(shifts - terms @ factors).T)
        now = weight * (off <= limit) if np.isfinite(limit) else weight
        square = terms.T @ (terms * now[:, None]) + PULL * np.eye(terms.shape[1])
        factors = np.linalg.solve(square, terms.T @ (shifts * now[:, None]))
    return _Bend(sheet, factors)
