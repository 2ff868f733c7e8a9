"""The empty corners of a drawing at the top: a circuit is fed at one place and spreads below.

A page can set text there.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from quizgen.diagram.drawing import Drawing
from quizgen.diagram.lettering import Box

Step = tuple[float, float]


def empty_corner(drawing: Drawing, *, left: bool = False) -> tuple[Step, ...]:
    """Steps (x, depth): to the right of x nothing is drawn less than `depth` from the top, mm.

    From right to left and so from deep to shallow; the first step is the right edge of the
    drawing, beyond which all is empty (inf). With `left` the same of the drawing's mirror image:
    x is the distance from the right edge, and empty is what lies to the left of it.
    """
    steps: list[Step] = [(drawing.width, inf)]
    depth = inf
    boxes = [_mirrored(box, drawing.width) if left else box for box in _ink(drawing)]
    for box in sorted(boxes, key=lambda box: (-box.right, box.top)):
        if box.right < steps[-1][0]:
            steps.append((box.right, depth))
        depth = min(depth, box.top)
    deepest: dict[float, float] = {}
    for x, free in steps:
        deepest[free] = min(x, deepest.get(free, inf))
    return tuple((x, free) for free, x in deepest.items() if free > 0)


def _mirrored(box: Box, width: float) -> Box:
    return Box(width - box.right, box.top, width - box.left, box.bottom)


def _ink(drawing: Drawing) -> Iterator[Box]:
    yield from (words.box for words in drawing.words)
    for p in drawing.placed:
        s = p.symbol
        yield Box(p.x - s.left, p.y, p.x + s.right, p.y + s.height)
    for line in drawing.lines:
        for (x0, y0), (x1, y1) in line.segments:
            yield Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
