"""One instrument at many pairs of points of many circuits, solved in one batch.

A switch of as many positions as there are pairs puts the leads of the instrument where they
belong; the circuits are built once, not once for every pair.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from quizgen.circuit.components import Contact, Switch
from quizgen.circuit.netlist import Circuit, Control
from quizgen.instruments import INSTRUMENTS
from quizgen.instruments.instrument import CLIP, Instrument
from quizgen.instruments.setup import loosen
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.operating_point import Moves

LEADS = "~leads"
RED, BLACK = "~red", "~black"

Leads = tuple[str, str]


@dataclass(frozen=True)
class Look:
    """What one instrument may show in one circuit at one pair of points."""

    words: tuple[str, ...]  # what is displayed, by phase
    low: float
    high: float
    slack: float  # tolerance and last digit
    doubtful: bool


def look_at(
    circuits: Sequence[Circuit], name: str, leads: Sequence[Leads], moves: Moves,
    unplugged: Sequence[str] = (),
) -> list[list[Look] | None]:  # fmt: skip
    """For each pair of leads (red, black) one look by circuit; None where it must not be done.

    What is unsafe or pointless is judged on the first circuit, the sound one. Raises InputError
    and CircuitError as `quizgen.instruments.measure`.
    """
    instrument = INSTRUMENTS[name]
    selector = _selector(leads)
    fitted = [_fitted(loosen(circuit, unplugged), instrument, selector) for circuit in circuits]
    bare = solve_cases(fitted[:1], [(0, moves)]).point(0)
    # the clip hangs on the selector, so nothing is joined before the last move
    cases = [
        (i, ((CLIP, "on"), *moves, (LEADS, str(n))))
        for n in range(1, len(leads) + 1)
        for i in range(len(circuits))
    ]
    solutions = solve_cases(fitted, cases)
    return [
        None
        if instrument.objection(bare, red, black) or instrument.warnings(bare, red, black)
        else [
            _look(instrument, solutions, n * len(circuits) + i, red, black)
            for i in range(len(circuits))
        ]
        for n, (red, black) in enumerate(leads)
    ]


def _selector(leads: Sequence[Leads]) -> Switch:
    nodes = list(dict.fromkeys(node for pair in leads for node in pair))
    pin = {node: str(number) for number, node in enumerate(nodes)}
    contacts = tuple(
        (Contact(a=pin[red], b="red"), Contact(a=pin[black], b="black")) for red, black in leads
    )
    return Switch(
        id=LEADS,
        nodes=(*nodes, RED, BLACK),
        pins=(*pin.values(), "red", "black"),
        positions=tuple(str(n) for n in range(len(leads) + 1)),
        closes=((), *contacts),
        control=LEADS,
        contact_ohm=1e-4,
    )


def _fitted(circuit: Circuit, instrument: Instrument, selector: Switch) -> Circuit:
    control = Control(name=LEADS, positions=selector.positions, rest="0")
    ready = replace(
        circuit, parts=(*circuit.parts, selector), controls=(*circuit.controls, control)
    )
    return instrument.fit(ready, RED, BLACK)


def _look(instrument: Instrument, solutions: Solutions, case: int, red: str, black: str) -> Look:
    point = solutions.point(case)
    points: list[OperatingPoint] = [phase.point for phase in point.phases] or [point]
    readings = [instrument.read(p, red, black) for p in points]
    raws = [r.raw for r in readings]
    return Look(
        tuple(dict.fromkeys(r.shown for r in readings)),
        min(raws),
        max(raws),
        max(r.tolerance for r in readings) + max(r.resolution for r in readings),
        bool(point.ambiguous) or any(r.doubt for r in readings),
    )
