"""Charts of the class report as SVG: one colour, every figure also in words.

All lengths are millimetres. Text is the size of small print at 170 mm of width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from quizgen.reports.wording import percent

FONT = "Atkinson Hyperlegible, DejaVu Sans, sans-serif"
INK, SOFT, LINE, ACCENT = "#1a1d21", "#565c64", "#b9bec5", "#0c4a5e"
WIDTH = 170.0
TEXT = 3.2


@dataclass(frozen=True, kw_only=True)
class Chart:
    """A drawing and the same in words, which the drawing carries as its title."""

    svg: str
    alternative: str


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A share with its interval, and what stands to the left and to the right of it."""

    label: str
    share: float
    low: float
    high: float
    note: str = ""


def histogram(counts: Sequence[tuple[str, int]], below: str) -> Chart:
    """How many students had how many points; `counts` are label and number, `below` the axis."""
    left, top, height = 12.0, 5.0, 42.0
    most = max((count for _, count in counts), default=0) or 1
    step = (WIDTH - left - 2) / max(len(counts), 1)
    body = [_line(left, top + height, WIDTH, top + height, INK)]
    ticks = sorted({0, most, *((most // 2,) if most > 3 else ())})
    for tick in ticks:
        y = top + height * (1 - tick / most)
        body.append(_text(left - 2, y + 1.1, str(tick), end=True, soft=True))
        if tick:
            body.append(_line(left, y, WIDTH, y, LINE))
    for i, (label, count) in enumerate(counts):
        x, tall = left + 2 + i * step, height * count / most
        body.append(_rect(x + 0.12 * step, top + height - tall, 0.76 * step, tall))
        body.append(_text(x + step / 2, top + height + 4.4, label, middle=True))
        if count:
            body.append(_text(x + step / 2, top + height - tall - 1.2, str(count), middle=True))
    body.append(_text(left + (WIDTH - left) / 2, top + height + 9.4, below, middle=True, soft=True))
    said = ", ".join(f"{label}: {count}" for label, count in counts if count)
    return _chart(top + height + 12, body, f"{below}, students. {said}.")


def intervals(bars: Sequence[Bar], about: str, label_width: float = 62.0) -> Chart:
    """Shares from 0 to 100 % as dots on the line of their 95 % interval, one under the other."""
    left, right, row, top = label_width, WIDTH - 30.0, 5.4, 8.0
    bottom = top + row * len(bars)
    body = []
    for tick in range(0, 101, 25):
        x = left + (right - left) * tick / 100
        body.append(_line(x, top - 1.5, x, bottom, LINE))
        body.append(_text(x, top - 3, f"{tick} %", middle=True, soft=True))
    for i, bar in enumerate(bars):
        y = top + row * (i + 0.5)
        low, at, high = (left + (right - left) * v for v in (bar.low, bar.share, bar.high))
        body.append(_text(0, y + 1.1, bar.label))
        body.append(_line(low, y, high, y, ACCENT, 0.9))
        body.append(f'<circle cx="{at:.2f}" cy="{y:.2f}" r="1.5" fill="{ACCENT}"/>')
        body.append(_text(right + 3, y + 1.1, bar.note or percent(bar.share)))
    said = "; ".join(
        f"{bar.label}: {percent(bar.share)} ({percent(bar.low)} to {percent(bar.high)})"
        for bar in bars
    )
    return _chart(bottom + 1, body, f"{about}. {said}.")


def trend(points: Sequence[Bar], about: str) -> Chart:
    """Shares in the order of time as a line, each with its interval; labels stand below.

    Of many points some labels are left out, none of the shares in words.
    """
    left, right, top, height = 12.0, WIDTH - 4.0, 4.0, 34.0
    bottom, step = top + height, (right - left) / max(len(points), 1)
    body = []
    for tick in range(0, 101, 25):
        y = bottom - height * tick / 100
        body.append(_line(left, y, right, y, LINE))
        body.append(_text(left - 2, y + 1.1, f"{tick} %", end=True, soft=True))
    places = [(left + step * (i + 0.5), bottom - height * p.share) for i, p in enumerate(points)]
    for (x, y), (to, down) in pairwise(places):
        body.append(_line(x, y, to, down, ACCENT, 0.5))
    every = -(-len(points) // 12)
    for i, ((x, y), point) in enumerate(zip(places, points, strict=True)):
        low, high = (bottom - height * end for end in (point.low, point.high))
        body.append(_line(x, low, x, high, ACCENT, 0.3))
        body.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.3" fill="{ACCENT}"/>')
        if i % every == 0:
            body.append(_text(x, bottom + 4.6, point.label, middle=True, soft=True))
    said = "; ".join(f"{p.label}: {percent(p.share)}" for p in points)
    return _chart(bottom + 7, body, f"{about}. {said}.")


def score_bins(shares: Sequence[float], out_of: int) -> tuple[list[tuple[str, int]], str]:
    """Points in classes for a histogram, and what the axis shows.

    A class for each point up to 12 of them; else, or where what could be had differs (`out_of`
    0), tenths of all. A share with fractions of a point counts for the whole points below it.

    >>> score_bins([1.0, 0.55, 0.5], 2)
    ([('0', 0), ('1', 2), ('2', 1)], 'Points of 2')
    """
    if 0 < out_of <= 12:
        counts = [0] * (out_of + 1)
        for share in shares:
            counts[int(share * out_of + 1e-6)] += 1
        return [(str(points), count) for points, count in enumerate(counts)], f"Points of {out_of}"
    counts = [0] * 10
    for share in shares:
        counts[min(int(share * 10 + 1e-6), 9)] += 1
    bins = [(f"{10 * i}–{10 * i + 10} %", count) for i, count in enumerate(counts)]
    return bins, "Points as a share of what could be had"


def short(text: str, most: int) -> str:
    """`text` cut to `most` characters."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _chart(height: float, body: Sequence[str], alternative: str) -> Chart:
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {WIDTH} {height:.2f}" role="img">'
        f"<title>{escape(alternative)}</title>{''.join(body)}</svg>"
    )
    return Chart(svg=svg, alternative=alternative)


def _line(x: float, y: float, to: float, down: float, colour: str, width: float = 0.2) -> str:
    return (
        f'<path d="M{x:.2f} {y:.2f}L{to:.2f} {down:.2f}" stroke="{colour}" '
        f'stroke-width="{width}" fill="none"/>'
    )


def _rect(x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" fill="{ACCENT}"/>'
    )


def _text(
    x: float, y: float, text: str, *, middle: bool = False, end: bool = False, soft: bool = False
) -> str:
    anchor = "middle" if middle else "end" if end else "start"
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-family="{FONT}" font-size="{TEXT}" '
        f'text-anchor="{anchor}" fill="{SOFT if soft else INK}">{escape(text)}</text>'
    )
