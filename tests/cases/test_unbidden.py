"""Which faults a load that works unbidden leaves possible: reasoned by hand beforehand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.faults import parse_fault
from quizgen.items.item import Item, Origin, Proof, Reading
from quizgen.items.material import Material
from quizgen.items.unbidden import look_at_all
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.unbidden import case_of

FOLDER = Path(__file__).parent / "shorts"
CASES: list[dict[str, Any]] = yaml.safe_load((FOLDER / "unbidden.yaml").read_text("utf-8"))
LEAST_VOLTS = 11.0  # of a battery of 12.6 V with a lamp or a motor on a metre or two of wire


def reading(case: dict[str, Any], row: dict[str, Any]) -> Reading:
    """Across the load, or between its wires."""
    load, lamp = case["load"], case["instrument"] == "test-lamp"
    off = (load,) if lamp else ()
    return Reading(
        instrument=case["instrument"], red_node=f"{load}.1", black_node=f"{load}.2", red="",
        black="", state="", shown="", volts=0.0, moves=(), apart=tuple(row.get("apart", ())),
        removed=tuple(row.get("removed", ())), unplugged=(*off, *row.get("unplugged", ())),
    )  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_exactly_these_faults_fit(case: dict[str, Any]) -> None:
    """Each reading is that of the first fault which fits, and no other fault fits them all."""
    circuit = load_template(FOLDER / f"{case['circuit']}.yaml").build()
    hidden = parse_fault(case["fits"][-1])
    readings = tuple(reading(case, row) for row in case["readings"])
    item = Item(
        id="", kind="locate-short", level="interpret", topics=(), family=case["circuit"],
        key_kind="wire", machine="", stem=(), readings=readings, question="", options=(),
        origin=Origin(template=case["circuit"], parameters=(), positions=(), fault=str(hidden)),
        proof=Proof(),
    )  # fmt: skip
    found = case_of(item, Benches(circuit).at(()), circuit.part(case["load"]), hidden)
    assert sorted(map(str, found.suspects)) == case["suspects"]
    for number, row in enumerate(case["readings"]):
        display = found.shown[number][hidden]
        if case["instrument"] == "test-lamp":
            assert display.sure == ("lit bright" if row["lit"] else "dark")
        else:
            assert (display.low > LEAST_VOLTS) if row["lit"] else (abs(display.low) < 0.05)
    assert sorted(str(fault) for fault in found.left()) == case["fits"]


@pytest.mark.parametrize("circuit", ["one-branch", "coil-to-frame"])
def test_the_maker_suspects_the_same(circuit: str) -> None:
    """It starts from the faults that the cases name."""
    case = next(case for case in CASES if case["circuit"] == circuit)
    built = load_template(FOLDER / f"{circuit}.yaml").build()
    material = Material(template=circuit, parameters={}, circuit=built, moves=())
    unrest = look_at_all(material, ())
    assert sorted(map(str, unrest.suspects(case["load"]))) == case["suspects"]
