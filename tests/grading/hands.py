"""Hands that fill in an answer sheet: tools, habits, mistakes and second thoughts.

What a row is meant to say is known, so that a reading can be held against it. The shapes and
their ranges are from memory of school papers, no source; they were fixed before the reader's
thresholds were, and the reader does not know them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from quizgen.forms.sheet import RADIUS, Row, Sheet, Target

PER_MM = 300 / 25.4  # of the picture that is drawn on
Picture = NDArray[np.uint8]
Place = tuple[int, int]  # question and row
REACH = 3 * RADIUS  # mm around a target that a mark may touch


@dataclass(frozen=True)
class Tool:
    """Grey of its line (0 black), width of the line in mm, and how much the paper shows through."""

    name: str
    grey: tuple[int, int]
    width: tuple[float, float]
    grain: float = 0.0


TOOLS = (
    Tool("soft pencil", (55, 100), (0.4, 0.9), 0.25),
    Tool("pencil", (80, 130), (0.35, 0.7), 0.35),
    Tool("hard pencil", (120, 165), (0.3, 0.6), 0.4),
    Tool("black ballpoint", (20, 60), (0.25, 0.4)),
    Tool("blue ballpoint", (60, 105), (0.25, 0.4)),
    Tool("red ballpoint", (90, 130), (0.25, 0.4)),
    Tool("felt pen", (15, 50), (0.6, 1.3)),
)
TOOL_WEIGHTS = (20, 30, 10, 15, 15, 3, 7)

# what a hand does to a target that it chooses; the weight is how often a writer's habit it is
FULL = {
    "disc": 30, "ellipse": 20, "hatch": 15, "spiral": 12, "zigzag": 12, "overflow": 6,
}  # fmt: skip
PARTIAL = {"cross": 5, "tick": 5, "dot": 4, "half": 4, "line": 2, "pale": 4, "ring": 3}
# what may happen to a row beside its answer
EVENTS = {
    "none": 74, "blank": 8, "erased": 6, "two": 2, "struck out": 3, "stray": 3, "rest": 2,
    "beside": 1, "crossed": 1,
}  # fmt: skip


@dataclass
class Writer:
    """One student: a tool, a habit, a steadiness (1 is steady)."""

    rng: random.Random
    tool: Tool
    habit: str
    shake: float

    def line(self) -> int:
        """Thickness of a stroke in pixels."""
        return max(round(self.rng.uniform(*self.tool.width) * PER_MM), 1)

    def grey(self) -> int:
        """How dark a stroke is."""
        return self.rng.randint(*self.tool.grey)


@dataclass
class Truth:
    """What the rows of a sheet say. Answers that nobody can tell for certain are in `unsure`."""

    answers: dict[Place, tuple[str, ...]] = field(default_factory=dict)
    events: dict[Place, str] = field(default_factory=dict)
    styles: dict[Place, str] = field(default_factory=dict)
    unsure: set[Place] = field(default_factory=set)


def a_writer(rng: random.Random) -> Writer:
    """Somebody with a tool; nine in ten fill circles as asked."""
    tool = rng.choices(TOOLS, TOOL_WEIGHTS)[0]
    table = FULL if rng.random() < 0.9 else PARTIAL
    habit = rng.choices(list(table), list(table.values()))[0]
    return Writer(rng, tool, habit, rng.uniform(0.3, 1.6))


def write_on(picture: Picture, sheet: Sheet, writer: Writer) -> Truth:
    """Fill in the whole sheet; every row has an answer or is left blank."""
    truth = Truth()
    for row in sheet.rows:
        event = writer.rng.choices(list(EVENTS), list(EVENTS.values()))[0]
        _fill_row(picture, row, writer, event, truth)
    return truth


def _fill_row(picture: Picture, row: Row, writer: Writer, event: str, truth: Truth) -> None:
    rng = writer.rng
    place = (row.item, row.place)
    most = min(3, len(row.targets)) if row.many else 1
    wanted = rng.sample(row.targets, rng.randint(1, most))
    if len(row.targets) == 1 and rng.random() < 0.7:  # a minus is seldom needed
        event = "blank"
    others = [t for t in row.targets if t not in wanted]
    if event == "blank":
        wanted = []
    if event in ("two", "erased", "crossed") and (not others or row.many):
        event = "none"
    if event == "struck out" and len(row.targets) == 1:
        event = "none"  # a stroke no longer than a circle is no crossing out
    style = writer.habit if rng.random() < 0.85 else rng.choice(list(FULL))
    for target in wanted:
        if event != "beside":
            mark(picture, target, style, writer)
    if event in SECOND and wanted:
        SECOND[event](picture, row, wanted, others, writer)
    truth.answers[place] = tuple(sorted(t.value for t in wanted))
    truth.events[place] = event
    truth.styles[place] = style if wanted else ""
    if event in ("two", "struck out"):
        truth.unsure.add(place)


# --- what happens beside an answer ----------------------------------------------------------

Event = Callable[[Picture, Row, list[Target], list[Target], Writer], None]


def _two(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    mark(p, w.rng.choice(others), "disc", w)


def _erased(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    mark(p, w.rng.choice(others), "erased", w)


def _crossed(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    """A full mark taken back with a large cross."""
    taken_back = w.rng.choice(others)
    mark(p, taken_back, "disc", w)
    mark(p, taken_back, "large cross", w)


def _struck(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    """The whole row crossed out, and a letter beside it."""
    first, last = row.targets[0], row.targets[-1]
    wave = w.rng.uniform(0, 0.8)
    if row.targets[0].x == last.x:  # digits stand below each other
        a, b = (first.x + wave, first.y - 2.5), (last.x - wave, last.y + 2.5)
    else:
        a, b = (first.x - 2.5, first.y - wave), (last.x + 2.5, last.y + wave)
    _stroke(p, [a, b], w)
    _write_letter(p, last.x + w.rng.uniform(5, 7), last.y, w)


def _stray(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    """A line that slipped somewhere over the row."""
    target = w.rng.choice(row.targets)
    angle = w.rng.uniform(0, 2 * np.pi)
    at = np.array([target.x + w.rng.gauss(0, 2), target.y + w.rng.gauss(0, 2)])
    way = np.array([np.cos(angle), np.sin(angle)]) * w.rng.uniform(2, 9)
    _stroke(p, [tuple(at - way / 2), tuple(at + way / 2)], w)


def _rest(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    """The pen rested on a circle while its owner thought."""
    target = w.rng.choice(others or wanted)
    x, y = target.x + w.rng.gauss(0, 0.5), target.y + w.rng.gauss(0, 0.5)
    size = max(round(w.rng.uniform(0.1, 0.25) * RADIUS * PER_MM), 1)
    _paint(p, (x, y), lambda layer, at: cv2.circle(layer, at, size, w.grey(), -1), w)


def _beside(p: Picture, row: Row, wanted: list[Target], others: list[Target], w: Writer) -> None:
    """A ring around each chosen circle in place of a filling."""
    for target in wanted:
        mark(p, target, "ring", w)


SECOND: dict[str, Event] = {
    "two": _two, "erased": _erased, "struck out": _struck, "stray": _stray, "rest": _rest,
    "beside": _beside, "crossed": _crossed,
}  # fmt: skip


def _write_letter(p: Picture, x: float, y: float, w: Writer) -> None:
    letter = w.rng.choice("ABCD")

    def put(layer: Picture, at: tuple[int, int]) -> None:
        start = (at[0] - round(1.5 * PER_MM), at[1] + round(1.8 * PER_MM))
        cv2.putText(
            layer, letter, start, cv2.FONT_HERSHEY_SIMPLEX, w.rng.uniform(1.3, 2.0), w.grey(),
            w.line(),
        )  # fmt: skip

    _paint(p, (x, y), put, w)


# --- marks on a target ----------------------------------------------------------------------


def mark(picture: Picture, target: Target, style: str, writer: Writer) -> None:
    """One mark in a style of FULL or PARTIAL, or "erased", or "large cross"."""
    r = RADIUS * PER_MM
    off = 0.08 * RADIUS * writer.shake
    x = target.x + writer.rng.gauss(0, off)
    y = target.y + writer.rng.gauss(0, off)
    shape = SHAPES[style]
    _paint(picture, (x, y), lambda layer, at: shape(layer, at, r, writer), writer)


def _disc(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    cv2.circle(layer, at, round(w.rng.uniform(0.85, 1.02) * r), w.grey(), -1)


def _ellipse(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    axes = (round(w.rng.uniform(0.85, 1.2) * r), round(w.rng.uniform(0.75, 1.0) * r))
    cv2.ellipse(layer, at, axes, w.rng.uniform(0, 180), 0, 360, w.grey(), -1)


def _hatch(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    angle = w.rng.uniform(0, np.pi)
    way, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    for k in np.linspace(-0.85, 0.85, w.rng.randint(7, 14)):
        half = w.rng.uniform(0.8, 1.05) * r * np.sqrt(max(1 - k * k, 0))
        middle = np.array(at) + across * k * r
        _polyline(layer, [middle - way * half, middle + way * half], w)


def _spiral(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    turns = w.rng.uniform(3.5, 6)
    t = np.linspace(0, 1, 80)
    radius = t * r * w.rng.uniform(0.85, 1.05)
    angle = 2 * np.pi * turns * t
    wobble = 1 + 0.06 * w.shake * np.sin(7 * angle)
    points = np.stack([np.cos(angle), np.sin(angle)], 1) * (radius * wobble)[:, None]
    _polyline(layer, list(points + np.array(at)), w)


def _zigzag(layer: Picture, at: tuple[int, int], r: float, w: Writer, over: float = 1.0) -> None:
    angle = w.rng.uniform(0, np.pi)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    count = w.rng.randint(9, 16)
    points = []
    for i, k in enumerate(np.linspace(-0.9, 0.9, count)):
        half = over * r * np.sqrt(max(1 - k * k, 0.05)) * w.rng.uniform(0.8, 1.05)
        points.append(turn @ np.array([half if i % 2 else -half, k * r]) + np.array(at))
    _polyline(layer, points, w)


def _overflow(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    _zigzag(layer, at, r, w, over=1.35)


def _cross(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    d = w.rng.uniform(0.55, 0.95) * r / np.sqrt(2) * 1.2
    for sign in (1, -1):
        _polyline(layer, [(at[0] - d, at[1] - sign * d), (at[0] + d, at[1] + sign * d)], w)


def _large_cross(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    d = w.rng.uniform(1.2, 1.6) * r
    for sign in (1, -1):
        _polyline(layer, [(at[0] - d, at[1] - sign * d), (at[0] + d, at[1] + sign * d)], w)


def _tick(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    x, y = at
    s = w.rng.uniform(0.7, 1.1) * r
    _polyline(layer, [(x - 0.6 * s, y), (x - 0.1 * s, y + 0.6 * s), (x + s, y - s)], w)


def _dot(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    cv2.circle(layer, at, round(w.rng.uniform(0.4, 0.65) * r), w.grey(), -1)


def _half(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    start = w.rng.uniform(0, 360)
    sweep = w.rng.uniform(150, 230)
    cv2.ellipse(
        layer, at, (round(0.95 * r), round(0.95 * r)), 0, start, start + sweep, w.grey(), -1
    )


def _line(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    angle = w.rng.uniform(0, np.pi)
    d = np.array([np.cos(angle), np.sin(angle)]) * w.rng.uniform(0.7, 1.1) * r
    _polyline(layer, [np.array(at) - d, np.array(at) + d], w)


def _pale(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    cv2.circle(layer, at, round(0.95 * r), w.rng.randint(160, 200), -1)


def _ring(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    axes = (round(w.rng.uniform(1.25, 1.6) * r), round(w.rng.uniform(1.15, 1.5) * r))
    cv2.ellipse(layer, at, axes, w.rng.uniform(-20, 20), 0, 340, w.grey(), w.line())


def _erased(layer: Picture, at: tuple[int, int], r: float, w: Writer) -> None:
    """What an eraser leaves: a grey veil, and a groove or two."""
    cv2.circle(layer, at, round(w.rng.uniform(0.9, 1.2) * r), w.rng.randint(205, 245), -1)
    for _ in range(w.rng.randint(0, 2)):
        ends = [np.array(at) + np.array([w.rng.gauss(0, 0.5 * r) for _ in "xy"]) for _ in "ab"]
        points = np.round(np.array(ends)).astype(np.int32)
        cv2.polylines(layer, [points], False, w.rng.randint(165, 215), 2, cv2.LINE_AA)


SHAPES: dict[str, Callable[[Picture, tuple[int, int], float, Writer], None]] = {
    "disc": _disc, "ellipse": _ellipse, "hatch": _hatch, "spiral": _spiral, "zigzag": _zigzag,
    "overflow": _overflow, "cross": _cross, "tick": _tick, "dot": _dot, "half": _half,
    "line": _line, "pale": _pale, "ring": _ring, "erased": _erased, "large cross": _large_cross,
}  # fmt: skip


# --- strokes --------------------------------------------------------------------------------


def _polyline(layer: Picture, points: list, w: Writer) -> None:  # type: ignore[type-arg]
    shaken = np.array(points, dtype=np.float64)
    shaken += np.array([[w.rng.gauss(0, 0.6 * w.shake) for _ in "xy"] for _ in points])
    flat = np.round(shaken).astype(np.int32)
    cv2.polylines(layer, [flat], False, w.grey(), w.line(), cv2.LINE_AA)


def _stroke(picture: Picture, points: list[tuple[float, float]], w: Writer) -> None:
    """A line of any length, in mm."""
    middle = tuple(np.mean(np.array(points), axis=0))
    reach = float(np.abs(np.array(points) - middle).max()) + 2.0

    def put(layer: Picture, at: tuple[int, int]) -> None:
        _polyline(layer, [(np.array(p) - middle) * PER_MM + np.array(at) for p in points], w)

    _paint(picture, (float(middle[0]), float(middle[1])), put, w, reach)


def _paint(
    picture: Picture, middle: tuple[float, float],
    put: Callable[[Picture, tuple[int, int]], object], writer: Writer, reach: float = REACH,
) -> None:  # fmt: skip
    """Draw on a piece of the picture; graphite leaves the paper's pits white."""
    height, width = picture.shape
    x, y, d = round(middle[0] * PER_MM), round(middle[1] * PER_MM), round(reach * PER_MM)
    top, left = max(y - d, 0), max(x - d, 0)
    piece = picture[top : min(y + d, height), left : min(x + d, width)]
    layer = np.full(piece.shape, 255, dtype=np.uint8)
    put(layer, (x - left, y - top))
    if writer.tool.grain:
        pits = np.random.default_rng(writer.rng.getrandbits(32)).normal(0, 1, piece.shape)
        pits = cv2.GaussianBlur(pits, (0, 0), 1.2)
        share = np.clip(1 - writer.tool.grain * np.clip(2.5 * pits, 0, 1.5), 0.1, 1)
        layer = (255 - (255.0 - layer) * share).astype(np.uint8)
    np.minimum(piece, layer, out=piece)
