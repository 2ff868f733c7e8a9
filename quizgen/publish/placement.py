"""Where each problem and its figure stand: on one page wherever they fit.

A figure stands *below* its text or *beside* it, the text reaching into the empty corner of the
drawing where there is one, whichever takes less of the page. Neighbours share a page when both
fit with letters that can be read. What room is left makes the figures larger. Where a figure and
its text are too much for one page the figure comes *first*, on the left of two facing pages, and
the text on the right. In large print that is always so, and the sheet is turned where that shows
the figure larger.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from quizgen.publish.figure import fitted, natural_size, smallest_letters
from quizgen.publish.page_options import PageOptions, Size
from quizgen.publish.room import Leading, asked_height, known_height, least_scale, side_by_side
from quizgen.publish.view import Problem

Kind = Literal["beside", "below", "first", "wide", "none"]

READABLE, LIMIT = 7.15, 7.0  # pt, the smallest letters of a figure, and where nothing else fits
MOST_ENLARGED = 18 / 7  # in large print the smallest letters, 7 pt, become large print
STEPS = [1 + 0.05 * n for n in range(11)]  # what a figure may grow by beyond the least size
HEAD, LEAD = 12.0, 4.0  # mm above the text of a problem; so much less at the top of a page
FOOT = 6.0  # mm between a problem and the next
HEAD_LARGE = 18.0
ABOVE = 2.0  # mm between text and the figure below it
GAP = 6.0  # mm between columns
CLEAR = 4.0  # mm between text and what is drawn below it
COMFORT, TIGHT = 56.0, 44.0  # mm; the least width of a column of text, and where nothing else fits
SHARES = (0.36, 0.42, 0.48, 0.54, 0.6, 0.66)  # of the width, for the left column


@dataclass(frozen=True)
class Place:
    """How a problem stands: its figure's kind of place and size, and its columns.

    `left` is the share of the width that the left of two columns takes; 0 where all stands in
    one. Text beside a figure stands on the right (or `on_left`), `indent` mm from the edge where
    the figure is, and the lowest `tail` mm of the figure lie below all of it. `row`: the options
    stand side by side. `fresh` begins a page.
    """

    kind: Kind
    size: Size | None = None
    left: float = 0.0
    indent: float = 0.0
    tail: float = 0.0
    on_left: bool = False
    row: bool = False
    fresh: bool = False


@dataclass(frozen=True)
class _Block:
    """A place with the height that it takes, mm."""

    place: Place
    height: float


def place_all(problems: Sequence[Problem], options: PageOptions) -> tuple[Place, ...]:
    """A place for each problem, in order."""
    if options.large_print:
        return tuple(_large(problem, options) for problem in problems)
    leading = Leading(options.line_spacing)
    sketches = [_Sketch(problem, options.room, leading) for problem in problems]
    return tuple(place for group in _pages(sketches) for place in _settled(group))


def _large(problem: Problem, options: PageOptions) -> Place:
    if problem.figure is None:
        return Place("none", fresh=True)
    natural = natural_size(problem.figure.svg)
    upright, wide = (
        fitted(natural, room.width, room.height - HEAD_LARGE, MOST_ENLARGED)
        for room in (options.room, options.room_sideways)
    )
    if wide.width > upright.width:
        return Place("wide", wide, fresh=True)
    return Place("first", upright, fresh=True)


class _Sketch:
    """A problem, and what it would take at each size of its figure."""

    def __init__(self, problem: Problem, room: Size, leading: Leading) -> None:
        self.problem, self.room, self.leading = problem, room, leading
        self.natural = natural_size(problem.figure.svg) if problem.figure else None
        self.text, self.left = self._columns()
        asked = (1 - self.left) * (room.width - GAP)
        self.columns = Place("none", left=self.left, row=side_by_side(problem, asked))
        for self.narrowest, points in ((COMFORT, READABLE), (TIGHT, READABLE), (TIGHT, LIMIT)):
            self.least = self._least(points)
            if self.block(STEPS[0]):
                break

    def block(self, step: float) -> _Block | None:
        """The lowest block with the figure `step` times its least size; None if none fits."""
        if self.natural is None:
            return _Block(self.columns, HEAD + self.text)
        scale = self.least * step
        size = Size(round(self.natural.width * scale, 2), round(self.natural.height * scale, 2))
        fitting = [b for b in self._blocks(size) if b.height <= self.room.height + LEAD]
        return min(fitting, key=lambda block: block.height, default=None)

    def divided(self) -> Place:
        """The figure on a page of its own and the text on the next."""
        if self.natural is None:
            return replace(self.columns, fresh=True)
        size = fitted(self.natural, self.room.width, self.room.height - HEAD, STEPS[-1])
        return replace(self.columns, kind="first", size=size, fresh=True)

    def _blocks(self, size: Size) -> Iterator[_Block]:
        assert self.natural is not None
        if size.width > self.room.width:
            return
        for x, depth, on_left in self._corners():
            indent = round(x * size.width / self.natural.width + GAP, 2)
            beside = self.room.width - indent
            if beside < self.narrowest:
                continue
            text = known_height(self.problem, beside, self.leading)
            text += asked_height(self.problem, beside, self.leading)
            tail = max(0.0, size.height - depth * size.height / self.natural.height + CLEAR)
            row = side_by_side(self.problem, beside)
            place = Place(
                "beside", size, indent=indent, tail=round(tail, 2), on_left=on_left, row=row
            )
            yield _Block(place, HEAD + max(size.height, text + tail))
        place = replace(self.columns, kind="below", size=size)
        yield _Block(place, HEAD + self.text + ABOVE + size.height)

    def _least(self, points: float) -> float:
        """The least scale of the figure: letters of `points`, where the page allows it."""
        if self.problem.figure is None or self.natural is None:
            return 1.0
        return min(
            least_scale(smallest_letters(self.problem.figure.svg), points),
            self.room.width / self.natural.width,
            (self.room.height - HEAD) / self.natural.height,
        )

    def _corners(self) -> Iterator[tuple[float, float, bool]]:
        """Where text may stand beside the figure, as `view.Figure.corner`; on the left?"""
        assert self.natural is not None
        assert self.problem.figure is not None
        yield self.natural.width, inf, False
        yield from ((x, depth, False) for x, depth in self.problem.figure.corner)
        yield from ((x, depth, True) for x, depth in self.problem.figure.left_corner)

    def _columns(self) -> tuple[float, float]:
        """The least height of the text in two columns, and the share of the left one."""
        inner = self.room.width - GAP
        return min(
            (
                max(
                    known_height(self.problem, share * inner, self.leading),
                    asked_height(self.problem, (1 - share) * inner, self.leading),
                ),
                share,
            )
            for share in SHARES
        )


def _pages(sketches: Sequence[_Sketch]) -> Iterator[list[_Sketch]]:
    """Neighbours that fit one page with the least figures, as many as there is room for."""
    group: list[_Sketch] = []
    used = 0.0
    for sketch in sketches:
        block = sketch.block(STEPS[0])
        height = (block.height if block else sketch.room.height) + FOOT
        if group and used + height > sketch.room.height + LEAD + FOOT:
            yield group
            group, used = [], 0.0
        group.append(sketch)
        used += height
    if group:
        yield group


def _settled(group: Sequence[_Sketch]) -> Iterator[Place]:
    """The places on one page, with the largest figures that fit."""
    for step in reversed(STEPS):
        blocks = [sketch.block(step) for sketch in group]
        found = [block for block in blocks if block]
        used = sum(block.height + FOOT for block in found) - LEAD - FOOT
        if len(found) == len(group) and used <= group[0].room.height:
            yield from (replace(b.place, fresh=n == 0) for n, b in enumerate(found))
            return
    yield from (sketch.divided() for sketch in group)
