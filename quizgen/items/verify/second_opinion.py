"""What items print, recomputed by ngspice instead of the solver.

Recomputed are, in the circuit and the state that the item gives,

* every printed reading of an instrument, the instrument being part of the circuit
* every figure of the item that is such a reading; `FIGURES` knows where each kind has them
* the voltage of every node, and whether relays and diodes fit the voltages found

A reading must lie within half a digit of the display, a node within a millivolt. What is left
to the solver is in which discrete state a circuit comes to rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf

from quizgen.base.errors import QuizgenError
from quizgen.items.item import Item
from quizgen.items.verify.kind_figures import FIGURES
from quizgen.items.verify.printed import Shown, readings_of, subject_of
from quizgen.items.verify.shape import check_shape
from quizgen.solver import OperatingPoint
from quizgen.solver.ngspice import misfits, solve_again

NODE_VOLTS = 1e-3
HALF = 0.5 + 1e-3  # of the last digit: a printed figure lies that near what it stands for
AT_ONCE = 20  # items whose points go to one process, so that memory stays small


@dataclass(frozen=True)
class Opinion:
    """What ngspice says of some items.

    `findings` are what is wrong with each item, in their order. `digits` is the worst
    difference between a reading by the solver and by ngspice in last digits of its display,
    `volts` the worst of a node.
    """

    findings: tuple[tuple[str, ...], ...] = ()
    readings: int = 0
    nodes: int = 0
    digits: float = 0.0
    volts: float = 0.0

    def __add__(self, other: Opinion) -> Opinion:
        return Opinion(
            (*self.findings, *other.findings),
            self.readings + other.readings,
            self.nodes + other.nodes,
            max(self.digits, other.digits),
            max(self.volts, other.volts),
        )


def second_opinion(
    items: Sequence[Item], program: str, progress: Callable[[int], None] = lambda item: None
) -> Opinion:
    """Recompute what the items print with `program`, see `solver.ngspice.find_ngspice`.

    `progress` is called with the index of each item that is begun. An item whose circuit
    cannot be made again has a finding. Raises OutsideError when the program cannot be run.
    """
    opinion = Opinion()
    for start in range(0, len(items), AT_ONCE):
        prepared = []
        for i, item in enumerate(items[start : start + AT_ONCE], start):
            progress(i)
            prepared.append(_prepare(item))
        points = [p for one in prepared for p in one.points]
        again = iter(solve_again(points, program))
        for one in prepared:
            opinion += _judge(one, [next(again) for _ in one.points])
    return opinion


@dataclass(frozen=True)
class _Prepared:
    """An item: its figures, how its machine stands, what kept it from being looked at."""

    shown: tuple[Shown, ...] = ()
    stands: tuple[OperatingPoint, ...] = ()
    problem: str = ""

    @property
    def points(self) -> list[OperatingPoint]:
        return [*self.stands, *(p for shown in self.shown for p in shown.points)]


def _prepare(item: Item) -> _Prepared:
    unfit = next(check_shape(item), "")
    if unfit:
        return _Prepared(problem=f"ngspice has nothing to recompute: {unfit}")
    try:
        case = subject_of(item)
        more = FIGURES[item.kind](case) if item.kind in FIGURES else ()
        return _Prepared((*readings_of(case), *more), case.stands)
    except QuizgenError as error:
        return _Prepared(problem=f"ngspice has nothing to recompute: {error}")


def _judge(one: _Prepared, again: Sequence[OperatingPoint | None]) -> Opinion:
    found = [point for point in again if point is not None]
    if one.problem or len(found) < len(again):
        problem = one.problem or "ngspice finds no operating point of its circuit"
        return Opinion(((problem,),))
    findings: list[str] = []
    nodes, volts = 0, 0.0
    for old, new in zip(one.stands, found, strict=False):
        gaps = dict(_gaps(old, new))
        findings += [
            f"{node}: ngspice finds {_volts(new, node)}, the solver {_volts(old, node)}"
            for node, gap in gaps.items()
            if not gap <= NODE_VOLTS
        ]
        if len(one.stands) == 1:
            findings += [f"by ngspice's voltages {text}" for text in misfits(new)]
        nodes, volts = nodes + len(gaps), max(volts, *gaps.values(), 0.0)
    rest, digits = iter(found[len(one.stands) :]), 0.0
    for shown in one.shown:
        try:
            finding, gap = _held(shown, [next(rest) for _ in shown.points])
        except QuizgenError as error:
            finding, gap = f"{shown.what}: {error}", 0.0
        findings += [finding] if finding else []
        digits = max(digits, gap)
    return Opinion((tuple(findings),), len(one.shown), nodes, digits, volts)


def _held(shown: Shown, again: Sequence[OperatingPoint]) -> tuple[str, float]:
    """What is wrong with a figure, and the solver's difference from ngspice in last digits."""
    ours = [shown.read(point) for point in shown.points]
    theirs = [shown.read(point) for point in again]
    gap = max(_apart(a, b) for a, b in zip(ours, theirs, strict=True)) / shown.digit
    if any(_apart(value, shown.value) <= HALF * shown.digit for value in theirs):
        return "", gap
    said = " or ".join(f"{value:.6g} {shown.unit}".rstrip() for value in dict.fromkeys(theirs))
    return f"{shown.what}: ngspice finds {said}, the item says {shown.value:g}", gap


def _volts(point: OperatingPoint, node: str) -> str:
    volts = point.volts(node)
    return "that it floats" if volts is None else f"{volts:.6f} V"


def _apart(one: float, other: float) -> float:
    return 0.0 if one == other else abs(one - other)  # two readings of OL are alike


def _gaps(old: OperatingPoint, new: OperatingPoint) -> Iterator[tuple[str, float]]:
    """Node → difference in volts; inf if it floats in one of them only."""
    for node in old.circuit.nodes:
        mine, other = old.volts(node), new.volts(node)
        if mine is not None and other is not None:
            yield node, abs(mine - other)
        elif mine is not other:
            yield node, inf
