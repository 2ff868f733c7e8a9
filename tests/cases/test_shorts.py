"""Which faults readings at a fuse holder leave possible: reasoned by hand beforehand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.components import Fuse
from quizgen.circuit.template import load_template
from quizgen.faults import parse_fault
from quizgen.items.item import Item, Origin, Proof, Reading
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.kinds.locate_short import case_of

FOLDER = Path(__file__).parent / "shorts"
CASES: list[dict[str, Any]] = yaml.safe_load((FOLDER / "cases.yaml").read_text("utf-8"))
ON = (("S1", "on"),)


def reading(instrument: str, row: dict[str, Any]) -> Reading:
    """At the holder of F1, lamp E1 unplugged."""
    lamp = instrument == "test-lamp"
    return Reading(
        instrument=instrument, red_node="F1.1" if lamp else "F1.2",
        black_node="F1.2" if lamp else "chassis", red="", black="", state="",
        shown=row["shows"], volts=0.0, moves=tuple(row["moves"].items()),
        apart=tuple(row.get("apart", ())), removed=("F1",),
        unplugged=("E1",) if lamp else ("E1", "GB1"),
    )  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_exactly_these_faults_fit(case: dict[str, Any]) -> None:
    """Each reading is that of the first fault which fits, and no other fault fits them all."""
    readings = [reading(case.get("instrument", "test-lamp"), row) for row in case["readings"]]
    item = Item(
        id="", kind="locate-short", level="interpret", topics=(), family="one-branch",
        key_kind="wire", machine="", stem=(), readings=tuple(readings), question="", options=(),
        origin=Origin(template="one-branch", parameters=(), positions=ON, fault=case["fits"][0]),
        proof=Proof(),
    )  # fmt: skip
    circuit = load_template(FOLDER / "one-branch.yaml").build()
    fuse = circuit.part("F1")
    assert isinstance(fuse, Fuse)
    hidden = parse_fault(case["fits"][0])
    found = case_of(item, Benches(circuit).at(ON), fuse, hidden)
    shown = [found.shown[n][hidden].sure for n in range(len(readings))]
    assert shown == [row["shows"] for row in case["readings"]]
    assert [str(fault) for fault in found.left()] == case["fits"]
    suspects = {"F1:wrong-rating:1", "E1:shorted"} | {f"W{n}:short-to-ground" for n in (2, 3, 4)}
    assert {str(fault) for fault in found.suspects} == suspects
