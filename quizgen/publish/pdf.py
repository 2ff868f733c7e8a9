"""HTML to PDF: tagged for screen readers (PDF/UA-1), in shipped fonts, the same bytes each time."""

from __future__ import annotations

import hashlib
from typing import Any

from quizgen.base.errors import OutsideError
from quizgen.base.paths import data_folder

FONTS = (
    "AtkinsonHyperlegible-Regular.ttf",
    "AtkinsonHyperlegible-Italic.ttf",
    "AtkinsonHyperlegible-Bold.ttf",
    "AtkinsonHyperlegible-BoldItalic.ttf",
    "DejaVuSans.ttf",
    "DejaVuSans-Bold.ttf",
)


def pdf_bytes(html: str) -> bytes:
    """`html` as a PDF.

    Only files and embedded data are read, never the network. Raises OutsideError when Pango or
    a shipped font is missing.
    """
    engine = _engine()
    folder = data_folder("templates") / "print"
    for name in FONTS:
        if not (folder / "fonts" / name).is_file():
            raise OutsideError(f"{folder / 'fonts' / name}: font missing; install quizgen again")
    document = engine.HTML(
        string=html,
        base_url=folder.as_uri() + "/",
        url_fetcher=engine.urls.URLFetcher(allowed_protocols={"file", "data"}),
    )
    pdf: bytes = document.write_pdf(
        pdf_variant="pdf/ua-1", pdf_identifier=hashlib.sha256(html.encode()).digest()[:16]
    )
    return pdf


def _engine() -> Any:  # the module ships no type information
    try:
        import weasyprint  # noqa: PLC0415  loads Pango: slow, and missing on some machines
    except OSError as error:
        library = str(error).split(":")[0].split("\n")[0]
        raise OutsideError(
            f"the PDF pages need Pango, and it could not be loaded ({library}); "
            "install it: apt-get install libpangoft2-1.0-0 libharfbuzz-subset0 (Debian), "
            "brew install pango (macOS)"
        ) from None
    return weasyprint
