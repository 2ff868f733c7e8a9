"""The table of usual faults: what is alike is one group, what is hidden is named."""

from __future__ import annotations

import numpy as np
import pytest

from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit, Control
from quizgen.diagnosis.fault_table import FaultTable, build_table
from quizgen.faults import Fault, WeightedFault, inject
from quizgen.solver import solve
from quizgen.solver.observation import observe

STATES = ((), (("S1", "on"),))


def lamp_circuit() -> Circuit:
    """Battery, 10 A fuse, W1, switch, W2, 21 W lamp, W3 to a stud."""

    def wire(number: str, start: str, end: str) -> c.Wire:
        return c.Wire(id=number, nodes=(start, end), colour="RD", mm2=1.5, metres=1.0)

    switch = c.Switch(
        id="S1", nodes=("S1.1", "S1.2"), pins=("1", "2"), positions=("off", "on"),
        closes=((), (c.Contact(a="1", b="2"),)), control="S1",
    )  # fmt: skip
    return Circuit(
        name="lamp", title="lamp", system_volts=12,
        parts=(
            c.Battery(id="GB1", nodes=("F1.1", CHASSIS), emf_volts=12.6, internal_ohm=0.01),
            c.Fuse(id="F1", nodes=("F1.1", "F1.2"), amps=10),
            wire("W1", "F1.2", "S1.1"), switch, wire("W2", "S1.2", "E1.1"),
            c.Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=21, volts=13.5),
            wire("W3", "E1.2", "G1"), c.Ground(id="G1", nodes=("G1", CHASSIS)),
        ),
        controls=(Control(name="S1", positions=("off", "on"), rest="off"),),
    )  # fmt: skip


@pytest.fixture(scope="module")
def table() -> FaultTable:
    """All usual faults of the lamp circuit, switch off and on."""
    return build_table(lamp_circuit(), STATES)


def row(table: FaultTable, text: str) -> int:
    """The row of a fault."""
    return 1 + [str(item.fault) for item in table.faults].index(text)


def group(table: FaultTable, text: str) -> tuple[int, ...]:
    """The group that a fault is in."""
    return next(g for g in table.groups if row(table, text) in g)


def test_a_row_is_what_the_faulted_circuit_does_alone(table: FaultTable) -> None:
    """Batched or alone, voltages and observations are the same."""
    circuit = table.circuit
    for number in range(1, len(table.faults) + 1, 3):
        fault = table.faults[number - 1].fault
        for s, moves in enumerate(STATES):
            point = solve(inject(circuit, fault), [dict(moves)])
            if point.phases:
                continue
            volts = np.array([point.volts(n) for n in circuit.nodes], dtype=float)
            assert np.allclose(table.low[:, number, s], volts, atol=1e-9, equal_nan=True), fault
            assert [o.level for o in table.seen[number][s]] == [o.level for o in observe(point)]


def test_opens_at_one_place_are_one_group(table: FaultTable) -> None:
    """A blown fuse and a missing one; the wire behind it differs by the node between."""
    assert row(table, "F1:missing") in group(table, "F1:blown")
    assert row(table, "W1:open") not in group(table, "F1:blown")


def test_every_row_is_in_exactly_one_group(table: FaultTable) -> None:
    """Groups are a partition, the sound circuit's first."""
    rows = [r for g in table.groups for r in g]
    assert sorted(rows) == list(range(len(table.faults) + 1))
    assert table.groups[0][0] == 0


def test_members_of_a_group_are_within_a_millivolt(table: FaultTable) -> None:
    """Of the group's first, in every state and node, and a driver sees the same."""
    for rows in table.groups:
        for r in rows[1:]:
            apart = np.abs(table.low[:, rows[0]] - table.low[:, r])
            assert np.nanmax(apart, initial=0.0) <= 1e-3
            assert [[o.level for o in s] for s in table.seen[rows[0]]] == [
                [o.level for o in s] for s in table.seen[r]
            ]


def test_a_fault_that_shows_nothing_is_hidden(table: FaultTable) -> None:
    """An oversized fuse on a sound circuit; a burned-out lamp is not hidden."""
    assert Fault("F1", "wrong-rating", "20") in table.hidden
    assert Fault("E1", "burned-out") not in table.hidden


def test_what_is_hidden_depends_on_the_states() -> None:
    """A lamp that is burned out shows only while it should light."""
    dead = (WeightedFault(Fault("F1", "blown"), 1.0), WeightedFault(Fault("W3", "open"), 1.0))
    off = build_table(lamp_circuit(), ((),), dead)
    on = build_table(lamp_circuit(), ((("S1", "on"),),), dead)
    assert Fault("F1", "blown") not in off.hidden  # the node behind the fuse floats
    assert on.hidden == ()
    assert len(on.groups) == 3


def test_a_floating_node_is_unlike_zero_volts() -> None:
    """With W2 broken the open switch's terminal hangs on nothing; else the lamp grounds it."""
    broken = (WeightedFault(Fault("W2", "open"), 1.0),)
    assert build_table(lamp_circuit(), ((),), broken).hidden == ()


def test_what_a_driver_sees_counts_where_the_voltages_are_equal() -> None:
    """On an ideal source a burned-out lamp changes no voltage, but it is dark."""
    circuit = Circuit(
        name="bare", title="bare", system_volts=12,
        parts=(
            c.Source(id="V1", nodes=("top", CHASSIS), volts=13.5),
            c.Lamp(id="E1", nodes=("top", CHASSIS), watts=21, volts=13.5),
        ),
    )  # fmt: skip
    found = build_table(circuit, ((),), (WeightedFault(Fault("E1", "burned-out"), 1.0),))
    assert np.array_equal(found.low[:, 0], found.low[:, 1])
    assert found.hidden == ()
