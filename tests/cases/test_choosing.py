"""What complaints and readings leave, what tests are worth: both sides against hand reasoning.

The side that makes items and the side that verifies them share no code for this, so each is
held against the cases in `tests/cases/choosing`.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.diagnosis.dictionary import FaultDictionary, build_dictionary
from quizgen.faults import parse_fault
from quizgen.items.act import Act, parse_act
from quizgen.items.certainty import Volts as Readings
from quizgen.items.complaint import told
from quizgen.items.evidence import Evidence
from quizgen.items.item import Observed, Reading
from quizgen.items.kinds.covering_checks import Group
from quizgen.items.sentences import Sentences
from quizgen.items.standing import Standing, reading_minutes, told_apart
from quizgen.items.taken_act import bench_of, take_act
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.kinds.covering_checks import set_minutes, tells_apart
from quizgen.items.verify.left import Left
from quizgen.items.verify.rivals import Evidence as Told
from quizgen.items.verify.rivals import rivals
from quizgen.items.verify.tries import Try

FOLDER = Path(__file__).parent / "choosing"
CASES = sorted(path.name.removesuffix(".case.yaml") for path in FOLDER.glob("*.case.yaml"))
NEAR_BITS = 1e-3  # the cases give four digits


class Case:
    """A case as the two sides see it."""

    def __init__(self, name: str) -> None:
        self.facts: dict[str, Any] = yaml.safe_load((FOLDER / f"{name}.case.yaml").read_text())
        self.circuit = load_template(FOLDER / f"{name}.yaml").build()
        self.moves = tuple(self.facts["moves"].items())
        self.observed = tuple(Observed(part=p, level=x) for p, x in self.facts["observed"].items())

    @property
    def dictionary(self) -> FaultDictionary:
        """As the maker of items has it."""
        points = [n for n in self.circuit.nodes if n != self.circuit.reference]
        return build_dictionary(self.circuit, self.moves, points)

    @property
    def left(self) -> Left:
        """As the verifier has it."""
        benches = Benches(self.circuit)
        return Left(benches, benches.at(self.moves), self.observed)

    def reading(self, node: str, volts: float) -> Reading:
        """A voltmeter's."""
        return Reading(
            instrument="voltmeter", red_node=node, black_node=self.circuit.reference, red=node,
            black="the frame", state="", shown=f"{volts:.1f} V", volts=volts,
        )  # fmt: skip


@pytest.fixture(params=CASES)
def case(request: pytest.FixtureRequest) -> Case:
    """Each case in turn."""
    return Case(request.param)


def test_what_the_complaint_leaves(case: Case) -> None:
    """The parts that may be at fault are those that the case names, to maker and verifier."""
    d = case.dictionary
    standing = Standing(d, d.row(parse_fault(case.facts["hidden"])))
    assert set(told(d, standing.row)) == set(case.observed)
    assert sorted(standing.parts) == case.facts["suspected"]
    assert set(standing.parts) - set(standing.sure) == set(case.facts.get("unsure", []))
    assert sorted(case.left.parts) == case.facts["suspected"]
    assert sum(standing.suspects.values()) == pytest.approx(1.0)


def test_what_a_reading_leaves(case: Case) -> None:
    """With the reading that the hidden fault gives, just the parts that the case names are left."""
    d = case.dictionary
    row = d.row(parse_fault(case.facts["hidden"]))
    evidence, before = Evidence(d, row), Standing(d, row)
    for fact in case.facts["readings"]:
        test = Readings(evidence, before, (fact["at"],))
        assert abs(float(evidence.shown[test.points[0]]) - fact["volts"]) < 0.15
        assert sorted(test.suspected) == fact["left"], fact["at"]
        cleared = set(case.facts["suspected"]) - set(fact["left"])
        assert set(test.cleared) == cleared - set(case.facts.get("unsure", []))
        reading = case.reading(fact["at"], float(evidence.shown[test.points[0]]))
        fits = rivals(Told(case.left.bench, case.observed, (reading,)))
        assert sorted({fault.part for fault in fits}) == fact["left"], fact["at"]


def test_what_another_test_leaves(case: Case) -> None:
    """The same of a lamp, an ohmmeter or a jumper, to maker and verifier."""
    d = case.dictionary
    row = d.row(parse_fault(case.facts["hidden"]))
    before = Standing(d, row)
    bench = bench_of(Evidence(d, row), before)
    for fact in case.facts["tests"]:
        act = replace(parse_act(fact["act"]), moves=case.moves)
        act = replace(act, red=case.circuit.point(act.red), black=case.circuit.point(act.black))
        test = take_act(bench, act)
        assert test is not None, fact["act"]
        assert test.found.text == fact["shows"], fact["act"]
        assert sorted(test.suspected) == fact["left"], fact["act"]
        [reading] = test.readings(Sentences("certain_after_test", random.Random(1)))
        tried = Told(case.left.bench, case.observed, (), (Try(case.left.bench, reading),))
        assert sorted({fault.part for fault in rivals(tried)}) == fact["left"], fact["act"]


def test_what_a_reading_is_worth(case: Case) -> None:
    """Bits, weighed and unweighed, and minutes are those worked out in the case."""
    d, left = case.dictionary, case.left
    standing = Standing(d, d.row(parse_fault(case.facts["hidden"])))
    for fact in case.facts["readings"]:
        classes = told_apart(*standing.volts(fact["at"]))
        act = Act(
            instrument="voltmeter", red=fact["at"], black=case.circuit.reference, moves=case.moves
        )
        labels = left.sorted_by(act)
        for bits in (standing.bits(classes), left.bits(labels)):
            assert bits == pytest.approx(fact["bits"], abs=NEAR_BITS), fact["at"]
        for bits in (standing.bits(classes, even=True), left.bits(labels, even=True)):
            assert bits == pytest.approx(fact["even"], abs=NEAR_BITS), fact["at"]
        assert reading_minutes(case.circuit, [fact["at"]]) == pytest.approx(fact["minutes"])
        assert left.minutes(act) == pytest.approx(fact["minutes"])


def test_what_sets_of_readings_tell_apart(case: Case) -> None:
    """Pairs that a set leaves alike, and its minutes with each place reached once."""
    d, left = case.dictionary, case.left
    suspects = tuple(map(parse_fault, case.facts["suspects"]))
    group = Group(d, d.row(parse_fault(case.facts["hidden"])), suspects)
    for fact in case.facts["sets"]:
        nodes, parted = fact["at"], 0
        for node in nodes:
            mine = group.parted(node)
            assert mine is not None  # nothing here is too near to call
            parted |= mine
        assert (group.all_apart & ~parted).bit_count() == fact["alike"], nodes
        alike = [pair for pair in combinations(suspects, 2) if not tells_apart(left, pair, nodes)]
        assert len(alike) == fact["alike"], nodes
        assert reading_minutes(case.circuit, nodes) == pytest.approx(fact["minutes"]), nodes
        assert set_minutes(left, nodes) == pytest.approx(fact["minutes"]), nodes
