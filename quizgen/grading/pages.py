"""Scans as grey pictures: pages of a PDF, or pictures from a scanner or a telephone.

What a file is follows from its content. Nothing is decoded before its size is known, and what is
wrong with one page keeps no other page from being read.
"""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import InputError
from quizgen.grading.responses import Source

Picture = NDArray[np.uint8]  # (height, width), 0 black to 255 white

PDF_DPI = 200
MOST_PAGES = 2000
MOST_THINGS = 3000  # on a page of a PDF that are looked at one by one
MOST_BYTES = 500_000_000
MOST_PIXELS = 120_000_000  # of a picture as it is stored
MOST_SIDE = 4500  # pixels; larger pictures are made smaller, they read no better
LEAST_SIDE = 500
TOO_LARGE = "so many dots are too many; scan at 150 to 300 dots per inch"
FORMATS = ("PNG", "JPEG", "TIFF", "BMP", "WEBP", "PPM")


@dataclass(frozen=True, eq=False)
class Page:
    """One page of a scan. `source.place` counts from 1 within its file.

    `identity` is a hash of the picture as it is stored: the same for a page that comes again in
    another file.
    """

    source: Source
    identity: str
    picture: Picture


def iterate_pages(path: Path, first: int = 1, step: int = 1) -> Iterator[Page | InputError]:
    """The pages of a scan one after the other; in the place of a bad one what is wrong with it.

    From page `first` on every page, or every `step`th. Raises InputError for what is no scan at
    all.
    """
    data = _content(path)
    source = Source(file=path.name, digest=hashlib.sha256(data).hexdigest())
    if data[:1024].find(b"%PDF-") >= 0:
        yield from _of_pdf(path, data, source, slice(first, None, step))
    else:
        yield from _of_pictures(path, data, source, slice(first, None, step))


def _content(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise InputError(f"{path}: {size / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB")
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror or error})") from None


def _identity(*pieces: bytes) -> str:
    digest = hashlib.sha256()
    for piece in pieces:
        digest.update(piece)
    return digest.hexdigest()[:32]


# --- PDF ------------------------------------------------------------------------------------


def _of_pdf(path: Path, data: bytes, source: Source, which: slice) -> Iterator[Page | InputError]:
    import pypdfium2  # noqa: PLC0415  slow to load

    try:
        document = pypdfium2.PdfDocument(data)
        count = len(document)
    except pypdfium2.PdfiumError as error:
        locked = "assword" in str(error)
        reason = "is locked with a password; save it without one" if locked else "is a damaged PDF"
        raise InputError(f"{path}: {reason}") from None
    with document:
        if not 0 < count <= MOST_PAGES:
            raise InputError(
                f"{path}: {count} pages; at least 1 and at most {MOST_PAGES} at a time"
            )
        for number in range(count + 1)[which]:
            place = Source(file=source.file, digest=source.digest, place=number)
            try:
                yield _pdf_page(document, number - 1, place)
            except (pypdfium2.PdfiumError, ValueError, MemoryError, OSError) as error:
                yield InputError(f"{path}, page {number}: cannot be drawn ({_short(error)})")


def _pdf_page(document: Any, index: int, source: Source) -> Page:
    page = document[index]
    images, drawn_too = _content_of(page)
    for width, height in (image.get_px_size() for image in images):
        _check_size(width, height)
    width, height = page.get_size()
    scale = min(PDF_DPI / 72, MOST_SIDE / max(width, height, 1.0))
    pure = bool(images) and not drawn_too
    if pure:  # drawn finer than it was scanned it would say no more
        scale = min(scale, max(1.0, *(_dots_a_point(image) for image in images)))
    drawn = page.render(scale=scale, grayscale=True).to_numpy()
    picture = np.ascontiguousarray(drawn[:, :, 0] if drawn.ndim == 3 else drawn, dtype=np.uint8)
    if pure and all(_bits(image) == 1 for image in images):
        picture = np.where(picture < 128, 0, 255).astype(np.uint8)  # as it was before drawing
    stored = [bytes(image.get_data()) for image in images] if pure else [picture.tobytes()]
    page.close()
    return Page(source, _identity(*stored), picture)


def _content_of(page: Any) -> tuple[list[Any], bool]:
    """The pictures on a page, and whether anything else is on it, such as strokes of a tablet."""
    from pypdfium2 import raw  # noqa: PLC0415

    images, others = [], raw.FPDFPage_GetAnnotCount(page) > 0
    for thing in islice(page.get_objects(max_depth=4), MOST_THINGS):
        if thing.type == raw.FPDF_PAGEOBJ_IMAGE:
            images.append(thing)
        elif thing.type != raw.FPDF_PAGEOBJ_FORM:
            others = True
    return images, others


def _dots_a_point(image: Any) -> float:
    left, bottom, right, top = image.get_bounds()
    return float(max(image.get_px_size()) / max(right - left, top - bottom, 1.0))


def _bits(image: Any) -> int:
    return int(image.get_metadata().bits_per_pixel)


# --- pictures -------------------------------------------------------------------------------


def _of_pictures(
    path: Path, data: bytes, source: Source, which: slice
) -> Iterator[Page | InputError]:
    """All pictures of a file: a TIFF may have several."""
    from io import BytesIO  # noqa: PLC0415

    from PIL import Image  # noqa: PLC0415

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of the library about odd files: we have our own words
            image = Image.open(BytesIO(data), formats=FORMATS)
            # beside its photograph a telephone may store a smaller one
            count = 1 if image.format == "MPO" else getattr(image, "n_frames", 1)
    except Image.DecompressionBombError:
        yield InputError(f"{path}: {TOO_LARGE}")
        return
    except Exception:
        # whatever a broken file makes the library stumble over, it is no picture
        raise InputError(f"{path}: is no picture that can be read") from None
    if count > MOST_PAGES:
        raise InputError(f"{path}: {count} pictures; at most {MOST_PAGES} at a time")
    for number in range(count + 1)[which]:
        place = Source(file=source.file, digest=source.digest, place=number)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                image.seek(number - 1)
                picture = _grey(image)
        except Exception as error:
            yield InputError(f"{path}, page {number}: cannot be read ({_short(error)})")
        else:
            yield Page(place, _identity(data, str(number).encode()), picture)


def _grey(image: Any) -> Picture:
    """As grey picture on white, not larger than need be."""
    import cv2  # noqa: PLC0415

    _check_size(*image.size)
    if "A" in image.mode or "transparency" in image.info:
        image = _on_white(image)
    if image.mode.startswith(("I", "F")):
        full = np.asarray(image, dtype=np.float64)
        grey = full / max(float(full.max(initial=0.0)), 1.0) * 255.0
    else:
        grey = np.asarray(image.convert("L"))
    by = min(1.0, MOST_SIDE / max(grey.shape))
    small = cv2.resize(grey, None, fx=by, fy=by, interpolation=cv2.INTER_AREA) if by < 1 else grey
    return np.ascontiguousarray(small, dtype=np.uint8)


def _on_white(image: Any) -> Any:
    from PIL import Image  # noqa: PLC0415

    layers = image.convert("RGBA")
    return Image.alpha_composite(Image.new("RGBA", layers.size, "white"), layers)


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise ValueError(f"{width} x {height}: {TOO_LARGE}")


def _short(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text[:120] or type(error).__name__
