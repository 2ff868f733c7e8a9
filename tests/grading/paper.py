"""Sheets as a class hands them in: printed, filled by pencil, scanned or photographed."""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray

from quizgen.forms.sheet import RADIUS, Sheet
from quizgen.publish.documents import write_sheets
from quizgen.publish.sheet_svg import Bearer
from tests.publish.samples import HEADING

DPI = 300
PER_MM = DPI / 25.4
Picture = NDArray[np.uint8]
# how somebody may mark a target, and what it has to be taken for
STYLES = {
    "filled": "filled", "sloppy": "filled", "pencil": "filled", "cross": "doubt", "dot": "doubt",
    "faint": "doubt", "erased": "doubt", "tick": "doubt",
}  # fmt: skip
Marks = Mapping[tuple[int, int, str], str]  # question, place, value → style


@cache
def printed(sheet: Sheet, bearer: Bearer) -> Picture:
    """The empty sheet in grey."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.pdf"
        write_sheets(HEADING, [(sheet, bearer)], path)
        document = pypdfium2.PdfDocument(path)
        drawn = document[0].render(scale=DPI / 72, grayscale=True).to_numpy()
        document.close()
    return np.ascontiguousarray(drawn[:, :, 0] if drawn.ndim == 3 else drawn)


def filled_in(sheet: Sheet, bearer: Bearer, marks: Marks, rng: random.Random) -> Picture:
    """The sheet with marks drawn by hand."""
    picture = printed(sheet, bearer).copy()
    for row, target in sheet.targets:
        style = marks.get((row.item, row.place, target.value))
        if style:
            draw_mark(picture, target.x * PER_MM, target.y * PER_MM, style, rng)
    return picture


def draw_mark(picture: Picture, x: float, y: float, style: str, rng: random.Random) -> None:
    """One mark, its middle at (x, y) pixels."""
    r = RADIUS * PER_MM
    x, y = x + rng.gauss(0, 0.06 * r), y + rng.gauss(0, 0.06 * r)
    layer = np.full(picture.shape, 255, dtype=np.uint8)
    at = (round(x), round(y))
    match style:
        case "filled":
            cv2.circle(layer, at, round(0.95 * r), rng.randint(10, 60), -1)
        case "sloppy":
            axes = (round(rng.uniform(0.85, 1.15) * r), round(rng.uniform(0.8, 1.0) * r))
            cv2.ellipse(layer, at, axes, rng.uniform(0, 180), 0, 360, rng.randint(20, 80), -1)
        case "pencil":
            for k in np.linspace(-0.85, 0.85, 13):
                half = 0.9 * r * np.sqrt(max(1 - k * k, 0))
                a = (round(x - half), round(y + k * r + rng.gauss(0, 1)))
                b = (round(x + half), round(y + k * r + rng.gauss(0, 1)))
                cv2.line(layer, a, b, rng.randint(60, 105), max(round(0.12 * r), 1))
        case "cross":
            d = 0.75 * r
            for sign in (1, -1):
                a, b = (round(x - d), round(y - sign * d)), (round(x + d), round(y + sign * d))
                cv2.line(layer, a, b, 40, max(round(0.16 * r), 1))
        case "tick":
            points = np.array([[x - 0.6 * r, y], [x - 0.1 * r, y + 0.6 * r], [x + r, y - r]])
            cv2.polylines(layer, [np.round(points).astype(np.int32)], False, 40, round(0.2 * r))
        case "dot":
            cv2.circle(layer, at, round(0.5 * r), 40, -1)
        case "faint":
            cv2.circle(layer, at, round(0.95 * r), 185, -1)
        case "erased":
            cv2.circle(layer, at, round(1.0 * r), rng.randint(195, 215), -1)
            cv2.line(layer, at, (round(x + r), round(y + 0.4 * r)), 150, 2)
    np.minimum(picture, layer, out=picture)


def scanned(
    picture: Picture, rng: random.Random, *, dpi: int = 200, turn: float = 0.0,
    skew: float = 0.0, shade: float = 0.0, blur: float = 0.0, noise: float = 0.0,
    jpeg: int = 0, contrast: float = 1.0,
) -> Picture:  # fmt: skip
    """What a scanner or a telephone makes of it; `turn` in degrees, `skew` a share of the width."""
    height, width = picture.shape
    by = dpi / DPI
    border = 0.12 if turn or skew else 0.0
    size = (round(width * by * (1 + border)), round(height * by * (1 + border)))
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)
    middle = np.array([width, height]) / 2
    angle = np.deg2rad(turn)
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    away = np.array([[rng.uniform(-skew, skew) * width for _ in range(2)] for _ in range(4)])
    meant = ((corners - middle + away) @ rotation.T) * by + np.array(size) / 2
    matrix = cv2.getPerspectiveTransform(corners, meant.astype(np.float32))
    out = cv2.warpPerspective(picture, matrix, size, flags=cv2.INTER_AREA, borderValue=120)
    out = out.astype(np.float32)
    if shade:
        ys, xs = np.mgrid[0 : size[1], 0 : size[0]]
        a = rng.uniform(0, 2 * np.pi)
        slope = (np.cos(a) * (xs / size[0] - 0.5) + np.sin(a) * (ys / size[1] - 0.5)) * 2
        out *= 1 - shade * (0.5 + 0.5 * slope)
    out = 255 - (255 - out) * contrast if contrast != 1.0 else out
    if blur:
        out = cv2.GaussianBlur(out, (0, 0), blur)
    if noise:
        out += np.random.default_rng(rng.getrandbits(32)).normal(0, noise, out.shape)
    result = np.clip(out, 0, 255).astype(np.uint8)
    if jpeg:
        _, data = cv2.imencode(".jpg", result, [cv2.IMWRITE_JPEG_QUALITY, jpeg])
        result = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
    return np.ascontiguousarray(result)
