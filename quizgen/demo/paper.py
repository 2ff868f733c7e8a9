"""Answer sheets as they come back: filled in by hand, scanned askew, a few with second thoughts.

A simple pen for the demonstration. What holds the reader of sheets to account are the hands and
devices of its tests.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from quizgen.forms.sheet import MINUS, RADIUS, Row, Sheet, Target, digit_columns
from quizgen.items.item import Item

DPI = 150
PER_MM = DPI / 25.4
TURN = 1.2  # degrees that a sheet lies askew, at most
SECOND_THOUGHTS = 0.025  # share of rows with a mark that was rubbed out
FAINT = 0.012  # share of marks that are hardly there
Picture = NDArray[np.uint8]


def scan_of(
    sheets: Path, filled: Sequence[tuple[int, Sheet, Sequence[Item], Mapping[int, str]]],
    out: Path, rng: random.Random,
) -> Path:  # fmt: skip
    """Write the sheets that came back as one PDF of pictures.

    Of each: its page in `sheets` from 0, its description, the questions and the answers by number.
    """
    pages = []
    with pypdfium2.PdfDocument(sheets) as document:
        for page, sheet, items, answers in filled:
            drawn = document[page].render(scale=DPI / 72, grayscale=True).to_numpy()
            picture = np.ascontiguousarray(drawn[:, :, 0] if drawn.ndim == 3 else drawn)
            fill_in(picture, sheet, items, answers, rng)
            pages.append(Image.fromarray(_scanned(picture, rng)))
    out.parent.mkdir(parents=True, exist_ok=True)
    pages[0].save(out, save_all=True, append_images=pages[1:], resolution=DPI, quality=80)
    return out


def fill_in(
    picture: Picture, sheet: Sheet, items: Sequence[Item], answers: Mapping[int, str],
    rng: random.Random,
) -> None:  # fmt: skip
    """Draw the answers of one student with one pencil."""
    grey = rng.randint(35, 95)
    for row in sheet.rows:
        item = items[row.item - 1]
        wanted = set(values_in(row, item, answers.get(row.item, "")))
        chosen = [target for target in row.targets if target.value in wanted]
        for target in chosen:
            _shade(picture, target, 170 if rng.random() < FAINT else grey, rng)
        rest = [target for target in row.targets if target not in chosen]
        if chosen and rest and not row.many and rng.random() < SECOND_THOUGHTS:
            _shade(picture, rng.choice(rest), rng.randint(175, 215), rng)


def values_in(row: Row, item: Item, answer: str) -> Iterator[str]:
    """The values of the targets that an answer, written as text, fills in a row."""
    if not answer:
        return
    if item.number is not None:
        yield from _digit(row.place, item, answer)
    elif item.response == "order":
        yield answer.split()[row.place]
    else:
        yield from answer.split()


def _digit(place: int, item: Item, answer: str) -> Iterator[str]:
    columns = [column for column in digit_columns(item) if column != "."]
    if place == 0:
        if answer.startswith("-"):
            yield MINUS
        return
    digits = answer.lstrip("-").replace(".", "").rjust(len(columns) - 1)
    if digits[place - 1].strip():
        yield digits[place - 1]


def _shade(picture: Picture, target: Target, grey: int, rng: random.Random) -> None:
    """Strokes to and fro within the circle."""
    reach = RADIUS * PER_MM
    x, y = (round(v * PER_MM + rng.gauss(0, 0.4)) for v in (target.x, target.y))
    side = round(2 * reach)
    around = picture[y - side : y + side, x - side : x + side]
    layer = np.full_like(around, 255)
    cv2.circle(layer, (side, side), round(rng.uniform(0.82, 0.98) * reach), grey, -1)
    for offset in np.linspace(-0.7, 0.7, 6):
        half = reach * float(np.sqrt(1 - offset**2))
        a = (round(side - half), round(side + offset * reach + rng.gauss(0, 0.5)))
        b = (round(side + half), round(side + offset * reach + rng.gauss(0, 0.5)))
        cv2.line(layer, a, b, max(grey - rng.randint(0, 25), 0), 1)
    np.minimum(around, layer, out=around)


def _scanned(picture: Picture, rng: random.Random) -> Picture:
    """The sheet under a scanner: a little askew, a little grey, a little noise."""
    height, width = picture.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), rng.uniform(-TURN, TURN), 0.985)
    turned = cv2.warpAffine(picture, turn, (width, height), flags=cv2.INTER_AREA, borderValue=246.0)
    noise = np.random.default_rng(rng.getrandbits(32)).normal(0, 3.0, turned.shape)
    lit = turned.astype(np.float32) * rng.uniform(0.93, 0.99) + noise
    soft = cv2.GaussianBlur(lit, (0, 0), 0.6)
    return np.asarray(np.clip(soft, 0, 255), dtype=np.uint8)
