"""What a look at a machine in several states leaves possible: reasoned by hand beforehand.

A case is a circuit and what is seen in `tests/cases/complaints`; this one test finds them all.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.items.sightings import Place, rules_out, sight
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.tour import Tour

FOLDER = Path(__file__).parent / "complaints"
CASES = sorted(path.name.removesuffix(".case.yaml") for path in FOLDER.glob("*.case.yaml"))


@pytest.mark.parametrize("name", CASES)
def test_exactly_these_claims_fit(name: str) -> None:
    """Every claim that the case names fits in some severity, and no other does.

    What questions are made from, another piece of code, leaves these in as well.
    """
    case: dict[str, Any] = yaml.safe_load((FOLDER / f"{name}.case.yaml").read_text("utf-8"))
    circuit = load_template(FOLDER / f"{case['circuit']}.yaml").build()
    told = [(tuple(step["moves"].items()), step["sees"]) for step in case["told"]]
    tour = Tour(Benches(circuit), tuple(moves for moves, _ in told))
    members = tour.bench().claims
    tour.prepare(fault for some in members.values() for fault in some)
    fits = [
        claim
        for claim, some in members.items()
        if any(
            all(
                level in tour.levels(fault, moves, part)
                for moves, sees in told
                for part, level in sees.items()
            )
            for fault in some
        )
    ]
    assert sorted(fits) == sorted(case["fits"])
    faults = [(claim, fault) for claim, some in members.items() for fault in some]
    looks = sight(circuit, tour.states, [fault for _, fault in faults])
    places = [(Place(s, p), w) for s, (_, sees) in enumerate(told) for p, w in sees.items()]
    left = {
        claim
        for (claim, _), look in zip(faults, looks, strict=True)
        if not any(rules_out([look], place, word) for place, word in places)
    }
    assert set(case["fits"]) <= left  # where people may disagree it rules nothing out
    assert {claim for claim in left if not claim.endswith("resistance")} <= set(case["fits"])
