"""The figures behind an item, in words.

An item gives each figure a name that its verifier looks up. Here is what the key prints for such
a name; one that is not in the table is already what a reader would say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from quizgen.items.item import Figure

WORDS = (  # name, and what stands for it with its amount
    (r"(.+)\.milliohm_per_metre", r"\1 {amount}"),
    (r"milliohm_per_metre (.+)", r"\1 mm² {amount}"),
    (r"(.+)\.metres", r"\1 {amount} long"),
    (r"metres", "{amount} of wire"),
    (r"limit", "drop allowed {amount}"),
    (r"fitted", "fitted now {amount}"),
    (r"(.+)\.watts", r"\1 rated {amount}"),
    (r"(.+)\.ohm", r"\1 has {amount}"),
    (r"(.+)\.section(\d+)", r"\1 section \2 {amount}"),
    (r"(.+)\.bears", r"\1 may carry {amount}"),
    (r"extra", "new load {amount}"),
    (r"spare", "fuse at least {amount} times the current"),
    (r"by the solver", "the whole circuit solved gives {amount}"),
    (r"by the sum", "the sum gives {amount}"),
    (r"bits", "tells {amount}"),
    (r"even bits", "with all parts equally likely {amount}"),
    (r"minutes", "{amount}"),
    (r"largest", "likeliest outcome {percent}"),
    (r"times", "{amount} times"),
    (r"average", "{amount} on average"),
    (r"alike", "pairs left alike: {amount}"),
    (r"(.+) sound", r"across \1 in a sound circuit {amount}"),
)
DETAILS = (  # of a part, in the notation of faults and claims
    (r"\b(X\d+):(?=\w)", r"\1 cavity "),
    (r":(\w+-\w+)\b", r" contact \1"),
    (r":(?=\w)", " "),
)


def figures_text(figures: Iterable[Figure]) -> str:
    """Figures after one another; of suspects, which the question has named, how many there are.

    >>> figures_text([Figure(name="W5.metres", value=2.35, unit="m")])
    'W5 2.35 m long'
    """
    figures = tuple(figures)
    suspects = sum(figure.unit == "suspect" for figure in figures)
    told = [_figure(figure) for figure in figures if figure.unit != "suspect"]
    return ", ".join([f"{suspects} suspects", *told] if suspects else told)


def _figure(figure: Figure) -> str:
    if figure.name.endswith("OL"):  # written as a number that is none
        return figure.name
    amount = _amount(figure)
    if figure.unit and figure.name.endswith(f" {figure.unit}"):
        return f"{figure.name} ({amount})"
    percent = f"{100 * figure.value:.0f} %"
    for name, words in WORDS:
        if found := re.fullmatch(name, figure.name):
            return found.expand(words).format(amount=amount, percent=percent)
    name = figure.name
    for detail, words in DETAILS:
        name = re.sub(detail, words, name)
    return f"{name} {amount}"


def _amount(figure: Figure) -> str:
    if figure.unit == "Ω" and figure.value < 0:  # no number stands for what an ohmmeter calls OL
        return "OL"
    return f"{figure.value:.4g} {figure.unit}".replace("-", "−").strip()
