"""Scanned files: every sort that is promised is read, and nothing that a file holds does harm."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import Highlight
from pypdf.generic import ArrayObject, FloatObject, NameObject

from quizgen.base.errors import InputError
from quizgen.grading.pages import MOST_PAGES, MOST_PIXELS, Page, iterate_pages

GREYS = np.tile(np.linspace(0, 255, 60).astype(np.uint8), (80, 1))


def stored(form: str, picture: Image.Image | None = None, **options: object) -> bytes:
    """A picture in a file format."""
    file = BytesIO()
    image = picture or Image.fromarray(GREYS)
    image.save(file, form, **options)  # type: ignore[arg-type]
    return file.getvalue()


PDF = stored("PDF", resolution=72)


@pytest.fixture
def pages_of(tmp_path: Path) -> Callable[[bytes], list[Page | InputError]]:
    """The pages of a file with some content."""

    def read(content: bytes) -> list[Page | InputError]:
        path = tmp_path / "scan.bin"
        path.write_bytes(content)
        return list(iterate_pages(path))

    return read


Pages = Callable[[bytes], list[Page | InputError]]


@pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF", "WEBP", "BMP", "PPM"])
def test_pictures_of_every_sort(pages_of: Pages, form: str) -> None:
    """Whatever the name of the file, grey comes out as it went in."""
    (page,) = pages_of(stored(form))
    assert isinstance(page, Page)
    assert np.abs(page.picture.astype(int) - GREYS).max() < 12


@pytest.mark.parametrize("mode", ["1", "P", "RGB", "RGBA", "LA", "I;16", "CMYK"])
def test_pictures_in_every_mode_of_colour(pages_of: Pages, mode: str) -> None:
    """Two tones, palette, colour, sixteen bits: white stays white and black black."""
    half = np.repeat(np.array([[0, 255]], dtype=np.uint8), 30, axis=1).repeat(80, axis=0)
    if mode == "I;16":
        image = Image.fromarray(half.astype(np.uint16) * 257)
    else:
        image = Image.fromarray(half).convert(mode)
    (page,) = pages_of(stored("TIFF" if mode == "CMYK" else "PNG", image))
    assert isinstance(page, Page)
    assert page.picture[:, :30].max() < 5
    assert page.picture[:, 30:].min() > 250


def test_what_is_transparent_is_paper(pages_of: Pages) -> None:
    """A picture without a background is black on white, not black on black."""
    image = Image.new("RGBA", (60, 80), (0, 0, 0, 0))
    (page,) = pages_of(stored("PNG", image))
    assert isinstance(page, Page)
    assert page.picture.min() == 255


def test_files_of_many_pages(pages_of: Pages) -> None:
    """PDF and TIFF, numbered from 1, each page with an identity of its own."""
    for form in ("PDF", "TIFF"):
        others = [Image.fromarray(greys) for greys in (255 - GREYS, GREYS // 2)]
        pages = pages_of(stored(form, save_all=True, append_images=others))
        assert [p.source.place for p in pages if isinstance(p, Page)] == [1, 2, 3]
        assert len({p.identity for p in pages if isinstance(p, Page)}) == 3


def test_a_page_is_known_again_in_another_pdf(pages_of: Pages) -> None:
    """Joined with other pages it keeps its identity."""
    (alone,) = pages_of(PDF)
    other = stored("PDF", Image.fromarray(GREYS // 2), resolution=72)
    joined = PdfWriter()
    for piece in (other, PDF):
        joined.append(PdfReader(BytesIO(piece)))
    file = BytesIO()
    joined.write(file)
    pages = pages_of(file.getvalue())
    assert isinstance(alone, Page)
    assert [getattr(p, "identity", "") == alone.identity for p in pages] == [False, True]


@pytest.mark.parametrize(("resolution", "height"), [(72, 80), (100, 80), (400, 40)])
def test_a_pdf_is_drawn_as_fine_as_it_was_scanned(
    pages_of: Pages, resolution: int, height: int
) -> None:
    """80 dots stay 80, unless there are more than 200 to the inch."""
    (page,) = pages_of(stored("PDF", resolution=resolution))
    assert isinstance(page, Page)
    assert abs(page.picture.shape[0] - height) <= 1


def test_marks_drawn_over_the_same_picture_make_another_page(pages_of: Pages) -> None:
    """As a tablet does: the same picture below, other strokes above, and neither is lost."""
    identities = set()
    for stroke in (b"", b"0 0 m 30 60 l S ", b"0 60 m 30 0 l S "):
        writer = PdfWriter()
        writer.append(PdfReader(BytesIO(PDF)))
        page = writer.pages[0]
        content = page.get_contents()
        assert content is not None
        content.set_data(content.get_data() + b"\nQ q 4 w " + stroke)
        page[NameObject("/Contents")] = writer._add_object(content)
        file = BytesIO()
        writer.write(file)
        (found,) = pages_of(file.getvalue())
        assert isinstance(found, Page)
        identities.add(found.identity)
    assert len(identities) == 3
    for right in (20, 50):  # an annotation is no part of the page's own content
        writer = PdfWriter()
        writer.append(PdfReader(BytesIO(PDF)))
        writer.add_annotation(0, Highlight(rect=(0, 0, right, 60), quad_points=ArrayObject(
            [FloatObject(v) for v in (0, 60, right, 60, 0, 0, right, 0)])))  # fmt: skip
        file = BytesIO()
        writer.write(file)
        (found,) = pages_of(file.getvalue())
        assert isinstance(found, Page)
        identities.add(found.identity)
    assert len(identities) == 5


def test_a_pdf_of_two_tones_stays_one(pages_of: Pages) -> None:
    """Drawing it makes no greys that the scanner never saw."""
    image = Image.fromarray(GREYS).convert("1")
    (page,) = pages_of(stored("PDF", image, resolution=50))
    assert isinstance(page, Page)
    assert set(np.unique(page.picture)) <= {0, 255}


# --- files that mean harm, or had an accident ------------------------------------------------


def png_of(width: int, height: int) -> bytes:
    """The head of a PNG that says it is so large; its content would fill the memory."""
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(10_000))), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in chunks
    )


def pdf_of_large_picture() -> bytes:
    """A page that is one picture, said to be of 30,000 × 30,000 dots."""
    assert b"/Width 60" in PDF
    return PDF.replace(b"/Width 60", b"/Width 30000").replace(b"/Height 80", b"/Height 30000")


def test_a_picture_that_is_too_large_is_one_line(pages_of: Pages) -> None:
    """Said before it is decoded, with what to do."""
    assert MOST_PIXELS < 20_000 * 20_000
    for content in (png_of(20_000, 20_000), pdf_of_large_picture()):
        (problem,) = pages_of(content)
        assert isinstance(problem, InputError)
        assert "too many; scan at 150 to 300" in str(problem)


def test_a_pdf_with_too_many_pages_is_refused(pages_of: Pages) -> None:
    """Before any of them is drawn."""
    writer = PdfWriter()
    for _ in range(MOST_PAGES + 1):
        writer.add_blank_page(72, 72)
    file = BytesIO()
    writer.write(file)
    with pytest.raises(InputError, match=f"{MOST_PAGES + 1} pages; at least 1 and at most"):
        pages_of(file.getvalue())


def test_a_locked_pdf_says_so(pages_of: Pages) -> None:
    """And what to do."""
    writer = PdfWriter()
    writer.append(PdfReader(BytesIO(PDF)))
    writer.encrypt("secret", algorithm="RC4-128")
    file = BytesIO()
    writer.write(file)
    with pytest.raises(InputError, match="locked with a password; save it without one"):
        pages_of(file.getvalue())


@pytest.mark.parametrize("content", [b"", b"no picture", b"%PDF-1.7 and no more", PDF[:300]])
def test_what_is_no_scan_is_one_line(pages_of: Pages, content: bytes) -> None:
    """Nothing, text, half a file."""
    with pytest.raises(InputError, match=r"damaged PDF|no picture that can be read"):
        pages_of(content)


SEEDS = (PDF, stored("PNG"), stored("JPEG"), stored("TIFF"), stored("TIFF", compression="group4",
         picture=Image.fromarray(GREYS).convert("1")))  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(SEEDS),
    st.lists(st.tuples(st.floats(0, 1), st.binary(max_size=6), st.integers(0, 20)), max_size=6),
    st.floats(0, 1),
)
def test_no_file_makes_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, content: bytes,
    changes: list[tuple[float, bytes, int]], kept: float,
) -> None:  # fmt: skip
    """Bytes put in, taken out and cut off: pages, or one line about the file."""
    for where, new, removed in changes:
        at = int(where * len(content))
        content = content[:at] + new + content[at + removed :]
    path = tmp_path_factory.getbasetemp() / "mutated.bin"
    path.write_bytes(content[: int((0.5 + kept / 2) * len(content)) + 1])
    try:
        for page in iterate_pages(path):
            assert isinstance(page, InputError) or page.picture.ndim == 2
    except InputError:
        pass  # one line about the file
