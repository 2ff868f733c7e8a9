"""Page records to HTML, through the templates in templates/print.

Every text passes `typeset` and is escaped; a misspelt field in a template is an error.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache

import jinja2
from markupsafe import Markup

from quizgen import __version__
from quizgen.base.paths import data_folder
from quizgen.publish.figure import (
    data_address,
    fitted,
    flexible,
    grey,
    natural_size,
    smallest_letters,
)
from quizgen.publish.legend import legend_of
from quizgen.publish.page_options import PageOptions, Size
from quizgen.publish.placement import MOST_ENLARGED, Place, place_all
from quizgen.publish.room import least_scale
from quizgen.publish.screen import standalone
from quizgen.publish.sheet_svg import NameTag
from quizgen.publish.typeset import typeset
from quizgen.publish.view import AnswerKey, Figure, Heading, Workbook

CAPTION = 40.0  # mm kept for what is said below a figure in large print
KEY_LETTERS = 5.0  # pt, of figures in the key: the instructor has the large ones in the workbook


def workbook_html(workbook: Workbook, options: PageOptions, *, screen: bool = False) -> str:
    """The workbook's pages as one HTML document; for a `screen`, with all that it needs in it."""
    places = place_all(workbook.problems, options)
    values = {
        "book": workbook,
        "heading": workbook.heading,
        "legend": legend_of(workbook),
        "placed": list(zip(workbook.problems, places, strict=True)),
    }
    return render("workbook.html.j2", values, options, screen)


def key_html(key: AnswerKey, options: PageOptions, *, screen: bool = False) -> str:
    """The answer key's pages as one HTML document; `screen` as for a workbook."""
    longest = max((len(form.answers) for form in key.forms), default=0)
    values = {"key": key, "heading": key.heading, "longest": longest}
    return render("key.html.j2", values, options, screen)


def sheets_html(heading: Heading, sheets: Sequence[tuple[str, str, NameTag]], size: str) -> str:
    """Answer sheets, each a drawing, what it says in words, and the name over it; on pages of
    `size` for CSS.
    """
    page = _templates().get_template("sheets.html.j2")
    shown = [
        {"address": data_address(svg), "alternative": words, "name": name}
        for svg, words, name in sheets
    ]
    return page.render(
        heading=heading, sheets=shown, size=size, moment=document_moment(), version=__version__
    )


def render(template: str, values: Mapping[str, object], options: PageOptions, screen: bool) -> str:
    """A template of templates/print with `values`, which hold a `heading`; `screen` as above."""

    def image(figure: Figure, place: Place | None = None) -> dict[str, object]:
        svg = grey(figure.svg) if options.black_and_white else figure.svg
        size = place.size if place else _small(svg, options)
        shown = {"size": size, "place": place.kind if place else "small"}
        if screen:  # within the page, or its letters would be set in some other font
            return {"inline": Markup(flexible(svg)), **shown}
        return {"address": data_address(svg), "inline": "", **shown}

    page = _templates().get_template(template)
    html = page.render(
        **values, options=options, image=image, moment=document_moment(), version=__version__,
        screen=screen,
    )  # fmt: skip
    return standalone(html) if screen else html


def _small(svg: str, options: PageOptions) -> Size:
    """A figure of the key: no larger than the page asks, its letters just readable."""
    natural, room = natural_size(svg), options.room
    if options.large_print:
        return fitted(natural, room.width, room.height - CAPTION, MOST_ENLARGED)
    most = max(KEY_LETTERS / 7, least_scale(smallest_letters(svg), KEY_LETTERS))
    return fitted(natural, room.width, 0.6 * room.height, most)


@cache
def _templates() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(data_folder("templates") / "print"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=lambda value: typeset(value) if type(value) is str else value,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment


def document_moment() -> str:
    """The date that goes into the document, as W3C text, so that the same input gives the same
    bytes: SOURCE_DATE_EPOCH (reproducible-builds.org) where it is set, else a fixed day.
    """
    seconds = os.environ.get("SOURCE_DATE_EPOCH", "")
    moment = datetime.fromtimestamp(int(seconds) if seconds.isdigit() else 1_767_225_600, UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
