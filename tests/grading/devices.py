"""What scanners, telephones, rain and rucksacks do to a filled sheet.

All ranges stand in `a_fate`; they were fixed before the reader's thresholds were. From memory of
scanned school papers, no source.
"""

from __future__ import annotations

import random
from dataclasses import asdict, dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.grading.hands import PER_MM

Picture = NDArray[np.uint8]
DPI = 300


@dataclass(frozen=True, kw_only=True)
class Fate:
    """All that happens to one sheet. Lengths in mm, angles in degrees, greys of 255."""

    device: str
    dpi: int
    turn: float = 0.0
    perspective: float = 0.0  # share of the width that a corner moves
    stretch: float = 0.0  # of the height against the width
    curl: float = 0.0  # mm that the middle of the sheet bulges sideways
    shade: float = 0.0
    shadow: float = 0.0  # of a hand, with an edge
    toner: float = 1.0  # how black the printer prints
    contrast: float = 1.0
    blur: float = 0.0  # pixels
    motion: int = 0  # pixels
    noise: float = 0.0
    jpeg: int = 0
    two_tone: int = 0  # threshold of a scanner set to black and white
    streak: bool = False  # dirt on the scanner's glass: a line down the page
    copies: int = 0  # times through a photocopier
    stains: int = 0
    folds: int = 0
    specks: int = 0


def a_fate(rng: random.Random) -> Fate:
    """Half flat-bed and feeder scans, half photographs by telephone."""
    wear = {
        "stains": rng.choices((0, 1, 3), (70, 20, 10))[0],
        "folds": rng.choices((0, 1, 2), (70, 20, 10))[0],
        "specks": rng.choices((0, 30, 150), (60, 30, 10))[0],
        "toner": rng.choices((1.0, rng.uniform(0.55, 0.9)), (80, 20))[0],
        "copies": rng.choices((0, 1), (90, 10))[0],
    }
    if rng.random() < 0.5:
        return Fate(
            device="scanner",
            dpi=rng.choice((75, 100, 150, 200, 300)),
            turn=rng.choice((0, 0, 0, 180)) + rng.gauss(0, 1.2),
            stretch=rng.gauss(0, 0.003),
            blur=rng.uniform(0, 0.8),
            noise=rng.uniform(0, 6),
            contrast=rng.uniform(0.7, 1.0),
            jpeg=rng.choice((0, 50, 75, 90)),
            two_tone=rng.choice((0, 0, 0, 0, 0, 0, 0, 128, 170, 200)),
            streak=rng.random() < 0.05,
            **wear,
        )
    return Fate(
        device="telephone",
        dpi=rng.choice((100, 125, 150, 200)),
        turn=rng.choice((0, 0, 90, 180, 270)) + rng.gauss(0, 4),
        perspective=rng.uniform(0, 0.04),
        curl=rng.choice((0.0, 0.0, rng.uniform(0, 2.0))),
        shade=rng.uniform(0, 0.55),
        shadow=rng.choice((0.0, 0.0, rng.uniform(0.1, 0.4))),
        blur=rng.uniform(0.3, 1.8),
        motion=rng.choice((0, 0, 0, 3, 5)),
        noise=rng.uniform(2, 12),
        contrast=rng.uniform(0.6, 1.0),
        jpeg=rng.choice((40, 60, 80, 90)),
        **wear,
    )


def suffer(picture: Picture, fate: Fate, rng: random.Random) -> Picture:
    """The picture that arrives, drawn from one of a sheet at 300 dpi."""
    out = picture.astype(np.float32)
    if fate.toner != 1.0:
        out = 255 - (255 - out) * fate.toner
    out = _worn(out, fate, rng)
    for _ in range(fate.copies):
        out = np.clip((cv2.GaussianBlur(out, (0, 0), 1.6) - 40) * 1.35, 0, 255)
    out = _taken(out, fate, rng)
    out = _lit(out, fate, rng)
    out = 255 - (255 - out) * fate.contrast
    if fate.blur:
        out = cv2.GaussianBlur(out, (0, 0), fate.blur)
    if fate.motion:
        kernel = np.zeros((fate.motion, fate.motion), np.float32)
        if rng.random() < 0.5:
            kernel[fate.motion // 2, :] = 1 / fate.motion
        else:
            kernel[:, fate.motion // 2] = 1 / fate.motion
        out = cv2.filter2D(out, -1, kernel)
    if fate.noise:
        draws = np.random.default_rng(rng.getrandbits(32))
        out += draws.normal(0, fate.noise, out.shape).astype(np.float32)
    if fate.streak:
        at = rng.randrange(out.shape[1])
        out[:, at : at + max(round(fate.dpi / 150), 1)] *= rng.uniform(0.3, 0.9)
    return _stored(np.clip(out, 0, 255).astype(np.uint8), fate)


def _stored(result: Picture, fate: Fate) -> Picture:
    if fate.two_tone:
        result = np.where(result < fate.two_tone, 0, 255).astype(np.uint8)
    elif fate.jpeg:
        _, data = cv2.imencode(".jpg", result, [cv2.IMWRITE_JPEG_QUALITY, fate.jpeg])
        result = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
    return np.ascontiguousarray(result)


def _worn(out: NDArray[np.float32], fate: Fate, rng: random.Random) -> NDArray[np.float32]:
    """Stains, folds, specks."""
    height, width = out.shape
    for _ in range(fate.stains):
        layer = np.zeros(out.shape, np.float32)
        at = (rng.randrange(width), rng.randrange(height))
        size = round(rng.uniform(4, 40) * PER_MM)
        thick = rng.choice((-1, round(rng.uniform(0.5, 3) * PER_MM)))
        cv2.ellipse(layer, at, (size, round(size * rng.uniform(0.6, 1))), 0, 0, 360, 1.0, thick)
        layer = cv2.GaussianBlur(layer, (0, 0), rng.uniform(2, 12))
        out = out * (1 - rng.uniform(0.05, 0.3) * layer)
    for _ in range(fate.folds):
        down = rng.random() < 0.5
        at = rng.randrange((width if down else height) // 5, (width if down else height) * 4 // 5)
        wide = round(rng.uniform(0.2, 0.8) * PER_MM)
        crease = slice(at, at + wide)
        beyond = slice(at, None)
        depth, change = rng.uniform(0.05, 0.35), rng.uniform(-0.08, 0.08)
        out = out.copy()
        for part, by in ((beyond, 1 - change), (crease, 1 - depth)):
            where = (slice(None), part) if down else (part, slice(None))
            out[where] = np.minimum(out[where] * by, 255)
    for _ in range(fate.specks):
        at = (rng.randrange(width), rng.randrange(height))
        cv2.circle(
            out, at, max(round(rng.uniform(0.04, 0.2) * PER_MM), 1), rng.uniform(30, 180), -1
        )
    return out


def _taken(out: NDArray[np.float32], fate: Fate, rng: random.Random) -> NDArray[np.float32]:
    """Turned, held at an angle, curled; what lies around the sheet is grey, as a table is."""
    height, width = out.shape
    by = fate.dpi / DPI
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    middle = np.array([width, height]) / 2
    angle = np.deg2rad(fate.turn)
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    d = fate.perspective * width
    moved = corners + np.array([[rng.uniform(-d, d) for _ in "xy"] for _ in range(4)])
    moved[:, 1] = (moved[:, 1] - middle[1]) * (1 + fate.stretch) + middle[1]
    turned = (moved - middle) @ rotation.T * by
    border = 0.03 if fate.device == "scanner" else 0.08
    low, high = turned.min(axis=0), turned.max(axis=0)
    size = np.ceil((high - low) * (1 + border)).astype(int)
    meant = (turned - (low + high) / 2 + size / 2).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(corners.astype(np.float32), meant)
    table = 250.0 if fate.device == "scanner" else rng.uniform(40, 190)
    small = cv2.GaussianBlur(out, (0, 0), 0.45 / by) if by < 0.9 else out
    if not fate.curl:
        return cv2.warpPerspective(
            small, matrix, tuple(size.tolist()), flags=cv2.INTER_LINEAR, borderValue=table
        )
    xs, ys = np.meshgrid(np.arange(size[0], dtype=np.float64), np.arange(size[1], dtype=np.float64))
    inverse = np.linalg.inv(matrix)
    z = inverse[2, 0] * xs + inverse[2, 1] * ys + inverse[2, 2]
    u = (inverse[0, 0] * xs + inverse[0, 1] * ys + inverse[0, 2]) / z
    v = (inverse[1, 0] * xs + inverse[1, 1] * ys + inverse[1, 2]) / z
    bulge = fate.curl * PER_MM * np.sin(np.pi * np.clip(v / height, 0, 1))
    u += bulge * rng.choice((-1, 1))
    v += 0.4 * bulge * np.sin(np.pi * np.clip(u / width, 0, 1))
    return cv2.remap(
        small, u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR, borderValue=table
    )


def _lit(out: NDArray[np.float32], fate: Fate, rng: random.Random) -> NDArray[np.float32]:
    """A lamp on one side, a hand's shadow over a corner."""
    height, width = out.shape
    if fate.shade:
        ys, xs = np.mgrid[0:height, 0:width].astype(np.float32)
        a = rng.uniform(0, 2 * np.pi)
        slope = (np.cos(a) * (xs / width - 0.5) + np.sin(a) * (ys / height - 0.5)) * 2
        out = out * (1 - fate.shade * np.clip(0.5 + 0.5 * slope, 0, 1))
    if fate.shadow:
        layer = np.zeros(out.shape, np.float32)
        at = (rng.randrange(width), rng.randrange(height))
        axes = (round(width * rng.uniform(0.2, 0.6)), round(height * rng.uniform(0.1, 0.4)))
        cv2.ellipse(layer, at, axes, rng.uniform(0, 180), 0, 360, 1.0, -1)
        out = out * (1 - fate.shadow * cv2.GaussianBlur(layer, (0, 0), fate.dpi / 25))
    return out


def described(fate: Fate) -> str:
    """What differs from a clean scan, on one line."""
    plain = Fate(device=fate.device, dpi=fate.dpi)
    changed = {k: v for k, v in asdict(fate).items() if v != getattr(plain, k)}
    rest = " ".join(
        f"{k}={v:.3g}" if isinstance(v, float) else f"{k}={v}" for k, v in changed.items()
    )
    return f"{fate.device} {fate.dpi} dpi {rest}"
