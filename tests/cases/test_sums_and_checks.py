"""Sums and checks reasoned by hand: `tests/cases/compute` and `tests/cases/checks`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.faults import inject, parse_fault
from quizgen.items.act import parse_act
from quizgen.items.act_words import take
from quizgen.items.item import Reading
from quizgen.items.reckoning import FORMS
from quizgen.items.verify.instruments import look_at
from quizgen.items.verify.sum_records import Bench
from quizgen.items.verify.sums import work_out
from quizgen.solver import solve

FOLDER = Path(__file__).parent
SUMS = sorted((FOLDER / "compute").glob("*.case.yaml"))
CHECKS: list[dict[str, Any]] = yaml.safe_load((FOLDER / "checks/checks.yaml").read_text("utf-8"))


def reading(entry: dict[str, Any]) -> Reading:
    """A clamp around a wire, or a voltmeter between two points."""
    red, black = entry.get("volts", (entry.get("clamp"), ""))
    return Reading(
        instrument="voltmeter" if black else "clamp-ammeter", red_node=red, black_node=black,
        red=red, black=black, state="", shown=entry["shows"],
        volts=float(entry["shows"].split()[0]),
    )  # fmt: skip


@pytest.mark.parametrize("path", SUMS, ids=lambda p: p.name)
def test_sum_comes_to_what_was_worked_out_by_hand(path: Path) -> None:
    """Answer, wrong answers, and the solver's own value, from readings that the circuit gives."""
    case = yaml.safe_load(path.read_text("utf-8"))
    circuit = load_template(FOLDER / "compute/heater.yaml").build()
    faulty = inject(circuit, parse_fault(case["fault"])) if "fault" in case else circuit
    point = solve(faulty, [case["moves"]])
    readings = [reading(entry) for entry in case["readings"]]
    found = work_out(Bench(circuit, point, readings), case["quantity"])
    assert found.school == pytest.approx(case["answer"], rel=2e-3)
    assert found.solver == pytest.approx(found.school, rel=0.03)
    for model, values in case["wrong"].items():
        assert found.wrong[model] == pytest.approx(values, rel=5e-3), model
    for entry, one in zip(case["readings"], readings, strict=True):
        act = parse_act(f"{one.instrument} red={one.red_node}" + (
            f" black={one.black_node}" if one.black_node else ""))  # fmt: skip
        moves = tuple(case["moves"].items())
        from_meter = look_at([(faulty, act.__class__(**{**vars(act), "moves": moves}))])[0]
        assert from_meter.sure == entry["shows"]


@pytest.mark.parametrize("case", CHECKS, ids=lambda c: f"{c['act']} {c.get('fault', '')}")
def test_check_is_judged_as_by_hand(case: dict[str, Any]) -> None:
    """Generator and verifier, each with its own instruments, agree with the reasoning."""
    circuit = load_template(FOLDER / "items/open-lamp.yaml").build()
    act = parse_act(case["act"] + " S1=on")
    faulty = inject(circuit, parse_fault(case["fault"])) if "fault" in case else circuit
    sound, bad = take([circuit, faulty], act)
    seen, seen_bad = look_at([(circuit, act), (faulty, act)])
    verdict = case.get("verdict", "")
    assert bool(sound.refused) == bool(seen.unsafe) == (verdict == "unsafe")
    assert bool(sound.warnings) == bool(seen.pointless) == (verdict == "pointless")
    if not verdict:
        assert bad.shown == seen_bad.sure == case["faulty"]
        if "sound" in case:
            assert sound.shown == seen.sure == case["sound"]


def test_every_form_of_sum_has_its_sentences() -> None:
    """Nine forms, each with what is asked, worked, and said of a wrong answer."""
    words = yaml.safe_load(
        (FOLDER.parents[1] / "templates/wording/compute.yaml").read_text("utf-8")
    )
    for name in FORMS:
        for sentence in ("given", "ask", "next", "would"):
            assert f"{sentence}_{name}" in words
