"""The way of the current through a load: from the plus pole of the battery to the frame.

Read off a solved circuit branch by branch, by the direction and the size of currents, not by
potentials, which do not change along a joint without resistance. There is one way only if no
second branch brings or takes a noticeable share of the load's current.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.items.item import Moves
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.models import part_model

SHARE = 0.01  # of the load's current: less is no way of its own, and as good as stopped
SUPPLIES = (c.Battery, c.Source)
MOST_STEPS = 60


@dataclass(frozen=True)
class Step:
    """A branch of a part, passed from node `a` to node `b`, with `amps` > 0 in that direction."""

    part: str
    kind: str
    branch: str  # its name within the part, "" if it is the only one or the part is a load
    a: str
    b: str
    amps: float

    @property
    def label(self) -> str:
        """`F1`, `S1:30-15`, `X1:2`, `K1:coil`: the notation of claims."""
        return f"{self.part}:{self.branch}" if self.branch else self.part


@dataclass(frozen=True)
class Path:
    """All that the current of a load passes, in order; the load is the step at `place`."""

    supply: str  # the battery
    steps: tuple[Step, ...]
    place: int

    @property
    def load(self) -> Step:
        return self.steps[self.place]

    @cached_property
    def before(self) -> tuple[Step, ...]:
        """What stands between the battery and the load, wires and splices left out."""
        return self._devices(self.steps[: self.place])

    @cached_property
    def after(self) -> tuple[Step, ...]:
        """What stands between the load and the frame, wires and splices left out."""
        return self._devices(self.steps[self.place + 1 :])

    @property
    def devices(self) -> tuple[Step, ...]:
        """Everything but wires and splices."""
        return (*self.before, self.load, *self.after)

    def _devices(self, steps: Sequence[Step]) -> tuple[Step, ...]:
        return tuple(s for s in steps if s.kind != c.Wire.kind)


class Flows:
    """The currents of a solved circuit, as steps that leave or reach each node."""

    def __init__(self, point: OperatingPoint) -> None:
        self.point = point
        self.into: dict[str, list[Step]] = {}
        self.out: dict[str, list[Step]] = {}
        self.of: dict[str, list[Step]] = {}
        for part in point.circuit.parts:
            for step in _steps(point, part):
                self.into.setdefault(step.b, []).append(step)
                self.out.setdefault(step.a, []).append(step)
                self.of.setdefault(part.id, []).append(step)

    def path(self, load: str) -> Path | None:
        """The way of the current through `load`; None where there is none or more than one."""
        steps = self.of.get(load, ())
        if len(steps) != 1 or steps[0].amps == 0.0:
            return None
        step = steps[0]
        fed = self.feed(step)
        back = self.back(step)
        if fed is None or back is None:
            return None
        supply, before = fed
        return Path(supply, (*before, step, *back), len(before))

    def feed(self, step: Step) -> tuple[str, tuple[Step, ...]] | None:
        """The battery and the steps from its plus pole to `step`; None if not one way."""
        least, found = SHARE * step.amps, [step]
        while len(found) < MOST_STEPS:
            ways = [s for s in self.into.get(found[0].a, ()) if s.amps > least]
            if len(ways) != 1:
                return None
            part = self.point.circuit.by_id[ways[0].part]
            if isinstance(part, SUPPLIES):
                return part.id, tuple(found[:-1])
            found.insert(0, ways[0])
        return None

    def back(self, step: Step) -> tuple[Step, ...] | None:
        """The steps from `step` to the frame; None if not one way."""
        least, found = SHARE * step.amps, [step]
        while len(found) < MOST_STEPS:
            if found[-1].b == self.point.circuit.reference:
                return tuple(found[1:])
            ways = [s for s in self.out.get(found[-1].b, ()) if s.amps > least]
            if len(ways) != 1 or isinstance(self.point.circuit.by_id[ways[0].part], SUPPLIES):
                return None
            found.append(ways[0])
        return None

    def step(self, label: str) -> Step | None:
        """The step called `label` if current passes it."""
        part = label.partition(":")[0]
        return next((s for s in self.of.get(part, ()) if s.label == label), None)


def _steps(point: OperatingPoint, part: c.Part) -> Iterator[Step]:
    """The branches of a part through which current passes."""
    branches = part_model(part).branches
    for branch, flow in zip(branches, point.flows(part), strict=True):
        if flow.amps == 0.0:
            continue
        name = "" if isinstance(part, c.LOADS) or len(branches) == 1 else branch.name
        ends = (branch.a, branch.b) if flow.amps > 0 else (branch.b, branch.a)
        yield Step(part.id, part.kind, name, *ends, abs(flow.amps))


def amps_when_open(
    circuit: Circuit, moves: Moves, load: str, steps: Sequence[Step]
) -> tuple[float, ...]:
    """What current is left through `load` with each of `steps` opened by itself, ampere.

    A step is opened at either end: the terminal there is taken off its node. Where a part joins
    three points at once the two may differ; the larger current counts.
    """
    opened = [circuit.with_parts(changed=[_cut(circuit, s, n)]) for s in steps for n in (s.a, s.b)]
    solutions = solve_cases(opened, [(i, moves) for i in range(len(opened))])
    left = []
    for case in range(len(opened)):
        point = solutions.point(case)
        left.append(max(abs(f.amps) for f in point.flows(point.circuit.by_id[load])))
    return tuple(max(pair) for pair in zip(left[::2], left[1::2], strict=True))


def _cut(circuit: Circuit, step: Step, node: str) -> c.Part:
    part = circuit.by_id[step.part]
    return replace(part, nodes=tuple(f"{n}~open" if n == node else n for n in part.nodes))


def amps_words(amps: float) -> str:
    """A current as an ammeter shows it: three digits where there are that many.

    >>> amps_words(12.34), amps_words(0.1482), amps_words(0.0183), amps_words(0.0)
    ('12.3 A', '0.15 A', '18 mA', '0.0 A')
    """
    if 0.0005 <= amps < 0.1:
        return f"{1000.0 * amps:.0f} mA"
    return f"{amps:.2f} A" if 0.1 <= amps < 1.0 else f"{amps:.1f} A"
