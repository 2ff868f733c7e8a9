"""Which faults agree with everything an item tells? There may be none but at the key's part.

Every severity of every claim has to be ruled out by an observation or a reading. Between two
neighbours on the ladder of severities all voltages and levels are taken to lie between theirs;
where that does not rule the whole step out, the step is halved until it does, or until a
severity is found that agrees, which is a second answer. What is left of a step that is too
small to halve is a jump: a relay or a protector acts there, and nothing lies in between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import sqrt

from quizgen.faults import Fault
from quizgen.items.item import Observed, Reading
from quizgen.items.verify.bench import Bench, Cell, Outcome, severity_of, with_severity
from quizgen.items.verify.meter import margin, measure
from quizgen.items.verify.tries import Try

SMALLEST_STEP = 1.003  # ratio of two severities in ohm
SMALLEST_CHARGE = 0.2  # difference of two charges in percent
ROUNDS = 12

Step = tuple[Fault, Fault]


@dataclass(frozen=True)
class Evidence:
    """What an item tells: loads and relays as observed, readings as shown, and other tests."""

    bench: Bench
    observed: tuple[Observed, ...]
    readings: tuple[Reading, ...]
    tries: tuple[Try, ...] = field(default=())

    def rules_out(self, cell: Cell) -> bool:
        """Whatever lies in the cell disagrees with some observation or reading."""
        if any(len(ways) != len(cell[0]) for ways in cell):
            return False
        return all(self._one_way(tuple((way,) for way in ways)) for ways in zip(*cell, strict=True))

    def _one_way(self, cell: Cell) -> bool:
        if any(missed(r, cell) for r in self.readings):
            return True
        if any(o.level not in self.bench.levels(o.part, cell) for o in self.observed):
            return True
        return any(t.misses(cell) for t in self.tries)


def leads(reading: Reading) -> tuple[str, str]:
    """Red and black node."""
    return reading.red_node, reading.black_node


def spread(reading: Reading, cell: Cell) -> tuple[float, float]:
    """Lowest and highest volts that the cell may show there."""
    found = [way.between(leads(reading)) for ways in cell for way in ways]
    return min(low for low, _ in found), max(high for _, high in found)


def missed(reading: Reading, cell: Cell) -> bool:
    """The reading lies outside what the cell may show by more than the margin."""
    low, high = spread(reading, cell)
    gap = max(low - reading.volts, reading.volts - high)
    return gap > margin(reading.volts)


def missed_either_way(reading: Reading, cell: Cell) -> bool:
    """The reading is missed whichever way an uncertain outcome goes.

    A fuse that may or may not open gives one voltage or the other, and none between them.
    """
    if any(len(ways) != len(cell[0]) for ways in cell):
        return missed(reading, cell)
    sides = zip(*cell, strict=True)
    return all(missed(reading, tuple((way,) for way in side)) for side in sides)


def rivals(evidence: Evidence) -> tuple[Fault, ...]:
    """Faults that agree with all the evidence, the first that is found for each claim."""
    bench = evidence.bench
    bench.prepare(fault for members in bench.claims.values() for fault in members)
    found: dict[str, Fault] = {}
    steps: list[tuple[str, Step]] = []
    for claim, members in bench.claims.items():
        agreeing = _agreeing(evidence, members)
        if agreeing is not None:
            found[claim] = agreeing
            continue
        pairs = pairwise(members)
        steps += [(claim, pair) for pair in pairs if not evidence.rules_out(_cell(bench, pair))]
    found |= _halved(evidence, steps)
    return tuple(found.values())


def _cell(bench: Bench, step: Step) -> Cell:
    return bench.ways(step[0]), bench.ways(step[1])


def _agreeing(evidence: Evidence, members: Sequence[Fault]) -> Fault | None:
    return next((f for f in members if _agrees(evidence, f)), None)


def _agrees(evidence: Evidence, fault: Fault) -> bool:
    """No bound and no exact reading rules out some outcome of the fault."""
    ways = evidence.bench.ways(fault)
    return any(
        not evidence.rules_out(((way,),)) and not _ruled_out_exactly(evidence, way) for way in ways
    )


def _ruled_out_exactly(evidence: Evidence, way: Outcome) -> bool:
    """Where the bounds of a meter's load are too wide to tell, the meter is put in."""
    readings = [r for r in evidence.readings if _width(way.between(leads(r))) > 0.01]
    if not readings or way.point.phases:
        return False
    asked = [(way.point.circuit, leads(r)) for r in readings]
    shown = measure(evidence.bench.moves, asked)
    return any(
        max(low - r.volts, r.volts - high) > margin(r.volts)
        for r, (low, high) in zip(readings, shown, strict=True)
    )


def _width(pair: tuple[float, float]) -> float:
    return pair[1] - pair[0]


def _halved(evidence: Evidence, steps: list[tuple[str, Step]]) -> dict[str, Fault]:
    """Claim → a severity between the neighbours that agrees with the evidence."""
    bench = evidence.bench
    found: dict[str, Fault] = {}
    for _ in range(ROUNDS):
        steps = [(claim, s) for claim, s in steps if claim not in found and not _small(s)]
        middles = [_middle(step) for _, step in steps]
        bench.prepare(middles)
        halves: list[tuple[str, Step]] = []
        for (claim, (mild, bad)), middle in zip(steps, middles, strict=True):
            if _agrees(evidence, middle):
                found[claim] = middle
            halves += [(claim, (mild, middle)), (claim, (middle, bad))]
        steps = [(c, s) for c, s in halves if not evidence.rules_out(_cell(bench, s))]
        if not steps:
            break
    return found


def _small(step: Step) -> bool:
    low, high = sorted(map(severity_of, step))
    if step[0].mode == "weak":
        return high - low < SMALLEST_CHARGE
    return high < SMALLEST_STEP * low


def _middle(step: Step) -> Fault:
    a, b = map(severity_of, step)
    return with_severity(step[0], (a + b) / 2.0 if step[0].mode == "weak" else sqrt(a * b))
