"""What a few readings leave possible: found by the verifier, reasoned by hand beforehand.

A case is a circuit and its readings in `tests/cases/items`; this one test finds them all.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.items.item import Observed, Reading
from quizgen.items.verify.bench import Bench, claim_of
from quizgen.items.verify.rivals import Evidence, rivals

FOLDER = Path(__file__).parent / "items"
CASES = sorted(path.name.removesuffix(".case.yaml") for path in FOLDER.glob("*.case.yaml"))


def reading(node: str, volts: float) -> Reading:
    """A voltmeter's, black lead on the frame."""
    return Reading(
        instrument="voltmeter",
        red_node=node,
        black_node="chassis",
        red=node,
        black="the frame",
        state="",
        shown=f"{volts:.1f} V",
        volts=volts,
    )


@pytest.mark.parametrize("name", CASES)
def test_exactly_these_claims_fit(name: str) -> None:
    """Every claim that the case names fits the readings, and no other does."""
    case: dict[str, Any] = yaml.safe_load((FOLDER / f"{name}.case.yaml").read_text("utf-8"))
    circuit = load_template(FOLDER / f"{name}.yaml").build()
    bench = Bench(circuit, tuple(case["moves"].items()))
    evidence = Evidence(
        bench,
        tuple(Observed(part=part, level=level) for part, level in case["observed"].items()),
        tuple(reading(node, volts) for node, volts in case["readings"].items()),
    )
    assert sorted({claim_of(circuit, fault) for fault in rivals(evidence)}) == case["fits"]
