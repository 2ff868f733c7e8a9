"""One picture to one reading: whose sheet, which form, what it answers, and what is doubtful.

A reading holds only what the machine saw. What people decide about it is laid over it later
(`grading.settling`), so that a decision can be replayed on a page that is read again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.forms.sheet import HEAD, NUMBER_WIDTH, PITCH, Sheet, lay_out_sheet
from quizgen.forms.sheet_code import SheetCode, parse_sheet_code
from quizgen.grading.marks import RowMarks, read_marks
from quizgen.grading.pages import Page, Picture
from quizgen.grading.registration import SCALE, Flat, UnreadableError, flattened, read_code
from quizgen.grading.responses import Response, Source
from quizgen.grading.sheet_answers import responses_of

CROP_SCALE = 5.0  # pixels a millimetre of a crop
PAGE_SIDE = 900  # pixels of a page that is shown as a whole
DARK = 0.87  # of the paper around it; what shines through from the front is paler
BLANK_PAGE = 2e-4  # share of dark pixels on the back of a sheet
BLANK_SIDE = 700  # pixels of a page that is looked at for any ink
AROUND = 41  # pixels of it that are taken for the paper around
MARGIN = 3.0  # mm around a question that is shown


@dataclass(frozen=True, kw_only=True)
class FormReading:
    """What the marks say if the sheet is of this form. `inks` tell how dark each circle was."""

    form: str
    responses: tuple[Response, ...]
    inks: tuple[str, ...] = ()  # of each question


@dataclass(frozen=True, kw_only=True)
class Crop:
    """A piece of the page as PNG: `what` is "page", "head", or the number of a question."""

    what: str
    png: bytes


@dataclass(frozen=True, kw_only=True)
class SheetReading:
    """A page as read.

    `problem` says why it cannot be read at all. `code` is what the QR code says, "" when it
    cannot be read; then `forms` has a reading for every form whose circles stand like this.
    """

    source: Source
    identity: str
    problem: str = ""
    code: str = ""
    forms: tuple[FormReading, ...] = ()
    crops: tuple[Crop, ...] = ()
    figures: str = ""  # contrast, how far the markers lie off

    @property
    def bearer(self) -> SheetCode | None:
        """Set, form and student by the QR code; None where there is none of ours."""
        return parse_sheet_code(self.code)


def read_sheet(page: Page, problem_set: ProblemSet) -> SheetReading | None:
    """The reading of a page; None for an empty page, such as the back of a sheet."""
    reading = SheetReading(source=page.source, identity=page.identity)
    problem = ""
    try:
        for flat in flattened(page.picture):
            try:
                return _read_flat(flat, reading, problem_set)
            except UnreadableError as error:
                problem = problem or str(error)
    except UnreadableError as error:
        problem = problem or str(error)
    if _is_blank(page.picture):
        return None
    whole = Crop(what="page", png=_png(page.picture, PAGE_SIDE / max(page.picture.shape)))
    return replace(reading, problem=problem, crops=(whole,))


def _read_flat(flat: Flat, reading: SheetReading, problem_set: ProblemSet) -> SheetReading:
    code = read_code(flat, *lay_out_sheet((), flat.paper.name).code)
    found = replace(
        reading,
        code=code,
        figures=f"contrast {flat.contrast:.0%}, markers within {flat.skew:.1f} mm",
        crops=(_head(flat),),
    )
    bearer = found.bearer
    if code and (bearer is None or bearer.token != problem_set.token):
        return found
    forms = [f for f in problem_set.forms if bearer is None or f.code == bearer.form]
    return _with_marks(flat, found, forms)


def _with_marks(flat: Flat, found: SheetReading, forms: Sequence[Form]) -> SheetReading:
    """The same with the marks, by every form that they may be of."""
    seen: dict[Sheet, tuple[RowMarks, ...] | UnreadableError] = {}
    readings, crops = [], {crop.what: crop for crop in found.crops}
    problem: UnreadableError | None = None
    for form in forms:
        sheet = lay_out_sheet(form.items, flat.paper.name)
        if sheet not in seen:  # many forms look the same
            seen[sheet] = _marks(flat, sheet)
        rows = seen[sheet]
        if isinstance(rows, UnreadableError):
            problem = rows
            continue
        responses = responses_of(rows, form.items)
        readings.append(FormReading(form=form.code, responses=responses, inks=_inks(rows, form)))
        crops |= {crop.what: crop for crop in _question_crops(flat, sheet, responses)}
    if problem and not readings:
        raise problem
    return replace(found, forms=tuple(readings), crops=tuple(crops.values()))


def _marks(flat: Flat, sheet: Sheet) -> tuple[RowMarks, ...] | UnreadableError:
    """Every row by this layout, or why none can be read."""
    try:
        return read_marks(flat, sheet)
    except UnreadableError as error:
        return error


def _inks(rows: Sequence[RowMarks], form: Form) -> tuple[str, ...]:
    """For each question how dark its circles are, in hundredths of full ink."""
    shown: dict[int, list[str]] = {number: [] for number in range(1, len(form.items) + 1)}
    for row in rows:
        inks = ", ".join(f"{m.value} {max(round(100 * m.ink), 0)}" for m in row.marks)
        shown[row.item].append(inks)
    return tuple("; ".join(lines) for lines in shown.values())


# --- pieces to look at ----------------------------------------------------------------------


def _head(flat: Flat) -> Crop:
    return Crop(what="head", png=_png(flat.crop(0.0, 0.0, flat.paper.width, HEAD - 4.0), 0.5))


def _question_crops(flat: Flat, sheet: Sheet, responses: Sequence[Response]) -> Iterator[Crop]:
    for response in responses:
        if response.state == "doubtful":
            targets = [t for row, t in sheet.targets if row.item == response.item]
            boxes = [row.box for row in sheet.rows if row.item == response.item and row.box]
            xs = [t.x for t in targets] + [x for x, _ in boxes]
            ys = [t.y for t in targets] + [y for _, y in boxes]
            piece = flat.crop(
                min(xs) - PITCH / 2 - NUMBER_WIDTH, min(ys) - PITCH / 2 - MARGIN,
                max(xs) + 2 * PITCH, max(ys) + PITCH / 2 + MARGIN,
            )  # fmt: skip
            yield Crop(what=str(response.item), png=_png(piece, CROP_SCALE / SCALE))


def _png(picture: Picture, by: float) -> bytes:
    import cv2  # noqa: PLC0415

    if by < 1.0:
        picture = cv2.resize(picture, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    few = (picture // 17 * 17).astype(np.uint8)  # sixteen greys are enough to see by
    return bytes(cv2.imencode(".png", few, [cv2.IMWRITE_PNG_COMPRESSION, 6])[1])


def _is_blank(picture: Picture) -> bool:
    """True for nothing but paper, however dark or pale it was scanned."""
    import cv2  # noqa: PLC0415

    by = min(BLANK_SIDE / max(picture.shape), 1.0)
    small = cv2.resize(picture, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    kernel = np.ones((AROUND, AROUND), np.uint8)
    paper = cv2.morphologyEx(small, cv2.MORPH_CLOSE, kernel).astype(np.float32)
    dark = small < DARK * paper - 1.0
    height, width = dark.shape
    middle = dark[height // 20 : height - height // 20, width // 20 : width - width // 20]
    return float(np.mean(middle)) < BLANK_PAGE
