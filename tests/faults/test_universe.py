"""The fault universe of a circuit, over hand-made circuits and every shipped template."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import Fault, describe, inject, parse_fault, universe
from quizgen.faults.survey import Survey
from quizgen.faults.usual import BLADE_AMPS
from tests.faults.circuits import ALL, one_lamp, one_of_each, pump_relay, reversing_motor

DRAWS = 4


def texts(circuit: Circuit) -> list[str]:
    """The universe as text."""
    return [str(w.fault) for w in universe(circuit)]


def template_circuits(name: str) -> list[Circuit]:
    """A shipped template at its defaults and at random settings."""
    template = find_template(name)
    rng = random.Random(5)
    return [template.build(), *(template.build(template.draw(rng)) for _ in range(DRAWS))]


def check_universe(circuit: Circuit) -> None:
    """What holds for the universe of any circuit."""
    before = circuit.parts
    copy = replace(circuit)
    faults = [w.fault for w in universe(circuit)]
    assert faults == [w.fault for w in universe(circuit)]
    assert len(set(map(str, faults))) == len(faults)
    assert len({describe(circuit, f) for f in faults}) == len(faults)
    for fault in faults:
        assert parse_fault(str(fault)) == fault
        bad = inject(circuit, fault)
        assert bad != circuit
        assert bad.nodes == circuit.nodes
        touched = {fault.part} | ({fault.detail} if fault.mode == "swapped" else set())
        kept = zip(before, bad.parts[: len(before)], strict=True)
        assert all(a is b for a, b in kept if a.id not in touched)
        assert all(isinstance(p, c.Bridge) for p in bad.parts[len(before) :])
    assert all(w.weight > 0 for w in universe(circuit))
    assert circuit == copy
    assert circuit.parts is before


@pytest.mark.parametrize("make", ALL)
def test_every_fault_injects_and_the_circuit_stays_as_it_was(make: Callable[[], Circuit]) -> None:
    """Order stable, texts and clauses unique, other parts the same objects, no new nodes."""
    check_universe(make())


@pytest.mark.parametrize("name", shipped_templates())
def test_the_universe_of_every_shipped_template(name: str) -> None:
    """The same for templates at several settings; each has at least 25 faults."""
    for circuit in template_circuits(name):
        check_universe(circuit)
        assert len(universe(circuit)) >= 25


def test_every_part_that_can_fail_does() -> None:
    """Each part but a splice, source or bridge has a fault."""
    circuit = one_of_each()
    faulty = {w.fault.part for w in universe(circuit)}
    assert {p.id for p in circuit.parts} - faulty == {"XS1", "G8", "~1"}


def test_own_weights_replace_the_usual_ones() -> None:
    """A weight is per place, severities share it, and 0 leaves the mode out."""
    good = one_lamp()
    plug = replace(good.part("X1"), weights=(("resistance", 8.0), ("open", 0.0)))
    found = {str(w.fault): w.weight for w in universe(good.with_parts(changed=[plug]))}
    of_plug = {text: weight for text, weight in found.items() if text.startswith("X1")}
    assert len(of_plug) == 4
    assert set(of_plug.values()) == {4.0}


def test_a_weight_for_an_unknown_mode_is_refused() -> None:
    """The message offers the mode that was meant."""
    good = one_lamp()
    lamp = replace(good.part("E1"), weights=(("burnt-out", 8.0),))
    with pytest.raises(InputError, match=r"E1 has a weight for 'burnt-out'.*mean burned-out"):
        universe(good.with_parts(changed=[lamp]))


def test_added_resistance_suits_what_the_part_feeds() -> None:
    """Ohms at a pump, tens of ohms at a relay coil, at the wire both share the pump's.

    Pump 8 A at 12 V is 1.5 Ω; the coil has 85 Ω and needs as much again to stay out.
    """
    found = texts(pump_relay())
    assert "W5:resistance:1" in found
    assert "W5:resistance:5" in found
    assert "W8:resistance:100" in found
    assert "W1:resistance:1" in found


def test_a_wrong_fuse_is_one_that_opens_or_one_that_protects_nothing() -> None:
    """5 A opens at the pump's 8 A (1.35 times 5 is 6.75), 7.5 A might not; 30 A is twice 15."""
    ratings = [t for t in texts(pump_relay()) if t.startswith("F1:wrong-rating")]
    assert ratings == ["F1:wrong-rating:5", "F1:wrong-rating:30"]
    assert set(BLADE_AMPS) >= {5.0, 30.0}


@pytest.mark.parametrize(
    "text",
    [
        "W1:short-to-ground",  # before the fuse: a harness fire, not an exercise
        "W6:short-to-ground",  # a ground wire
        "W6:short-to-supply",
        "W2:short-to-supply",  # live for good
        "W4:swapped:W5",  # a lamp does not mind
    ],
)
def test_faults_without_a_symptom_or_a_protector_are_left_out(text: str) -> None:
    """They can be injected by name but are not proposed."""
    good = one_lamp()
    assert text not in texts(good)
    inject(good, parse_fault(text))


def test_shorts_before_and_after_the_load_are_in() -> None:
    """Feed side after the fuse, and both leads of a reversing motor."""
    assert "W3:short-to-ground" in texts(one_lamp())
    found = texts(reversing_motor())
    for text in ("W3:short-to-supply", "W4:short-to-ground", "W3:swapped:W4", "S1:stuck:up"):
        assert text in found


def test_only_neighbouring_terminals_touch() -> None:
    """Station terminals in a row are 30, 1, 2, 31: 30 touches 1 but not 2."""
    found = [t for t in texts(reversing_motor()) if "short-to:" in t]
    assert "W2:short-to:W3" in found
    assert "W2:short-to:W4" not in found
    assert "W2:short-to:W5" not in found


def test_survey_finds_who_stops() -> None:
    """The pump and its relay's coil hang on W1, only the pump on W5."""
    circuit = pump_relay()
    survey = Survey(circuit)

    def amps(wire: str) -> float:
        part = circuit.part(wire)
        return sum(load.amps for load in survey.carried([(part.nodes[0], part.nodes[1])], part))

    assert amps("W5") == pytest.approx(8.0)
    assert amps("W8") == pytest.approx(12.0 / 85.0)
    assert amps("W1") == pytest.approx(8.0 + 12.0 / 85.0)


def test_two_faults_commute() -> None:
    """Putting in two faults of different parts gives the same circuit in either order."""
    good = pump_relay()
    pairs = [("W5:open", "K1:welded"), ("W4:swapped:W8", "W4:open"), ("F1:blown", "G1:open")]
    for first, second in pairs:
        one = inject(inject(good, parse_fault(first)), parse_fault(second))
        two = inject(inject(good, parse_fault(second)), parse_fault(first))
        assert one == two


def test_a_fault_of_a_part_is_ordered_and_hashable() -> None:
    """Faults serve as keys and sort by part, mode, detail."""
    assert sorted({Fault("W2", "open"), Fault("W1", "open")})[0].part == "W1"
