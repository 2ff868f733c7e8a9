"""The suspects that a complaint leaves standing, and how much a test would tell about them.

A *suspect* is a fault of the circuit's universe that agrees with all that the stem tells, each
as likely as its weight says. Where a fault's outcome is in doubt its likeliest course counts. A
test sorts suspects into *classes*, those it cannot tell apart; what it is worth are the bits
it is expected to tell about *which part* is at fault:

    H(class) − Σ share(part) · H(class | part)

(mutual information; Cover and Thomas, Elements of Information Theory, sec. 2.3, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.beliefs import information, normalised, settled
from quizgen.diagnosis.checks import MINUTES, access
from quizgen.diagnosis.clicks import NOBODY_KNOWS
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.diagnosis.evidence import SCALES
from quizgen.faults import Fault, WeightedFault, universe
from quizgen.items.complaint import telling
from quizgen.items.evidence import margin_volts
from quizgen.solver.laws import FloatArray
from quizgen.solver.observation import Observation

SAME_VOLTS = 0.15  # as printed, a digit apart at most

Classes = tuple[int, ...]  # by suspect


@dataclass(frozen=True)
class Standing:
    """The suspects when the fault in `row` of the dictionary is hidden, after some readings."""

    dictionary: FaultDictionary
    row: int
    measured: tuple[str, ...] = ()  # nodes: what a voltmeter shows there is known too
    pool: tuple[WeightedFault, ...] = field(default=(), repr=False)  # the universe, if known

    @cached_property
    def cases(self) -> tuple[WeightedFault, ...]:
        """The fault universe; to be handed on as `pool`, since it takes long to draw up."""
        return self.pool or universe(self.dictionary.circuit)

    @cached_property
    def suspects(self) -> dict[Fault, float]:
        """Fault → its share of the likelihood; the hidden one is among them."""
        d = self.dictionary
        able = {w.fault: w.weight for w in self.cases if self.agrees(d.row(w.fault))}
        return dict(zip(able, normalised(list(able.values())).tolist(), strict=True))

    @cached_property
    def rows(self) -> list[int]:
        """Rows of the dictionary, by suspect."""
        return [self.dictionary.row(fault) for fault in self.suspects]

    @cached_property
    def parts(self) -> dict[str, float]:
        """Part → share of the likelihood that it is at fault, in the order of the circuit."""
        found: dict[str, float] = {}
        for fault, share in self.suspects.items():
            found[fault.part] = found.get(fault.part, 0.0) + share
        return found

    @cached_property
    def sure(self) -> dict[str, Fault]:
        """Part → its likeliest fault under which everything is as told beyond doubt."""
        d, found = self.dictionary, dict[str, Fault]()
        told = [o.level for o in d.seen[self.row]]
        for fault in sorted(self.suspects, key=lambda f: -self.suspects[f]):
            row = d.row(fault)
            point = d.solutions.point(row)
            clear = not point.ambiguous and not point.phases
            clear &= not any(o.doubtful for o in d.seen[row])
            at = [d.points.index(node) for node in self.measured]
            clear &= all(abs(d.low[i, row] - d.low[i, self.row]) < SAME_VOLTS for i in at)
            relays = [n - len(told) for n in telling(d, self.row)[len(told) :]]
            clear &= all(d.heard[r, row] == d.heard[r, self.row] for r in relays)
            clear &= self.surely(row)
            if clear and [o.level for o in d.seen[row]] == told:
                found.setdefault(fault.part, fault)
        return found

    def surely(self, row: int) -> bool:
        """Beyond complaint and readings nothing is known, so nothing is in doubt."""
        return True

    def agrees(self, row: int) -> bool:
        """What is told may be what a row of the dictionary shows."""
        d = self.dictionary
        loads = zip(d.seen[row], d.seen[self.row], strict=True)
        if any(found.level not in reports(seen) for seen, found in loads):
            return False
        for node in self.measured:
            at = d.points.index(node)
            shown = float(d.low[at, self.row])
            miss = max(d.low[at, row] - shown, shown - d.high[at, row])
            if miss > margin_volts(shown):
                return False
        relays = [n - len(d.seen[row]) for n in telling(d, self.row)[len(d.seen[row]) :]]
        return all(d.heard[r, row] in (NOBODY_KNOWS, d.heard[r, self.row]) for r in relays)

    def volts(self, node: str) -> tuple[FloatArray, FloatArray]:
        """Lowest and highest volts on a meter to the reference, by suspect."""
        at = self.dictionary.points.index(node)
        return self.dictionary.low[at, self.rows], self.dictionary.high[at, self.rows]

    def bits(self, classes: Classes, *, even: bool = False) -> float:
        """What a test tells; with `even` all parts are equally likely, and all faults of one."""
        names = list(self.parts)
        number = [names.index(fault.part) for fault in self.suspects]
        many = np.bincount(number, minlength=len(names))
        shares = np.array([1.0 / many[n] for n in number] if even else [*self.suspects.values()])
        joint = settled(classes) * shares
        by_part = np.zeros((len(joint), len(names)))
        for column, n in enumerate(number):
            by_part[:, n] += joint[:, column]
        total = by_part.sum(axis=0)
        return information(total, by_part / total)

    def shares(self, classes: Classes) -> list[float]:
        """Share of the likelihood of each class."""
        found = np.bincount(classes, weights=[*self.suspects.values()])
        return [float(share) for share in found]

    def parts_of(self, classes: Classes, number: int) -> list[str]:
        """Parts with a suspect in a class, the likeliest first."""
        pairs = zip(self.suspects, classes, strict=True)
        found = dict.fromkeys(fault.part for fault, c in pairs if c == number)
        return sorted(found, key=lambda part: -self.parts[part])


def reports(seen: Observation) -> frozenset[str]:
    """What people may report of a load: beside a threshold also the neighbours of its level."""
    for scale in SCALES if seen.doubtful else ():
        if seen.level in scale:
            place = scale.index(seen.level)
            near = scale[max(place - 1, 0) : place + 2]
            return frozenset((*near, "stopped") if "stopped" in scale else near)
    return frozenset((seen.level,))


def told_apart(low: FloatArray, high: FloatArray, wider: float = 1.0) -> Classes:
    """Classes of readings with a gap between them that a meter sees, from low to high.

    The gap is `evidence.margin_volts` times `wider`.

    >>> told_apart(np.array([0.0, 12.0, 0.1]), np.array([0.0, 12.0, 0.1]))
    (0, 1, 0)
    """
    order = np.argsort(low, kind="stable").tolist()
    found = [0] * len(order)
    number, top = 0, -np.inf
    for i in order:
        if np.isfinite(top) and low[i] - top > wider * margin_volts(float(top)):
            number += 1
        found[i] = number
        top = max(top, float(high[i]))
    return tuple(found)


def place_of(circuit: Circuit, nodes: Sequence[str]) -> dict[str, float] | None:
    """Place → minutes to reach it, of several points; None if one cannot be reached."""
    found = [access(circuit, node) for node in nodes]
    return None if None in found else dict(place for place in found if place)


def reading_minutes(circuit: Circuit, nodes: Sequence[str]) -> float | None:
    """Minutes for voltmeter readings at several points, each place reached once."""
    places = place_of(circuit, nodes)
    if places is None:
        return None
    return round(len(nodes) * MINUTES["voltmeter"] + sum(places.values()), 2)
