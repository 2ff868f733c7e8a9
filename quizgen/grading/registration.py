"""From a picture of a sheet to the sheet: flat, upright, evenly lit, so many pixels a millimetre.

The sixteen corners of the four markers give a homography, whatever way round the page lay and
however the camera was held. What is as bright as the paper around it becomes white: shade
is divided out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.forms.sheet import CODE, MARKER, PAPERS, Paper, lay_out_sheet
from quizgen.grading.pages import LEAST_SIDE, Picture

SCALE = 8.0  # pixels a millimetre of the flat sheet
SHADE = 20.0  # mm over which the paper's brightness may change
MOST_SKEW = 1.2  # mm that a marker corner may lie off; more, and the paper is not flat
LEAST_CONTRAST = 0.35  # between paper and marker, of full scale

Array = NDArray[np.float64]


class UnreadableError(Exception):
    """Why a page cannot be read as a sheet; somebody has to look at it."""


@dataclass(frozen=True, eq=False)
class Flat:
    """A sheet made flat. `ink` (height, width) is 0 for paper, 1 for black; `skew` in mm."""

    paper: Paper
    grey: Picture
    ink: NDArray[np.float32]
    skew: float
    contrast: float

    def disc(self, x: float, y: float, radius: float) -> float:
        """Mean ink within `radius` mm of (x, y) mm."""
        return float(self._around(x, y, radius)[self._ring(x, y, 0.0, radius)].mean())

    def ring(self, x: float, y: float, inner: float, outer: float) -> float:
        """Mean ink between two radii."""
        return float(self._around(x, y, outer)[self._ring(x, y, inner, outer)].mean())

    def crop(self, left: float, top: float, right: float, bottom: float) -> Picture:
        """A piece of the grey picture, borders in mm."""
        height, width = self.grey.shape
        x0, x1 = (int(np.clip(v * SCALE, 0, width)) for v in (left, right))
        y0, y1 = (int(np.clip(v * SCALE, 0, height)) for v in (top, bottom))
        return np.ascontiguousarray(self.grey[y0:y1, x0:x1])

    def _window(self, x: float, y: float, reach: float) -> tuple[slice, slice]:
        height, width = self.ink.shape
        x0, x1 = (int(np.clip(round(v * SCALE), 0, width)) for v in (x - reach, x + reach))
        y0, y1 = (int(np.clip(round(v * SCALE), 0, height)) for v in (y - reach, y + reach))
        return slice(y0, y1), slice(x0, x1)

    def _around(self, x: float, y: float, reach: float) -> NDArray[np.float32]:
        return self.ink[self._window(x, y, reach)]

    def _ring(self, x: float, y: float, inner: float, outer: float) -> NDArray[np.bool_]:
        rows, columns = self._window(x, y, outer)
        ys = (np.arange(rows.start, rows.stop) + 0.5) / SCALE - y
        xs = (np.arange(columns.start, columns.stop) + 0.5) / SCALE - x
        distance = np.hypot(ys[:, None], xs[None, :])
        return np.asarray((distance >= inner) & (distance <= outer))


def flatten(picture: Picture, paper: str = "a4") -> Flat:
    """The sheet in a picture. Raises UnreadableError."""
    import cv2  # noqa: PLC0415

    if min(picture.shape) < LEAST_SIDE:
        raise UnreadableError(f"the picture is too small, {picture.shape[1]} x {picture.shape[0]}")
    seen, meant = _corners(picture, PAPERS[paper])
    matrix, _ = cv2.findHomography(seen, meant)
    if matrix is None:
        raise UnreadableError("the corner markers do not lie as on a sheet")
    mapped = cv2.perspectiveTransform(seen[None], matrix)[0]
    skew = float(np.abs(mapped - meant).max())
    if skew > MOST_SKEW:
        raise UnreadableError(f"the paper is not flat: a corner marker lies {skew:.1f} mm off")
    page = PAPERS[paper]
    size = (round(page.width * SCALE), round(page.height * SCALE))
    to_pixels = np.diag([SCALE, SCALE, 1.0])
    grey = cv2.warpPerspective(
        picture, to_pixels @ matrix, size, flags=cv2.INTER_AREA, borderValue=255
    )
    grey = np.ascontiguousarray(grey, dtype=np.uint8)
    ink = _without_shade(grey)
    contrast = _contrast(grey, page)
    if contrast < LEAST_CONTRAST:
        raise UnreadableError(
            f"too little contrast: black is only {contrast:.0%} darker than paper"
        )
    return Flat(page, grey, ink / contrast_of_ink(ink, page), skew, contrast)


def _corners(picture: Picture, page: Paper) -> tuple[Array, Array]:
    """The marker corners in the picture (16, 2), and where they are on the sheet in mm."""
    import cv2  # noqa: PLC0415

    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    patterns = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(patterns, parameters).detectMarkers(picture)
    places = {m.id: (m.x, m.y) for m in lay_out_sheet((), page.name).markers}
    found: dict[int, Array] = {}
    for number, square in zip([] if ids is None else ids.ravel().tolist(), corners, strict=True):
        if number in places:
            if number in found:
                raise UnreadableError("more than one sheet in the picture")
            found[number] = np.asarray(square[0], dtype=np.float64)
    if len(found) < len(places):
        missing = len(places) - len(found)
        raise UnreadableError(
            f"{missing} of the four corner markers cannot be seen; lay the whole sheet on the glass"
        )
    meant = [
        (x + dx * MARKER, y + dy * MARKER)
        for number in sorted(places)
        for x, y in [places[number]]
        for dx, dy in ((0, 0), (1, 0), (1, 1), (0, 1))
    ]
    return np.concatenate([found[n] for n in sorted(places)]), np.array(meant, dtype=np.float64)


def _without_shade(grey: Picture) -> NDArray[np.float32]:
    """1 − brightness relative to the paper nearby."""
    import cv2  # noqa: PLC0415

    by = 4  # the paper's brightness changes slowly: a small picture of it will do
    small = cv2.resize(grey, None, fx=1 / by, fy=1 / by, interpolation=cv2.INTER_AREA)
    side = int(SHADE * SCALE / by) | 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    paper = cv2.morphologyEx(cv2.medianBlur(small, 5), cv2.MORPH_CLOSE, kernel)
    paper = cv2.GaussianBlur(paper, (0, 0), side / 3)
    paper = cv2.resize(paper, grey.shape[::-1], interpolation=cv2.INTER_LINEAR)
    relative = grey.astype(np.float32) / np.maximum(paper.astype(np.float32), 1.0)
    return np.asarray(np.clip(1.0 - relative, 0.0, 1.0), dtype=np.float32)


def _contrast(grey: Picture, page: Paper) -> float:
    """Between the paper beside a marker and its black border, the least of the four."""
    found = []
    for marker in lay_out_sheet((), page.name).markers:
        piece = _piece(grey, marker.x, marker.y, MARKER)
        black = float(np.percentile(piece, 10))
        around = _piece(grey, marker.x - 2.0, marker.y - 2.0, MARKER + 4.0)
        found.append((float(np.percentile(around, 95)) - black) / 255.0)
    return min(found)


def contrast_of_ink(ink: NDArray[np.float32], page: Paper) -> np.float32:
    """How dark the markers' black comes out: the measure of full ink on this sheet."""
    pieces = [
        np.percentile(_piece(ink, m.x, m.y, MARKER), 80)
        for m in lay_out_sheet((), page.name).markers
    ]
    return np.float32(max(float(np.median(pieces)), 0.2))


def _piece(
    picture: Picture | NDArray[np.float32], x: float, y: float, side: float
) -> NDArray[np.float32]:
    x0, y0 = (max(round(v * SCALE), 0) for v in (x, y))
    piece = picture[y0 : y0 + round(side * SCALE), x0 : x0 + round(side * SCALE)]
    return np.asarray(piece, dtype=np.float32)


def read_code(flat: Flat, left: float, top: float) -> str:
    """What the QR code says, its top left corner at (left, top) mm; "" if it cannot be read."""
    import cv2  # noqa: PLC0415

    piece = flat.crop(left - 2.0, top - 2.0, left + CODE + 2.0, top + CODE + 2.0)
    reader = cv2.QRCodeDetector()
    for prepared in (piece, cv2.GaussianBlur(piece, (0, 0), 1.5), _two_tone(piece)):
        for scale in (1.0, 2.0):
            larger = cv2.resize(prepared, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
            try:
                text, _, _ = reader.detectAndDecode(larger)
            except cv2.error:
                continue
            if text:
                return str(text)
    return ""


def _two_tone(piece: Picture) -> Picture:
    import cv2  # noqa: PLC0415

    _, black = cv2.threshold(piece, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return np.ascontiguousarray(black, dtype=np.uint8)
