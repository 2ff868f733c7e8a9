"""Reading the detail of a fault, with an error that says what it may be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import TypeVar

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.faults.fault import Fault

T = TypeVar("T")

MOST_OHM = 1e9  # more than this is an open, and there is a mode for that


def choices(text: str, known: Iterable[str], what: str) -> str:
    """What to write instead of `text`: the near miss, then all there are.

    >>> choices("blwon", ["blown", "missing"], "mode")
    '; did you mean blown? modes: blown missing'
    >>> choices("zzz", ["blown", "missing"], "mode")
    '; modes: blown missing'
    """
    names = list(known)
    hint = suggest(text, names)
    near = f"{hint} " if hint.endswith("?") else "; "
    plural = f"{what[:-1]}ies" if what.endswith("y") else f"{what}s"
    return f"{near}{plural}: {' '.join(names) or 'none'}"


def one_of(fault: Fault, text: str, known: Mapping[str, T], what: str) -> T:
    """The value that `text` names. Raises InputError listing the names there are."""
    if text in known:
        return known[text]
    found = f"{fault.part} has no {what} {shown(text)}" if text else f"which {what}"
    raise InputError(f"fault {fault}: {found}{choices(text, known, what)}")


def number(fault: Fault, text: str, low: float, high: float, what: str) -> float:
    """`text` as a number from `low` to `high`. Raises InputError otherwise."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value) or not low <= value <= high:
        raise InputError(
            f"fault {fault}: {what} must be a number from {low:g} to {high:g}, "
            f"not {text!r}; such as {fault.part}:{fault.mode}:{_example(fault, high)}"
        )
    return value


def added_ohm(fault: Fault, text: str) -> float:
    """An added resistance in ohm, above 0. Raises InputError otherwise."""
    ohm = number(fault, text, 0.0, MOST_OHM, "the added resistance in ohm")
    if ohm == 0.0:
        raise InputError(f"fault {fault}: 0 ohm added is no fault; give the ohms above 0")
    return ohm


def fraction(fault: Fault) -> float:
    """A place along a wire, 0 at its `from` end, 1 at its `to` end."""
    return number(fault, fault.detail, 0.0, 1.0, "the place along the wire")


def no_detail(fault: Fault) -> None:
    """Raises InputError when the fault has a detail that means nothing."""
    if fault.detail:
        raise InputError(
            f"fault {fault}: {fault.mode} takes no detail; write {fault.part}:{fault.mode}"
        )


def placed_ohm(fault: Fault, known: Mapping[str, T], what: str) -> tuple[T, float]:
    """`PLACE=OHM` as the place and the added ohm. Raises InputError otherwise."""
    place, _, ohm = fault.detail.rpartition("=")
    return one_of(fault, place, known, what), added_ohm(fault, ohm)


def _example(fault: Fault, high: float) -> str:
    place, equals, _ = fault.detail.rpartition("=")
    return f"{place}{equals}{0.3 if high == 1.0 else 2}"
