"""The table of modes: complete, and each mode does to the part what its name says."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from quizgen.circuit import components as c
from quizgen.faults import Fault, inject, parse_fault
from quizgen.faults.modes import FAULTLESS, MODES
from quizgen.faults.wording import clauses
from tests.faults.circuits import circuit, one_lamp, one_of_each, pump_relay, reversing_motor


def test_every_kind_has_modes_or_a_reason_for_none() -> None:
    """No component kind is forgotten, and none is in both tables."""
    assert set(MODES) | set(FAULTLESS) == set(c.KINDS.values())
    assert not set(MODES) & set(FAULTLESS)
    assert all(FAULTLESS.values())


def test_every_mode_has_a_clause_and_no_clause_is_spare() -> None:
    """The wording file and the table list the same modes; `-as-if` is a variant of one."""
    table = {kind.kind: {mode.name for mode in modes} for kind, modes in MODES.items()}
    said = {kind: {m.removesuffix("-as-if") for m in modes} for kind, modes in clauses().items()}
    assert said == table


@pytest.mark.parametrize(
    ("text", "part_id", "values"),
    [
        ("F1:blown", "F1", {"condition": "blown"}),
        ("F1:missing", "F1", {"condition": "missing"}),
        ("F1:wrong-rating:7.5", "F1", {"fitted_amps": 7.5}),
        ("F2:blown", "F2", {"condition": "blown"}),
        ("F3:stuck-open", "F3", {"condition": "open"}),
        ("F3:welded", "F3", {"condition": "welded"}),
        ("S1:open:1-2", "S1", {"open_contacts": (c.Contact(a="1", b="2"),)}),
        ("S1:stuck:on", "S1", {"stuck": "on"}),
        ("S1:resistance:1-2=2", "S1", {"worn_contacts": ((c.Contact(a="1", b="2"), 2.0),)}),
        ("K1:coil-open", "K1", {"coil": "open"}),
        ("K1:coil-shorted", "K1", {"coil": "shorted"}),
        ("K1:welded", "K1", {"armature": "welded"}),
        ("K1:not-making", "K1", {"armature": "stuck"}),
        ("K1:resistance:2", "K1", {"extra_ohm": 2.0}),
        ("R1:open", "R1", {"ohm": inf}),
        ("R2:open:2", "R2", {"ohms": (1.0, inf)}),
        ("B1:stuck:empty", "B1", {"stuck": "empty"}),
        ("B1:open", "B1", {"ohms": (inf, inf)}),
        ("E1:burned-out", "E1", {"condition": "open"}),
        ("E1:wrong-lamp:5", "E1", {"fitted_watts": 5.0}),
        ("E1:shorted", "E1", {"condition": "shorted"}),
        ("E2:open", "E2", {"condition": "open"}),
        ("E3:shorted", "E3", {"condition": "shorted"}),
        ("Y1:open", "Y1", {"condition": "open"}),
        ("P1:open", "P1", {"condition": "open"}),
        ("V1:shorted", "V1", {"condition": "shorted"}),
        ("G9:open", "G9", {"ohm": inf}),
        ("X1:open:2", "X1", {"cavity_ohm": (0.003, inf)}),
        ("W5:open", "W5", {"extra_ohm": inf}),
        ("W5:resistance:2", "W5", {"extra_ohm": 2.0}),
    ],
)
def test_a_mode_changes_one_part(text: str, part_id: str, values: dict[str, object]) -> None:
    """Exactly the named part differs, in the named fields; all others are the same objects."""
    good = one_of_each()
    bad = inject(good, parse_fault(text))
    assert bad.part(part_id) == replace(good.part(part_id), **values)
    assert all(a is b for a, b in zip(good.parts, bad.parts, strict=True) if a.id != part_id)


@pytest.mark.parametrize("condition", ["open", "seized", "shorted"])
def test_motor_conditions(condition: str) -> None:
    """A motor's mode is its condition."""
    bad = inject(pump_relay(), Fault("M1", condition)).part("M1")
    assert isinstance(bad, c.Motor)
    assert bad.condition == condition


def test_resistance_adds_to_what_is_there() -> None:
    """Added resistance comes on top of a cavity's and a ground point's own."""
    good = one_lamp()
    cavity = inject(good, parse_fault("X1:resistance:1=2")).part("X1")
    stud = inject(good, parse_fault("G1:resistance:5")).part("G1")
    assert isinstance(cavity, c.Connector)
    assert isinstance(stud, c.Ground)
    assert cavity.cavity_ohm == (pytest.approx(2.003), 0.003)
    assert stud.ohm == pytest.approx(5.002)


def test_an_empty_battery_rests_at_its_published_voltage() -> None:
    """Six cells: 12.65 V charged, 11.9 V empty (from memory of battery handbooks)."""
    battery = c.Battery(id="GB1", nodes=("a", "chassis"), emf_volts=12.65)
    weak = inject(circuit("b", battery), parse_fault("GB1:weak:0")).part("GB1")
    assert isinstance(weak, c.Battery)
    assert weak.emf_volts == pytest.approx(11.9, abs=0.05)
    assert weak.internal_ohm > battery.internal_ohm


@pytest.mark.parametrize(
    ("contact", "mode", "armature"),
    [
        ("make", "welded", "welded"),
        ("make", "not-making", "stuck"),
        ("changeover", "welded", "welded"),
        ("changeover", "not-making", "stuck"),
        ("break", "welded", "stuck"),
        ("break", "not-making", "welded"),
    ],
)
def test_welded_means_the_working_contact(contact: str, mode: str, armature: str) -> None:
    """A break relay whose contact is welded behaves as if its armature never moved."""
    pins = {"make": 4, "break": 4, "changeover": 5}[contact]
    relay = c.Relay(
        id="K1",
        nodes=tuple(f"n{i}" for i in range(pins)),
        contact=contact,  # type: ignore[arg-type]
    )
    bad = inject(circuit("k", relay), Fault("K1", mode)).part("K1")
    assert isinstance(bad, c.Relay)
    assert bad.armature == armature


# --- contact with something else ------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "nodes"),
    [
        ("W5:short-to-ground", ("M1.1", "chassis")),
        ("W5:short-to-ground:0", ("K1.87", "chassis")),
        ("W5:short-to-supply", ("M1.1", "GB1.+")),
        ("W4:short-to:W5", ("K1.30", "K1.87")),
        ("W1:short-to:W9", ("XS1", "G2")),
    ],
)
def test_a_short_is_a_bridge_between_two_nodes(text: str, nodes: tuple[str, str]) -> None:
    """It sits at the wire's `to` end unless the fault says where; nothing else changes."""
    good = pump_relay()
    bad = inject(good, parse_fault(text))
    assert bad.parts[:-1] == good.parts
    assert bad.parts[-1] == c.Bridge(id=f"~{text}", nodes=nodes, ohm=0.005)
    assert bad.nodes == good.nodes


def test_swapped_wires_exchange_ends_at_the_part_both_reach() -> None:
    """A reversing motor with its leads swapped runs the wrong way round."""
    good = reversing_motor()
    bad = inject(good, parse_fault("W3:swapped:W4"))
    assert bad.part("W3").nodes == ("S1.1", "M1.2")
    assert bad.part("W4").nodes == ("S1.2", "M1.1")
    assert inject(bad, parse_fault("W3:swapped:W4")) == good


def test_swapping_works_for_wires_that_leave_and_enter() -> None:
    """At a connector one wire may end where the other begins."""
    bad = inject(one_lamp(), parse_fault("W3:swapped:W6"))
    assert bad.part("W3").nodes == ("S1.2", "X1.2a")
    assert bad.part("W6").nodes == ("X1.1a", "G1")


def test_two_sides_of_a_connector_do_not_mix() -> None:
    """W3 enters X1 on one side, W4 leaves it on the other: they cannot change places."""
    good = one_lamp()
    both = inject(good, parse_fault("W4:swapped:W5"))  # these two share the plug side, and E1
    assert {both.part("W4").nodes[1], both.part("W5").nodes[0]} == {"E1.1", "E1.2"}
    with pytest.raises(Exception, match="no common part"):
        inject(good, parse_fault("W3:swapped:W5"))
