"""From a picture of a sheet to the sheet: flat, upright, so many pixels a millimetre.

The sixteen corners of the four markers give a homography, whatever way round the page lay and
however the camera was held. Which paper it is follows from which of them the markers fit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.forms.sheet import CODE, MARKER, PAPERS, Paper, lay_out_sheet
from quizgen.grading.pages import LEAST_SIDE, Picture

MARKERS = 4
LARGE = 5200  # pixels of a picture that is looked at once more in another size
SCALE = 8.0  # pixels a millimetre of the flat sheet
MOST_SKEW = 1.2  # mm that a marker corner may lie off; more, and the paper is not flat
LEAST_CONTRAST = 0.3  # of a marker's black against the paper around it
LEAST_STEPS = 30  # between the two, in greys of 255: less is mostly noise
ENDS = 8  # greys that count as plain black or plain white
TWO_TONE = 0.02  # of the plain black: less grey than that, and the scanner threw it away

Array = NDArray[np.float64]


class UnreadableError(Exception):
    """Why a page cannot be read as a sheet; somebody has to look at it."""


@dataclass(frozen=True, eq=False)
class Flat:
    """A sheet made flat.

    `grey` has SCALE pixels a millimetre. `skew` is how far the worst marker corner lies from its
    place, in mm; `contrast` how much darker than paper black is, from 0 to 1. A `two_tone` scan
    has lost what was pale.
    """

    paper: Paper
    grey: Picture
    skew: float
    contrast: float
    two_tone: bool = False

    def crop(self, left: float, top: float, right: float, bottom: float) -> Picture:
        """A piece of the grey picture, borders in mm."""
        height, width = self.grey.shape
        x0, x1 = (int(np.clip(v * SCALE, 0, width)) for v in (left, right))
        y0, y1 = (int(np.clip(v * SCALE, 0, height)) for v in (top, bottom))
        return np.ascontiguousarray(self.grey[y0:y1, x0:x1])


def flatten(picture: Picture) -> Flat:
    """The sheet in a picture, on the paper that fits best. Raises UnreadableError."""
    return next(flattened(picture))


def flattened(picture: Picture) -> Iterator[Flat]:
    """The sheet in a picture on each paper that it may be, the best fit first.

    A coarse picture taken at an angle may fit more than one. Raises UnreadableError where it fits
    none.
    """
    if min(picture.shape) < LEAST_SIDE:
        raise UnreadableError(f"the picture is too small, {picture.shape[1]} x {picture.shape[0]}")
    seen = _all_corners(picture)
    fits = sorted(_fitted(seen, page) for page in PAPERS.values())
    if fits[0][0] > MOST_SKEW:
        raise UnreadableError(
            f"the paper is not flat: a corner marker lies {fits[0][0]:.1f} mm off"
        )
    for skew, name, matrix in fits:
        if skew <= MOST_SKEW:
            yield _warped(picture, PAPERS[name], np.array(matrix).reshape(3, 3), skew)


def _warped(picture: Picture, page: Paper, matrix: Array, skew: float) -> Flat:
    import cv2  # noqa: PLC0415

    size = (round(page.width * SCALE), round(page.height * SCALE))
    to_pixels = np.diag([SCALE, SCALE, 1.0]) @ matrix
    warped = cv2.warpPerspective(picture, to_pixels, size, flags=cv2.INTER_LINEAR, borderValue=255)
    grey = np.ascontiguousarray(warped, dtype=np.uint8)
    return Flat(page, grey, skew, _contrast(grey, page), _is_two_tone(picture))


def _all_corners(picture: Picture) -> dict[int, Array]:
    """The corners of all four markers, (4, 2) each; a poor picture is looked at again."""
    found = _corners(picture)
    for by in (0.5, 2.0):
        if len(found) < MARKERS and max(picture.shape) * by < LARGE:
            again = _corners(_smoother(picture) if by < 1 else _sharper(picture))
            # pixel middles lie half a pixel in
            found = {n: (corners + 0.5) / by - 0.5 for n, corners in again.items()} | found
    if len(found) < MARKERS:
        raise UnreadableError(_missing(MARKERS - len(found)))
    return found


def _smoother(picture: Picture) -> Picture:
    """Half as large: noise and specks average out."""
    import cv2  # noqa: PLC0415

    small = cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8)


def _sharper(picture: Picture) -> Picture:
    """Twice as large, its edges steeper."""
    import cv2  # noqa: PLC0415

    large = cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    soft = cv2.GaussianBlur(large, (0, 0), 4)
    return np.asarray(cv2.addWeighted(large, 2.5, soft, -1.5, 0), dtype=np.uint8)


def _corners(picture: Picture) -> dict[int, Array]:
    """The corners of each marker in the picture, (4, 2)."""
    import cv2  # noqa: PLC0415

    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    patterns = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(patterns, parameters).detectMarkers(picture)
    found: dict[int, Array] = {}
    for number, square in zip([] if ids is None else ids.ravel().tolist(), corners, strict=True):
        if number < MARKERS:
            if number in found:
                raise UnreadableError("more than one sheet is in the picture")
            found[number] = np.asarray(square[0], dtype=np.float64)
    return found


def _missing(count: int) -> str:
    if count == MARKERS:
        return "no corner marker can be seen; this is no answer sheet, or it is too blurred"
    which = "one corner marker" if count == 1 else f"{count} of the four corner markers"
    return (
        f"{which} cannot be seen; the whole sheet has to be in the picture, nothing on its corners"
    )


def _fitted(seen: dict[int, Array], page: Paper) -> tuple[float, str, tuple[float, ...]]:
    """How far the worst corner lies off if it is this paper; its name; picture → mm."""
    import cv2  # noqa: PLC0415

    markers = lay_out_sheet((), page.name).markers
    around = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    meant = np.array([(m.x + dx * MARKER, m.y + dy * MARKER) for m in markers for dx, dy in around])
    points = np.concatenate([seen[m.id] for m in markers])
    matrix, _ = cv2.findHomography(points, meant)
    if matrix is None or not np.isfinite(matrix).all():
        raise UnreadableError("the corner markers do not lie as on a sheet")
    mapped = cv2.perspectiveTransform(points[None], matrix)[0]
    skew = float(np.abs(mapped - meant).max())
    return (skew if np.isfinite(skew) else np.inf), page.name, tuple(matrix.ravel().tolist())


def _contrast(grey: Picture, page: Paper) -> float:
    """How much darker than the paper beside them the markers' black is. Raises if too little."""
    ratios, steps = [], []
    for marker in lay_out_sheet((), page.name).markers:
        black = float(np.percentile(_piece(grey, marker.x, marker.y, MARKER), 10))
        around = _piece(grey, marker.x - 2.0, marker.y - 2.0, MARKER + 4.0)
        white = max(float(np.percentile(around, 95)), 1.0)
        ratios.append(1.0 - black / white)
        steps.append(white - black)
    if min(ratios) < LEAST_CONTRAST or min(steps) < LEAST_STEPS:
        raise UnreadableError(
            f"too little contrast: black is only {min(ratios):.0%} darker than the paper beside it"
        )
    return float(np.median(ratios))


def _piece(picture: Picture, x: float, y: float, side: float) -> Picture:
    x0, y0 = (max(round(v * SCALE), 0) for v in (x, y))
    return picture[y0 : y0 + round(side * SCALE), x0 : x0 + round(side * SCALE)]


def _is_two_tone(picture: Picture) -> bool:
    """Whether there is next to nothing between black and white, not even at edges."""
    sample = picture[::2, ::2]
    dark = np.count_nonzero(sample <= ENDS)
    white = np.count_nonzero(sample >= 255 - ENDS)
    return bool(dark > 0 and sample.size - dark - white < TWO_TONE * dark)


def read_code(flat: Flat, left: float, top: float) -> str:
    """What the QR code says, its top left corner at (left, top) mm; "" if it cannot be read."""
    import cv2  # noqa: PLC0415
    import zxingcpp  # noqa: PLC0415

    qr = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
    piece = flat.crop(left - 2.0, top - 2.0, left + CODE + 2.0, top + CODE + 2.0)
    for prepared in (piece, cv2.GaussianBlur(piece, (0, 0), 1.5), _sharpened(piece)):
        for found in zxingcpp.read_barcodes(prepared, qr):
            if found.text:
                return str(found.text)
    return ""


def _sharpened(piece: Picture) -> Picture:
    import cv2  # noqa: PLC0415

    soft = cv2.GaussianBlur(piece, (0, 0), 3.0).astype(np.float32)
    sharp = np.clip(piece + 2.0 * (piece - soft), 0, 255)
    return np.ascontiguousarray(sharp, dtype=np.uint8)
