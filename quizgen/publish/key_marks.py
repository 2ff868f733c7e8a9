"""What the key marks in the figure of an item, by the kind of its question.

The way of the current where it is asked for; for a fault the faulty wire or part, and what
carries no current any more because of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from quizgen.base.errors import QuizgenError
from quizgen.circuit.netlist import Circuit
from quizgen.diagram import Marks
from quizgen.diagram.marks import mark_id
from quizgen.diagram.svg import UNMARKED
from quizgen.faults import describe, inject, parse_fault
from quizgen.items.current_path import Flows
from quizgen.items.item import Item
from quizgen.solver import OperatingPoint, solve

LEAST_AMPS = 0.002  # less is no current that anything works by
STOPPED = 0.1  # of its current in the sound circuit: less counts as none

SIGNS = (
    ("faulty", "dashed: the fault"),
    ("dead", "ticks: without current because of it"),
    ("flowing", "solid: the way of the current"),
)
_PART = re.compile(r"\b[A-Z]{1,2}\d+[a-z]?\b")


@dataclass(frozen=True)
class KeyMarks:
    """Marks, and what they mean in words; both empty where nothing is to be marked."""

    marks: Marks = UNMARKED
    words: str = ""


def key_marks(item: Item, circuit: Circuit) -> KeyMarks:
    """What to mark for `item`, whose sound circuit is `circuit`."""
    faults = _faults(item)
    try:
        marks = _of_faults(item, circuit, faults) if faults else _of_current(item, circuit)
    except QuizgenError:  # a fault or a position that the circuit does not know any more
        return KeyMarks()
    if not marks:
        return KeyMarks()
    told = [f"Fault: {describe(circuit, parse_fault(fault))}." for fault in faults]
    signs = ", ".join(words for name, words in SIGNS if getattr(marks, name))
    if len(marks.flowing) == 1:
        signs = "solid: what is asked about"
    return KeyMarks(marks, " ".join([*told, f"Marked {signs}."]))


def _faults(item: Item) -> list[str]:
    """The faults in the circuit, with their severities where the item has them."""
    had = item.origin.fault
    rest = [told for told in item.told if not f"{had}:".startswith(f"{told}:")]
    return [fault for fault in (had, *rest) if fault]


def _of_faults(item: Item, circuit: Circuit, faults: list[str]) -> Marks:
    broken, faulty = circuit, set()
    for text in faults:
        fault = parse_fault(text)
        broken = inject(broken, fault)
        faulty.add(mark_id(circuit, fault.part, fault.detail))
    before, now = (_carrying(_solved(c, item)) for c in (circuit, broken))
    dead = {key for key, amps in before.items() if now.get(key, 0.0) < STOPPED * amps}
    return Marks(dead=frozenset(dead - faulty), faulty=frozenset(faulty))


def _of_current(item: Item, circuit: Circuit) -> Marks:
    """The way of the current that the question is about; where there is not one, the part."""
    flows = Flows(_solved(circuit, item))
    named = [name for name in _asked_about(item) if name in circuit.by_id]
    for name in named:
        path = flows.path(name)
        if path is not None:
            keys = {mark_id(circuit, step.part, step.branch) for step in path.steps}
            return Marks(flowing=frozenset(keys | {path.supply}))
    return Marks(flowing=frozenset(named[:1]))


def _asked_about(item: Item) -> Iterator[str]:
    """Parts and wires named by the right answer, the load that was observed first."""
    if item.kind == "trace-path":
        yield from (seen.part for seen in item.proof.observed[:1])
    for claim in item.key_claims:
        yield from _PART.findall(claim)


def _solved(circuit: Circuit, item: Item) -> OperatingPoint:
    return solve(circuit, [{name: position} for name, position in item.origin.positions])


def _carrying(point: OperatingPoint) -> dict[str, float]:
    """Wires, parts and cavities that carry current, with the most of it, ampere."""
    found: dict[str, float] = {}
    for at in [phase.point for phase in point.phases] or [point]:
        for steps in Flows(at).of.values():
            for step in steps:
                if step.amps >= LEAST_AMPS:
                    key = mark_id(at.circuit, step.part, step.branch)
                    found[key] = max(found.get(key, 0.0), step.amps)
    return found
