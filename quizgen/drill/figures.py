"""A diagram as a page for a browser, with its description for those who cannot see it."""

from __future__ import annotations

from html import escape
from pathlib import Path

from quizgen.base.writing import write_whole
from quizgen.drill.question import Picture

FOLDER = "figures"
_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>{title}</title>
<meta name="viewport" content="width=device-width">
<style>body {{ margin: 1em; font-family: sans-serif }} svg {{ max-width: 100%; height: auto }}
pre {{ white-space: pre-wrap; font: inherit }}</style>
<h1>{title}</h1>
{svg}
<details><summary>The diagram in words</summary><pre>{spoken}</pre></details>
</html>
"""


def write_figure(picture: Picture, folder: Path, name: str, title: str) -> Path:
    """Write the page `name`.html into the figures of a student's folder and return its path.

    Pages written before are removed. Raises OutsideError when that fails.
    """
    page = _PAGE.format(title=escape(title), svg=picture.svg, spoken=escape(picture.spoken))
    path = folder / FOLDER / f"{name}.html"
    for old in (folder / FOLDER).glob("*.html"):
        if old != path:
            old.unlink(missing_ok=True)
    return write_whole(path, page.encode())
