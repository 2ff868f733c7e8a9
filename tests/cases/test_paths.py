"""Ways of the current and what fails together, reasoned by hand beforehand.

Maker and verifier work them out by different code; both have to agree with the hand.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.components import Wire
from quizgen.circuit.template import load_template
from quizgen.faults import inject, parse_fault
from quizgen.items.current_path import Flows, amps_when_open
from quizgen.items.sharing import surely_changed
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.kinds.shared_path import is_hit
from quizgen.items.verify.routes import Routes
from quizgen.solver import solve

FOLDER = Path(__file__).parent / "paths"
CASES: dict[str, Any] = yaml.safe_load((FOLDER / "cases.yaml").read_text("utf-8"))


def name(case: dict[str, Any]) -> str:
    """What a case is about."""
    return f"{case['circuit']} {case.get('load') or case['lost']}"


@pytest.mark.parametrize("case", CASES["paths"], ids=name)
def test_the_current_passes_exactly_these(case: dict[str, Any]) -> None:
    """In this order, for maker and verifier alike, and with any of them open the load is still."""
    circuit = load_template(FOLDER / f"{case['circuit']}.yaml").build()
    point = solve(circuit, [case["moves"]])
    path = Flows(point).path(case["load"])
    assert path is not None
    assert path.supply == "GB1"
    assert [step.label for step in path.devices] == case["passes"]
    way = Routes(point, case["load"]).way
    assert [e.label for e in way if not isinstance(e.part, Wire)] == case["passes"]
    moves = tuple(case["moves"].items())
    left = amps_when_open(circuit, moves, case["load"], path.devices)
    assert max(left) < 0.01 * path.load.amps


@pytest.mark.parametrize("case", CASES["losses"], ids=name)
def test_exactly_these_loads_are_hit(case: dict[str, Any]) -> None:
    """For maker and verifier alike, and nobody could be in doubt about any of them."""
    circuit = load_template(FOLDER / f"{case['circuit']}.yaml").build()
    moves = tuple(case["moves"].items())
    fault = parse_fault(case["lost"])
    sound = solve(circuit, [case["moves"]])
    lost = solve(inject(circuit, fault), [case["moves"]])
    hit = surely_changed(sound, lost, case["at_work"], circuit.unobserved)
    assert sorted(hit) == case["hit"]
    bench = Benches(circuit).at(moves)
    found = {load: is_hit(bench, bench.ways(fault)[0], load) for load in case["at_work"]}
    assert found == {load: load in case["hit"] for load in case["at_work"]}
