"""The empty corner of a drawing, top right: a circuit is fed on the left and spreads below.

A page can set text there.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from quizgen.diagram.drawing import Drawing
from quizgen.diagram.lettering import Box

Step = tuple[float, float]


def empty_corner(drawing: Drawing) -> tuple[Step, ...]:
    """Steps (x, depth): to the right of x nothing is drawn less than `depth` from the top, mm.

    From right to left and so from deep to shallow; the first step is the right edge of the
    drawing, beyond which all is empty (inf).
    """
    steps: list[Step] = [(drawing.width, inf)]
    depth = inf
    for box in sorted(_ink(drawing), key=lambda box: (-box.right, box.top)):
        if box.right < steps[-1][0]:
            steps.append((box.right, depth))
        depth = min(depth, box.top)
    deepest: dict[float, float] = {}
    for x, free in steps:
        deepest[free] = min(x, deepest.get(free, inf))
    return tuple((x, free) for free, x in deepest.items() if free > 0)


def _ink(drawing: Drawing) -> Iterator[Box]:
    yield from (words.box for words in drawing.words)
    for p in drawing.placed:
        s = p.symbol
        yield Box(p.x - s.left, p.y, p.x + s.right, p.y + s.height)
    for line in drawing.lines:
        for (x0, y0), (x1, y1) in line.segments:
            yield Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
