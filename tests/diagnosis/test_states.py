"""States of the controls: all of them, the telling ones, and those after a button is let go."""

from __future__ import annotations

from itertools import product

import pytest

from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit, Control
from quizgen.diagnosis.states import after_release, all_states, state_name, telling_states


def row_of_lamps(number: int, *, momentary: bool = False) -> Circuit:
    """A battery and `number` lamps, each with its own switch S1, S2 ..."""
    parts: list[c.Part] = [
        c.Battery(id="GB1", nodes=("plus", CHASSIS), emf_volts=12.6, internal_ohm=0.01)
    ]
    controls = []
    for i in range(1, number + 1):
        switch = c.Switch(
            id=f"S{i}", nodes=("plus", f"E{i}.1"), pins=("1", "2"), positions=("off", "on"),
            closes=((), (c.Contact(a="1", b="2"),)), control=f"S{i}",
        )  # fmt: skip
        parts += [switch, c.Lamp(id=f"E{i}", nodes=(f"E{i}.1", CHASSIS), watts=5, volts=13.5)]
        controls.append(
            Control(name=f"S{i}", positions=("off", "on"), rest="off", momentary=momentary)
        )
    return Circuit(
        name="row", title="row", system_volts=12, parts=tuple(parts), controls=tuple(controls)
    )


def test_every_combination_is_there_once_and_rest_is_first() -> None:
    """Three switches of two positions: eight states, none moved at the start."""
    states = all_states(row_of_lamps(3))
    assert states[0] == ()
    ends = {tuple(dict(moves).get(f"S{i}", "off") for i in (1, 2, 3)) for moves in states}
    assert ends == set(product(("off", "on"), repeat=3))
    assert len(states) == 8


def test_rest_needs_no_move_wherever_it_stands() -> None:
    """A control whose rest is not its first position is left alone at rest."""
    circuit = row_of_lamps(1)
    rests_on = Circuit(
        name="row", title="", system_volts=12, parts=circuit.parts,
        controls=(Control(name="S1", positions=("off", "on"), rest="on"),),
    )  # fmt: skip
    assert all_states(rests_on) == ((), (("S1", "off"),))


@pytest.mark.parametrize("most", [1, 7, 100])
def test_too_many_states_are_thinned_evenly(most: int) -> None:
    """Exactly as many as allowed, all different, rest among them."""
    states = all_states(row_of_lamps(12), most)
    assert len(set(states)) == most
    assert () in states


@pytest.mark.parametrize("number", [10, 12])
def test_a_thinned_list_still_moves_every_control(number: int) -> None:
    """With 64 of 1024 or 4096 states each switch is on in about half of them."""
    states = all_states(row_of_lamps(number), 64)
    for i in range(1, number + 1):
        on = sum(dict(moves).get(f"S{i}") == "on" for moves in states)
        assert 16 <= on <= 48, f"S{i} is on in {on} of 64 states"


def test_few_states_are_all_telling() -> None:
    """Nothing is left out as long as everything fits."""
    circuit = row_of_lamps(3)
    assert telling_states(circuit, 8) == all_states(circuit)


def test_telling_states_show_every_pair_of_positions() -> None:
    """Of 256 states few are needed to have each two switches in all four combinations."""
    circuit = row_of_lamps(8)
    states = telling_states(circuit, 32)
    assert len(states) <= 32
    assert states[0] == ()
    for a, b in product(range(1, 9), repeat=2):
        if a < b:
            seen = {tuple(dict(m).get(f"S{i}", "off") for i in (a, b)) for m in states}
            assert len(seen) == 4


def test_a_button_is_let_go_after_everything_else() -> None:
    """Only states that press something have a sequel, and it ends at rest."""
    circuit = row_of_lamps(2, momentary=True)
    sequels = after_release(circuit, all_states(circuit))
    assert len(sequels) == 3
    assert (("S1", "on"), ("S2", "on"), ("S1", "off"), ("S2", "off")) in sequels


def test_a_state_is_named_as_it_is_typed() -> None:
    """Moves in their order, and words for none."""
    assert state_name((("S1", "on"), ("S2", "3"))) == "S1=on S2=3"
    assert state_name(()) == "at rest"
