"""Every shipped family, every fault, every combination of positions against ngspice.

The discrete states (relays, protectors, diodes) are taken as the solver found them; ngspice
finds the voltages, with Newton's method on its own writing of the filament and motor laws.
That the states fit the voltages is checked apart from it, on ngspice's numbers.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from quizgen.circuit.components import Part, Relay
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import inject, universe
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.laws import DiodeLaw
from quizgen.solver.models import part_model
from tests.oracles.spice import Case, frozen, solve_by_ngspice

VOLTS = 1e-3  # the promise; what is seen is below 1e-6 V
CASES_PER_PROCESS = 1000
# (system volts, seed of a random setting or None for the defaults, most position combinations)
SETTINGS = {"defaults": (12, None, 64), "random, 12 V": (12, 1, 6), "random, 24 V": (24, 2, 6)}

Moves = tuple[tuple[str, str], ...]

pytestmark = [pytest.mark.ngspice, pytest.mark.slow]


@dataclass(frozen=True)
class Frozen:
    """A case as both solvers see it."""

    title: str
    point: OperatingPoint
    on: frozenset[tuple[str, str]]  # diodes that conduct: part and branch
    case: Case


def family(name: str, setting: str) -> tuple[Circuit, list[Moves]]:
    """The circuit at a setting, and the combinations of positions to try."""
    system, seed, most = SETTINGS[setting]
    template = find_template(name)
    rng = random.Random(seed)
    circuit = template.build(template.draw(rng, {"system": system}) if seed else None)
    positions = [[(k.name, p) for p in k.positions] for k in circuit.controls]
    combinations = list(itertools.product(*positions))
    return circuit, rng.sample(combinations, min(most, len(combinations)))


def diodes(circuit: Circuit) -> list[tuple[Part, int, DiodeLaw]]:
    """Part, number of the branch in it, law of each diode."""
    return [
        (part, i, flow.law)
        for part in circuit.parts
        for i, flow in enumerate(part_model(part).flows[0])
        if isinstance(flow.law, DiodeLaw)
    ]


def conducting(point: OperatingPoint) -> frozenset[tuple[str, str]]:
    """Part and branch of the diodes that conduct: at their forward voltage or above."""
    found = []
    for part, i, law in diodes(point.circuit):
        flow = point.flows(part)[i]
        if flow.volts is not None and flow.volts >= law.forward_volts - 1e-7:
            found.append((part.id, flow.name))
    return frozenset(found)


def solved_family(circuit: Circuit, combinations: list[Moves]) -> Iterator[Frozen]:
    """Every fault of the universe and no fault, with each combination of positions.

    Moves are made in the order of the circuit's controls and, because relays and protectors
    remember, without a fault in the reverse order as well.
    """
    faults = [weighted.fault for weighted in universe(circuit)]
    circuits = [circuit, *(inject(circuit, fault) for fault in faults)]
    names = ["no fault", *map(str, faults)]
    cases = [(c, moves) for c in range(len(circuits)) for moves in combinations]
    cases += [(0, moves[::-1]) for moves in combinations]
    solutions = solve_cases(circuits, cases)
    for i, (c, moves) in enumerate(cases):
        point = solutions.point(i)
        states = {part.id: point.state(part) for part in point.circuit.parts}
        title = f"{names[c]} with {' '.join('='.join(m) for m in moves)}"
        on = conducting(point)
        yield Frozen(title, point, on, frozen(point.circuit, states, on))


def with_ngspice(
    cases: list[Frozen], folder: Path, ngspice: str
) -> Iterator[tuple[Frozen, dict[str, float | None]]]:
    """Each case with ngspice's voltages, a thousand cases to a process."""
    for start in range(0, len(cases), CASES_PER_PROCESS):
        part = cases[start : start + CASES_PER_PROCESS]
        work = folder / str(start)
        work.mkdir()
        answers = solve_by_ngspice([f.case for f in part], work, ngspice)
        yield from zip(part, answers, strict=True)


def check_voltages(frozen_case: Frozen, volts: dict[str, float | None]) -> None:
    """Same floating nodes; within 1 mV at every other node."""
    ours = frozen_case.point.node_volts
    assert ours.keys() == volts.keys(), frozen_case.title
    for node, spice in volts.items():
        mine = ours[node]
        assert (mine is None) == (spice is None), f"{frozen_case.title}: {node}: {mine} or {spice}"
        if mine is not None and spice is not None:
            assert abs(mine - spice) < VOLTS, f"{frozen_case.title}: {node}: {mine} or {spice}"


def check_states(frozen_case: Frozen, volts: dict[str, float | None]) -> None:
    """Diodes and relays are as ngspice's voltages make them."""
    point, title = frozen_case.point, frozen_case.title
    for part, i, law in diodes(point.circuit):
        branch = part_model(part).branches[i]
        a, b = volts[branch.a], volts[branch.b]
        if a is not None and b is not None:
            above = a - b - law.forward_volts
            conducts = (part.id, branch.name) in frozen_case.on
            assert above > -VOLTS if conducts else above < VOLTS, f"{title}: {part.id}"
    for part in point.circuit.parts:
        if isinstance(part, Relay) and part.coil == "good" and point.behaviour != "chatter":
            a, b = volts[part.node("86")], volts[part.node("85")]
            coil = 0.0 if a is None or b is None else abs(a - b)
            pulled = point.state(part) == "pulled"
            if part.timer and point.positions[part.timer] == "elapsed":
                assert not pulled, title  # whatever its coil has
                continue
            fits = (
                coil > part.drop_out_volts - VOLTS if pulled else coil < part.pull_in_volts + VOLTS
            )
            assert fits, f"{title}: {part.id} at {coil} V"


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("name", shipped_templates())
def test_family_agrees_with_ngspice(name: str, setting: str, ngspice: str, tmp_path: Path) -> None:
    """Within 1 mV at every node that does not float, and the same nodes float.

    All combinations of positions at the default setting; a few at random settings, where
    some families have more than a thousand.
    """
    circuit, combinations = family(name, setting)
    cases = list(solved_family(circuit, combinations))
    assert len(cases) > 100
    for case, volts in with_ngspice(cases, tmp_path, ngspice):
        check_voltages(case, volts)
        check_states(case, volts)
