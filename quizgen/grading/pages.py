"""Scans as grey pictures: pages of a PDF, or pictures from a scanner or a telephone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import InputError

Picture = NDArray[np.uint8]  # (height, width), 0 black to 255 white

PDF_DPI = 200
MOST_PAGES = 2000
MOST_SIDE = 4500  # pixels; larger pictures are made smaller, they read no better
LEAST_SIDE = 500
PICTURES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp")


@dataclass(frozen=True, eq=False)
class Page:
    """One page of a scan. `number` counts from 1 within its file."""

    file: Path
    number: int
    picture: Picture

    def __str__(self) -> str:
        return f"{self.file.name}, page {self.number}"


def iterate_pages(path: Path) -> Iterator[Page]:
    """The pages of a scan, one after the other. Raises InputError for what is no scan."""
    if path.suffix.lower() == ".pdf":
        yield from _of_pdf(path)
    elif path.suffix.lower() in PICTURES:
        yield from _of_pictures(path)
    else:
        raise InputError(f"{path}: not a scan; give a PDF or one of {' '.join(PICTURES)}")


def _of_pdf(path: Path) -> Iterator[Page]:
    import pypdfium2  # noqa: PLC0415  slow to load

    try:
        document = pypdfium2.PdfDocument(path)
    except (pypdfium2.PdfiumError, OSError) as error:
        raise InputError(f"{path}: cannot be read as a PDF ({error})") from None
    with document:
        if len(document) > MOST_PAGES:
            raise InputError(f"{path}: {len(document)} pages; at most {MOST_PAGES} at a time")
        for number in range(len(document)):
            yield Page(path, number + 1, _drawn(path, document, number))


def _drawn(path: Path, document: Any, number: int) -> Picture:
    import pypdfium2  # noqa: PLC0415

    try:
        page = document[number]
        width, height = page.get_size()
        scale = min(PDF_DPI / 72, MOST_SIDE / max(width, height, 1.0))
        drawn = page.render(scale=scale, grayscale=True).to_numpy()
    except (pypdfium2.PdfiumError, ValueError, MemoryError) as error:
        raise InputError(f"{path}, page {number + 1}: cannot be drawn ({error})") from None
    flat = drawn[:, :, 0] if drawn.ndim == 3 else drawn
    return np.ascontiguousarray(flat, dtype=np.uint8)


def _of_pictures(path: Path) -> Iterator[Page]:
    """All pictures of a file: a TIFF may have several."""
    import cv2  # noqa: PLC0415

    try:
        data = np.frombuffer(path.read_bytes(), dtype=np.uint8)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    try:
        good, found = cv2.imdecodemulti(data, cv2.IMREAD_GRAYSCALE) if data.size else (False, ())
    except cv2.error:
        good, found = False, ()
    if not good or not found:
        raise InputError(f"{path}: is no picture that can be read")
    for number, picture in enumerate(found, 1):
        by = min(1.0, MOST_SIDE / max(picture.shape))
        small = cv2.resize(picture, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
        yield Page(path, number, np.ascontiguousarray(small, dtype=np.uint8))
