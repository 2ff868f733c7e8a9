"""A diagram as a page for a browser, with its description for those who cannot see it."""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path

from quizgen.base.paths import data_folder
from quizgen.base.writing import write_whole
from quizgen.drill import page as blocks
from quizgen.drill.page import Page
from quizgen.drill.question import Picture, Shown
from quizgen.drill.words import say

FOLDER = "figures"
_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>{title}</title>
<meta name="viewport" content="width=device-width">
<style>{fonts}
body {{ margin: 1em; font-family: "Atkinson Hyperlegible", sans-serif }}
svg {{ width: min(100%, 60rem); height: auto }}
pre {{ white-space: pre-wrap; font: inherit }}</style>
<h1>{title}</h1>
{svg}
<details><summary>The diagram in words</summary><pre>{spoken}</pre></details>
</html>
"""


_FONT = """@font-face {{ font-family: "Atkinson Hyperlegible"; font-weight: {weight};
  src: url(data:font/ttf;base64,{data}) }}
"""
WEIGHTS = ((400, "AtkinsonHyperlegible-Regular.ttf"), (700, "AtkinsonHyperlegible-Bold.ttf"))


def figure_page(shown: Shown, folder: Path, name: str) -> Page:
    """Write the diagram of a question as `name`.html into a student's folder, and say where it is.

    Pages written before are removed. Raises OutsideError when that fails.
    """
    if shown.picture is None:
        return (blocks.Para(say("no_picture")),)
    title = say("figure_title", number=shown.number, machine=shown.machine)
    path = _write(shown.picture, folder, name, title)
    return (blocks.Para(say("opened")), blocks.Path(str(path)))


def _write(picture: Picture, folder: Path, name: str, title: str) -> Path:
    page = _PAGE.format(
        title=escape(title), svg=picture.svg, spoken=escape(picture.spoken), fonts=_fonts()
    )
    path = folder / FOLDER / f"{name}.html"
    for old in (folder / FOLDER).glob("*.html"):
        if old != path:
            old.unlink(missing_ok=True)
    return write_whole(path, page.encode())


def _fonts() -> str:
    """The font that the drawing was measured with, inside the page."""
    folder = data_folder("templates") / "print" / "fonts"
    return "".join(
        _FONT.format(weight=weight, data=base64.b64encode((folder / name).read_bytes()).decode())
        for weight, name in WEIGHTS
    )
