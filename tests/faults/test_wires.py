"""Cutting wires at a place, and two faults on one wire."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault
from quizgen.faults.wires import cut, pieces
from tests.faults.circuits import one_lamp

PLACES = st.integers(min_value=0, max_value=100).map(lambda n: n / 100)


def with_faults(*texts: str) -> Circuit:
    """The one-lamp circuit with these faults, in this order."""
    bad = one_lamp()
    for text in texts:
        bad = inject(bad, parse_fault(text))
    return bad


def path(circuit: Circuit) -> list[tuple[str, str, float]]:
    """The pieces of W3 in order, as (from, to, added ohm)."""
    return [(*piece.nodes, piece.extra_ohm) for piece in pieces(circuit, "W3")]


def test_a_short_inside_a_wire_cuts_it_there() -> None:
    """Two pieces, W3 and W3', joined at a node that says where."""
    bad = with_faults("W3:short-to-ground:0.3")
    assert path(bad) == [("S1.2", "W3@0.3", 0.0), ("W3@0.3", "X1.1a", 0.0)]
    assert [p.id for p in pieces(bad, "W3")] == ["W3", "W3'"]
    assert bad.parts[-1].nodes == ("W3@0.3", "chassis")
    assert set(bad.nodes) - set(one_lamp().nodes) == {"W3@0.3"}


@given(st.lists(PLACES, max_size=6))
def test_cutting_keeps_length_and_resistance(places: list[float]) -> None:
    """However often it is cut, a wire is one unbroken path of the same length and ohms."""
    whole = one_lamp().part("W3")
    assert isinstance(whole, c.Wire)
    circuit = one_lamp()
    for place in places:
        circuit = cut(circuit, "W3", place)
    found = pieces(circuit, "W3")
    assert sum(p.metres for p in found) == pytest.approx(whole.metres)
    assert sum(p.ohm for p in found) == pytest.approx(whole.ohm)
    assert len({p.id for p in found}) == len(found) == len(set(places)) + 1
    joints = [node for p in found for node in p.nodes]
    assert joints[0] == whole.nodes[0]
    assert joints[-1] == whole.nodes[1]
    assert joints[1:-1:2] == joints[2::2]


@given(PLACES, PLACES)
def test_a_break_and_a_short_on_one_wire_come_out_the_same_in_either_order(
    broken: float, shorted: float
) -> None:
    """What lies between the break and the short does not depend on which was put in first."""
    one = with_faults(f"W3:open:{broken}", f"W3:short-to-ground:{shorted}")
    two = with_faults(f"W3:short-to-ground:{shorted}", f"W3:open:{broken}")
    assert path(one) == path(two)
    assert one.parts[-1].nodes == two.by_id[one.parts[-1].id].nodes or shorted in (0, 1)


@given(PLACES, PLACES)
def test_the_short_is_on_its_side_of_the_break(broken: float, shorted: float) -> None:
    """A short nearer the switch than the break leaves the switch side grounded, and not else."""
    bad = with_faults(f"W3:open:{broken}", f"W3:short-to-ground:{shorted}")
    node = next(p for p in bad.parts if isinstance(p, c.Bridge)).nodes[0]
    reached, ends = {"S1.2"}, {a: b for a, b, ohm in path(bad) if ohm < inf}
    here = "S1.2"
    while here in ends:
        here = ends[here]
        reached.add(here)
    # at one and the same place the short is on the load's side, except at the very start
    on_switch_side = shorted < broken or shorted == broken == 0
    assert (node in reached) == on_switch_side


def test_a_break_without_a_place_is_at_the_far_end() -> None:
    """So a short anywhere along the wire stays on the near side."""
    for order in (1, -1):
        texts = ["W3:open", "W3:short-to-ground:0.4"][::order]
        assert path(with_faults(*texts)) == [("S1.2", "W3@0.4", 0.0), ("W3@0.4", "X1.1a", inf)]


def test_a_piece_is_not_a_part_of_its_own() -> None:
    """Faults name the wire on the diagram, not a piece of it."""
    with pytest.raises(Exception, match="no part"):
        inject(with_faults("W3:short-to-ground:0.4"), parse_fault("W3':open"))
