"""What to test next, on a lamp circuit where a person can work it out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quizgen.base.errors import InputError
from quizgen.diagnosis.beliefs import entropy
from quizgen.diagnosis.checks import LOOK, access, places
from quizgen.diagnosis.decision_tree import Fork, Leaf
from quizgen.diagnosis.evidence import Evidence, Finding, Step
from quizgen.diagnosis.many_leads import look_at
from quizgen.diagnosis.next_tests import RankedTest, best_tree, next_tests, uncertainty
from quizgen.diagnosis.suspects import Suspects, suspects
from quizgen.diagnosis.worlds import faulted
from quizgen.faults import parse_fault
from quizgen.instruments import Measurement, measure
from tests.diagnosis import lamp_on_relay as lamp


def dark(*readings: Finding, relay: str = "yes") -> Suspects:
    """E1 is dark with the switch on; the relay clicks, or not."""
    step = Step(moves=lamp.ON, sees=(("E1", "dark"),), clicks=(("K1", relay),), readings=readings)
    return suspects(lamp.circuit(), Evidence((step,)))


def at(red: str, shows: str) -> Finding:
    """A voltmeter reading to the chassis."""
    return Finding(red=red, shows=shows)


def of(tests: tuple[RankedTest, ...], instrument: str, red: str, turned: int = 0) -> RankedTest:
    """The test with these leads, after so many further moves."""
    return next(
        t
        for t in tests
        if (t.check.instrument, t.check.red, len(t.check.turned)) == (instrument, red, turned)
    )


def test_half_way_along_the_lamp_is_a_good_place() -> None:
    """By hand: 12.6 V at terminal 2 means the ground side, 0 V the feed or the filament."""
    found = dark()
    outcomes = {
        o.shows: {key for key, _ in o.leaves}
        for o in of(next_tests(found), "voltmeter", "E1.2").outcomes
    }
    high = next(left for shows, left in outcomes.items() if shows.endswith("12.6 V"))
    low = next(left for shows, left in outcomes.items() if shows.startswith("0.0"))
    assert {"W4:open", "G1:open"} <= high
    assert {"E1:burned-out", "W3:open"} <= low
    assert not high & {"E1:burned-out", "W3:open"}


def test_outcomes_share_out_all_the_probability() -> None:
    """Over the outcomes of each test probabilities sum to 1, and to the prior by suspect."""
    found = dark()
    prior = {s.key: s.probability for s in found.listed}
    for test in next_tests(found):
        assert sum(o.probability for o in test.outcomes) == pytest.approx(1.0)
        for key, share in prior.items():
            after = sum(o.probability * dict(o.leaves).get(key, 0.0) for o in test.outcomes)
            assert after == pytest.approx(share, abs=1e-6)


def test_no_test_tells_more_than_is_missing() -> None:
    """0 < bits <= uncertainty, and at most the entropy of the outcomes; ranked by bits a minute."""
    found = dark()
    tests = next_tests(found)
    for test in tests:
        shown = entropy([o.probability for o in test.outcomes])
        assert 0.0 < test.bits <= min(uncertainty(found), shown) + 1e-9
    rates = [t.bits / t.check.total_minutes for t in tests]
    assert rates == sorted(rates, reverse=True)


def test_what_was_measured_tells_nothing_again() -> None:
    """After 12.6 V at E1.1 the same point as it stands is no test any more; nor a look at E1."""
    tests = next_tests(dark(at("E1.1", "12.6 V")))
    assert not any(
        t.check.instrument == "voltmeter" and t.check.red == "E1.1" and not t.check.turned
        for t in tests
    )
    looks = [t for t in tests if t.check.instrument == LOOK and not t.check.turned]
    assert not any("E1" in o.shows for t in looks for o in t.outcomes)


def test_a_place_reached_before_costs_nothing() -> None:
    """The lamp's terminals: 3 minutes at first, none after one has been measured.

    0.5 minutes for the voltmeter itself are common practice, no source.
    """
    assert of(next_tests(dark()), "voltmeter", "E1.2").check.total_minutes == pytest.approx(3.5)
    again = next_tests(dark(at("E1.1", "12.6 V")))
    assert of(again, "voltmeter", "E1.2").check.total_minutes == pytest.approx(0.5)


def test_two_points_of_one_place_are_reached_once() -> None:
    """Both ends of the lamp: 3 minutes, not 6; the chassis needs no searching."""
    circuit = lamp.circuit()
    assert places(circuit, ["E1.1", "E1.2"], frozenset()) == (("E1 (3 min)", 3.0),)
    assert places(circuit, ["chassis"], frozenset()) == ()
    assert access(circuit, "E1.2") == ("E1 (3 min)", 3.0)


def test_an_ohmmeter_waits_for_the_battery_to_be_off() -> None:
    """Common practice, no source: no resistance check on a live circuit; isolating takes time."""
    tests = [t for t in next_tests(dark()) if t.check.instrument == "ohmmeter"]
    assert tests
    for test in tests:
        assert test.check.unplugged == ("GB1",)
        assert test.check.minutes > 2.0


def test_a_selector_reads_what_a_single_measurement_reads() -> None:
    """Many leads in one batch: the same figures as the instruments one by one."""
    circuits = [
        faulted(lamp.circuit(), (parse_fault(text),) if text else ())
        for text in ("", "G1:resistance:20", "W3:open")
    ]
    leads = [("E1.1", "chassis"), ("E1.2", "chassis"), ("G1", "chassis"), ("K1.87", "chassis")]
    for name, off in (("test-lamp", ()), ("ohmmeter", ("GB1",))):
        looks = look_at(circuits, name, leads, lamp.ON, off)
        for (red, black), some in zip(leads, looks, strict=True):
            assert some is not None
            for circuit, look in zip(circuits, some, strict=True):
                shown = measure(
                    circuit,
                    Measurement(
                        instrument=name, red=red, black=black, positions=lamp.ON, unplugged=off
                    ),
                )
                assert look.words == (shown.shown,)
                assert look.low == pytest.approx(shown.low, abs=2e-3) or math.isinf(shown.low)


def test_an_ohmmeter_on_a_live_circuit_is_never_offered() -> None:
    """Without taking the battery off the look is refused for every circuit."""
    assert look_at([lamp.circuit()], "ohmmeter", [("E1.1", "chassis")], lamp.ON) == [None]


def test_a_tree_ends_where_nothing_tells_more() -> None:
    """Every suspect is in a leaf; the average is not below the bound."""
    found = dark(at("E1.1", "12.6 V"))
    course = best_tree(found, next_tests(found))
    assert course.plan.is_exact
    assert course.plan.bound_minutes <= course.plan.expected_minutes + 1e-9
    ends: list[set[str]] = []

    def walk(tree: Fork | Leaf) -> None:
        if isinstance(tree, Leaf):
            ends.append({key for h in tree.left for key in course.suspects[h]})
        else:
            for _, branch in tree.branches:
                walk(branch)

    walk(course.plan.root)
    assert set().union(*ends) == {s.key for s in found.listed}
    assert any(end == {"E1:burned-out"} for end in ends)


def test_one_group_needs_no_test() -> None:
    """A blown or a missing fuse and no short behind it: nothing to tell apart with a meter."""
    no_short = Finding(instrument="ohmmeter", red="S1.1", unplugged=("GB1",), shows="OL")
    step = Step(readings=(at("F1.1", "12.6 V"), at("F1.2", "0.0 V"), no_short))
    found = suspects(lamp.circuit(), Evidence((step,)))
    assert {s.key for s in found.listed} == {"F1:blown", "F1:missing"}
    assert next_tests(found) == ()
    assert best_tree(found, ()).plan.root == Leaf((0,))


def test_instruments_and_states_can_be_limited() -> None:
    """Only the voltmeter, only as it stands; a wrong name or number is refused."""
    found = dark()
    tests = next_tests(found, instruments=("voltmeter",), states=(0,))
    assert {(t.check.instrument, t.check.turned) for t in tests} == {("voltmeter", ())}
    with pytest.raises(InputError, match="no test by"):
        next_tests(found, instruments=("voltmetre",))
    with pytest.raises(InputError, match="states"):
        next_tests(found, states=(99,))


def test_severities_of_one_fault_carry_no_information() -> None:
    """With one graded suspect group left, however wide, nothing is left to ask."""
    found = dark(at("E1.1", "12.6 V"), at("E1.2", "12.5 V"), at("G1", "12.5 V"))
    assert {s.cause.claims[0].part for s in found.listed} == {"G1"}
    columns = [t.table.likelihood.sum(axis=0) for t in next_tests(found)]
    assert all(np.allclose(c, 1.0) for c in columns)
