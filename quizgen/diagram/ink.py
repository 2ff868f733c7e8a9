"""Where the ink of a pen stroke lies: path data as straight stretches, curves by a few points."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from math import atan2, ceil, cos, pi, sin, sqrt

from quizgen.diagram.symbols import Stroke

POINTS = 8  # stretches for half a turn, or for a Bézier curve
TOKEN = re.compile(r"[a-z]|-?[0-9.]+(?:e-?[0-9]+)?")
COUNTS = {"m": 2, "l": 2, "c": 6, "h": 1, "v": 1, "a": 7, "z": 0}

Point = tuple[float, float]
Segment = tuple[Point, Point]


def inked(stroke: Stroke) -> tuple[Segment, ...]:
    """The stretches of a stroke at its place."""
    x, y = stroke.x, stroke.y
    return tuple(((a + x, b + y), (c + x, d + y)) for (a, b), (c, d) in _stretches(stroke.path))


@lru_cache(maxsize=4096)
def _stretches(path: str) -> tuple[Segment, ...]:
    """The stretches of relative path data that begins at (0, 0)."""
    found: list[Segment] = []
    here = start = (0.0, 0.0)
    for command, numbers in _commands(path):
        if command == "m":
            here = start = (here[0] + numbers[0], here[1] + numbers[1])
            continue
        points = [(here[0] + x, here[1] + y) for x, y in _points(command, numbers)]
        found += pairwise([here, *(points or [start])])
        here = points[-1] if points else start
    return tuple(found)


def _commands(path: str) -> Iterator[tuple[str, list[float]]]:
    tokens, command = TOKEN.findall(path), ""
    while tokens:
        if tokens[0].isalpha():
            command = tokens.pop(0)
        count = COUNTS[command]
        yield command, [float(tokens.pop(0)) for _ in range(count)]
        command = "l" if command == "m" else command


def _points(command: str, numbers: list[float]) -> list[Point]:
    """Points on the way, from the present point; none for a path that closes."""
    if command == "h":
        return [(numbers[0], 0.0)]
    if command == "v":
        return [(0.0, numbers[0])]
    if command == "l":
        return [(numbers[0], numbers[1])]
    if command == "c":
        return [_bezier(numbers, n / POINTS) for n in range(1, POINTS + 1)]
    return _arc(*numbers) if command == "a" else []


def _bezier(numbers: list[float], t: float) -> Point:
    s = 1 - t
    shares = (3 * s * s * t, 3 * s * t * t, t**3)
    x = sum(k * v for k, v in zip(shares, numbers[::2], strict=True))
    return x, sum(k * v for k, v in zip(shares, numbers[1::2], strict=True))


def _arc(rx: float, ry: float, _: float, large: float, sweep: float,
         x: float, y: float) -> list[Point]:  # fmt: skip
    """A piece of a circle (`rx` = `ry`; no symbol has an ellipse)."""
    chord = sqrt(x * x + y * y)
    radius = max(rx, chord / 2)
    off = sqrt(max(radius**2 - chord**2 / 4, 0.0)) / chord * (1 if large != sweep else -1)
    cx, cy = x / 2 - y * off, y / 2 + x * off
    first, last = atan2(-cy, -cx), atan2(y - cy, x - cx)
    turn = (last - first) % (2 * pi) if sweep else -((first - last) % (2 * pi))
    count = ceil(abs(turn) / pi * POINTS)
    angles = [first + turn * n / count for n in range(1, count + 1)]
    return [(cx + radius * cos(a), cy + radius * sin(a)) for a in angles]
