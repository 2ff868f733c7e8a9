"""Options that are figures: one sort, by size, and far enough apart to be told apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from quizgen.items.lint.remark import Remark, error

# "12.3 V", "about 0.4 Ω", "−0.7 V", "15 A": a figure, its unit, nothing but "about" before it
_FIGURE = re.compile(r"(?:about )?([−-]?\d+(?:\.\d+)?)(\s?[^\d\s.]{1,3})?\.?\Z")


@dataclass(frozen=True)
class Amount:
    """One option as a figure."""

    value: float
    decimals: int
    unit: str


def amounts(texts: Sequence[str]) -> tuple[Amount, ...]:
    """The figures of options that are nothing but figures; () if one of them is not.

    >>> [a.value for a in amounts(["0.0 V", "−12.6 V"])]
    [0.0, -12.6]
    """
    found = []
    for text in texts:
        match = _FIGURE.match(text.strip())
        if match is None:
            return ()
        figure = match.group(1).replace("−", "-")
        decimals = len(figure.partition(".")[2])
        found.append(Amount(float(figure), decimals, (match.group(2) or "").strip()))
    return tuple(found)


def lint_figures(texts: Sequence[str]) -> Iterator[Remark]:
    """L11, L12 and L13, for options that are figures."""
    found = amounts(texts)
    if not found:
        return
    if len({a.unit for a in found}) > 1 or len({a.decimals for a in found}) > 1:
        yield error("L12", f"units or decimals differ: {', '.join(texts)}")
    values = [a.value for a in found]
    if values != sorted(values):
        yield error("L13", f"figures are not in the order of their size: {', '.join(texts)}")
    ordered = sorted(values)
    for low, high in pairwise(ordered):
        if high - low < 10.0 ** -found[0].decimals / 2:
            yield error("L11", f"two options are the same figure, {low:g}")
