"""The files themselves: the same bytes, whole or not at all, tagged, in our fonts, without keys."""

from __future__ import annotations

import builtins
import dataclasses
import errno
import io
import itertools
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pdfplumber
import pytest
from pypdf import PdfReader

from quizgen.base.errors import InputError, OutsideError
from quizgen.base.paths import data_folder
from quizgen.base.writing import write_whole
from quizgen.publish import pdf as pdf_module
from quizgen.publish.documents import key_bytes, workbook_bytes
from quizgen.publish.html import key_html, workbook_html
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import FONTS, pdf_bytes
from quizgen.publish.view import Choice, Problem, Workbook
from tests.publish.samples import HEADING, SECRET, answer_key, drawing, problem, workbook

ROOT = Path(__file__).parents[2]
BOOK = workbook(problem(1, drawing()))


def reader(pdf: bytes) -> PdfReader:
    """The PDF, parsed."""
    return PdfReader(io.BytesIO(pdf))


@pytest.fixture(scope="module")
def book_pdf() -> bytes:
    """One printed workbook with a figure."""
    return pdf_bytes(workbook_html(BOOK, PageOptions()))


# --- reproducible ---------------------------------------------------------------------


def test_same_input_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """Neither the hash seed, the time zone nor the folder changes a byte."""
    code = (
        "import sys; from pathlib import Path; from quizgen.base.writing import write_whole; "
        "from quizgen.publish.documents import *; from tests.publish.samples import *; "
        "book = workbook_bytes(workbook(problem(1, drawing())), 'pdf'); "
        "write_whole(Path(sys.argv[1]), book); "
        "write_whole(Path(sys.argv[2]), key_bytes(answer_key(1), 'pdf'))"
    )
    printed = []
    for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo")):
        files = [tmp_path / seed / "book.pdf", tmp_path / seed / "key.pdf"]
        surroundings = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT)}
        subprocess.run(
            [sys.executable, "-c", code, *map(str, files)],
            check=True, env=surroundings, cwd=files[0].parents[1],
        )  # fmt: skip
        printed.append([file.read_bytes() for file in files])
    assert printed[0] == printed[1]


def test_the_date_in_the_document_comes_from_source_date_epoch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """SOURCE_DATE_EPOCH as defined by reproducible-builds.org: seconds since 1970, UTC."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    info = reader(pdf_bytes(workbook_html(BOOK, PageOptions()))).metadata
    assert info is not None
    assert info["/CreationDate"].startswith("D:19700102000000")
    assert info["/ModDate"].startswith("D:19700102000000")


# --- for a screen reader ---------------------------------------------------------------


def structure(node: object, found: list[dict]) -> list[dict]:
    """Every structure element of a tagged PDF, in reading order."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            structure(child, found)
    elif isinstance(node, dict):
        if "/S" in node:
            found.append(node)
        structure(node.get("/K", []), found)
    return found


def test_the_document_says_what_pdf_ua_asks_for(book_pdf: bytes) -> None:
    """ISO 14289-1 (PDF/UA-1): tagged, language, title shown, and the standard named in the XMP."""
    document = reader(book_pdf)
    root = document.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert document.metadata is not None
    assert document.metadata.title == "Four circuits, one meter, form A"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def test_every_figure_has_its_text_alternative(book_pdf: bytes) -> None:
    """A figure can be read aloud: the text of the record is its alternative."""
    figures = [
        element
        for element in structure(reader(book_pdf).trailer["/Root"]["/StructTreeRoot"], [])
        if element["/S"] == "/Figure"
    ]
    assert [f["/Alt"].replace("\u00a0", " ") for f in figures] == [drawing().alternative]


def test_headings_follow_each_other_without_a_gap() -> None:
    """ISO 14289-1, 7.4: heading levels are not skipped."""
    for html in (workbook_html(BOOK, PageOptions()), key_html(answer_key(2), PageOptions())):
        elements = structure(reader(pdf_bytes(html)).trailer["/Root"]["/StructTreeRoot"], [])
        levels = [int(e["/S"][2]) for e in elements if e["/S"][:2] == "/H" and e["/S"] != "/H"]
        assert levels[0] == 1
        assert all(b <= a + 1 for a, b in itertools.pairwise(levels))


# --- fonts -----------------------------------------------------------------------------


def test_all_letters_come_from_the_shipped_fonts() -> None:
    """Ω, µ, ×, arrows, Greek, Cyrillic, Hebrew, Arabic: no font of this machine is embedded."""
    odd = dataclasses.replace(
        problem(1, drawing()), stem=("Ω µ μ × ± ≥ → ← ↑ ↓ ✓ ☐ ł ő ñ αβγ Жук כהן يوسف",)
    )
    document = reader(pdf_bytes(workbook_html(workbook(odd), PageOptions())))
    fonts = {
        str(font.get_object()["/BaseFont"]).split("+")[1]
        for page in document.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert fonts <= {"Atkinson-Hyperlegible", "Atkinson-Hyperlegible-Bold", "DejaVu-Sans"}
    assert len(fonts) == 3


@pytest.mark.parametrize("name", FONTS)
def test_each_font_has_its_licence_beside_it(name: str) -> None:
    """A shipped font travels with the text of its licence."""
    folder = data_folder("templates") / "print" / "fonts"
    family = "DejaVu" if name.startswith("DejaVu") else name.split("-", maxsplit=1)[0]
    assert "ermission" in (folder / f"{family}-LICENSE.txt").read_text(encoding="utf-8")


# --- nothing of the key ------------------------------------------------------------------


def test_a_workbook_record_has_no_place_for_a_key() -> None:
    """What a student receives is made from records without key, reason, proof or item id."""
    fields = {f.name for c in (Workbook, Problem, Choice) for f in dataclasses.fields(c)}
    assert not fields & {"key", "is_key", "reasons", "rationale", "misconception", "proof", "item"}


def test_every_option_of_a_workbook_is_printed_alike() -> None:
    """Swapping two options changes nothing but their places: no mark tells the key."""
    html = workbook_html(workbook(problem(1, None, ("red", "blue"))), PageOptions())
    swapped = workbook_html(workbook(problem(1, None, ("blue", "red"))), PageOptions())
    assert html != swapped
    assert html.replace("red<", "?<").replace("blue<", "?<") == swapped.replace(
        "red<", "?<"
    ).replace("blue<", "?<")
    assert SECRET not in html


# --- writing -----------------------------------------------------------------------------


def test_documents_are_written_and_their_path_returned(tmp_path: Path) -> None:
    """Folders are made as needed; a PDF begins with its signature (ISO 32000-1, 7.5.2)."""
    folder = tmp_path / "week-01"
    book = write_whole(folder / "form A.pdf", workbook_bytes(BOOK, "pdf"))
    key = write_whole(folder / "key.pdf", key_bytes(answer_key(1), "pdf"))
    assert book.read_bytes()[:5] == key.read_bytes()[:5] == b"%PDF-"
    assert sorted(p.name for p in book.parent.iterdir()) == ["form A.pdf", "key.pdf"]


def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk gives one line, keeps yesterday's pages and leaves no half file."""
    path = write_whole(tmp_path / "key.pdf", b"old")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutsideError, match=r"key\.pdf: cannot be written \(No space left"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_disk_that_fills_up_is_one_line_and_no_half_file(tmp_path: Path) -> None:
    """The system refuses the 2,001st byte of any file (POSIX setrlimit, RLIMIT_FSIZE)."""
    code = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000)); "
        "from quizgen.cli.main import main; "
        "sys.argv = ['quizgen', 'circuit', 'draw', 'washer-pump', '--out', sys.argv[1]]; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "pump.svg")],
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 4
    assert len(done.stderr.splitlines()) == 1
    assert "pump.svg: cannot be written" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_an_unchanged_file_is_left_alone(tmp_path: Path) -> None:
    """A second run over the same input touches nothing."""
    path = write_whole(tmp_path / "key.pdf", b"same")
    os.utime(path, (1, 1))
    write_whole(path, b"same")
    assert path.stat().st_mtime == 1


@pytest.mark.parametrize("place", ["file/key.pdf", "folder"])
def test_a_place_that_cannot_hold_the_file_is_named(tmp_path: Path, place: str) -> None:
    """A file where a folder should be, or a folder in the file's place, gives one line."""
    (tmp_path / "file").write_text("x")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutsideError, match="cannot be written") as caught:
        write_whole(tmp_path / place, b"x")
    assert "\n" not in str(caught.value)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_permission_is_named(tmp_path: Path) -> None:
    """A read-only folder gives one line that says so."""
    tmp_path.chmod(0o500)
    with pytest.raises(OutsideError, match="Permission denied"):
        write_whole(tmp_path / "key.pdf", b"x")


# --- what is missing outside ---------------------------------------------------------------


def test_missing_pango_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the text library is not installed, the message says what to install."""
    real = builtins.__import__

    def without_pango(name: str, *rest: object, **more: object) -> object:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0': error 2.\nAdditionally ...")
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(builtins, "__import__", without_pango)
    with pytest.raises(OutsideError, match=r"need Pango.*libpango-1\.0-0.*apt-get") as caught:
        pdf_bytes("<p>x</p>")
    assert "\n" not in str(caught.value)


def test_a_missing_font_is_one_clear_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages are never set in some other font because a shipped one is gone."""
    shutil.copytree(data_folder("templates") / "print", tmp_path / "print")
    (tmp_path / "print" / "fonts" / "DejaVuSans.ttf").unlink()
    monkeypatch.setattr(pdf_module, "data_folder", lambda _: tmp_path)
    with pytest.raises(OutsideError, match=r"DejaVuSans\.ttf: font missing"):
        pdf_bytes("<p>x</p>")


def test_an_unknown_page_size_names_the_known_ones() -> None:
    """A page size that cannot be printed is refused with the sizes there are."""
    with pytest.raises(InputError, match="'b4': choose one of a4 a3 letter"):
        PageOptions(size="b4")


def test_a_spacing_that_nobody_could_read_is_refused() -> None:
    """Lines that touch, or stand a page apart; the range is named."""
    with pytest.raises(InputError, match=r"line spacing 0\.5: choose 1\.2 to 2"):
        PageOptions(line_spacing=0.5)


def test_lines_stand_as_far_apart_as_was_asked_for() -> None:
    """Spacing 2 sets the lines of a stem 21 pt apart: twice 10.5 pt."""
    html = workbook_html(workbook(problem(1)), PageOptions(line_spacing=2.0))
    page = pdfplumber.open(io.BytesIO(pdf_bytes(html))).pages[1]
    first = next(w for w in page.extract_words() if w["text"] == "The")
    under = [w["top"] for w in page.extract_words() if abs(w["x0"] - first["x0"]) < 1]
    assert sorted(under)[sorted(under).index(first["top"]) + 1] - first["top"] == pytest.approx(
        21, abs=0.1
    )


def test_the_heading_goes_into_title_and_author(book_pdf: bytes) -> None:
    """Title and author of the file are those of the set; the item ids are not in it."""
    info = reader(book_pdf).metadata
    assert info is not None
    assert info.author == HEADING.college
    assert b"7f3a" not in book_pdf


def test_the_edition_for_a_screen_needs_no_other_file() -> None:
    """No script, no link, no picture from elsewhere; the figure says in words what it shows."""
    html = workbook_bytes(workbook(problem(1, drawing())), "html").decode()
    assert "<script" not in html
    assert "<link" not in html
    assert not re.findall(r'(?:src|href)="(?!data:)', html)
    assert not re.findall(r"url\((?!data:)", html)
    assert html.count('role="img"') == 1
    assert "viewport" in html
