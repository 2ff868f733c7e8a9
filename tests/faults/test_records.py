"""Faults as text, and the messages for text that names no fault."""

from __future__ import annotations

import pytest

from quizgen.base.errors import InputError
from quizgen.faults import Fault, describe, inject, parse_fault
from tests.faults.circuits import one_lamp, one_of_each, pump_relay


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("W5:open", Fault("W5", "open")),
        ("W5:open:0.3", Fault("W5", "open", "0.3")),
        ("W5:short-to:W6", Fault("W5", "short-to", "W6")),
        ("X1:resistance:3=2.0", Fault("X1", "resistance", "3=2")),
        ("S1:open:30-1", Fault("S1", "open", "30-1")),
        (" K1:coil-open ", Fault("K1", "coil-open")),
    ],
)
def test_text_becomes_a_fault_and_back(text: str, fault: Fault) -> None:
    """Part, mode and detail are parted by colons; the text of a fault reads back the same."""
    assert parse_fault(text) == fault
    assert parse_fault(str(fault)) == fault


def test_two_ways_to_write_a_number_are_one_fault() -> None:
    """2.0 ohm and 2 ohm are the same fault, so that answers can be compared."""
    assert parse_fault("W5:resistance:2.0") == parse_fault("W5:resistance:2")


def test_a_cavity_keeps_its_name() -> None:
    """A detail that is a name is left alone even where it looks like a number."""
    assert parse_fault("X1:open:01").detail == "01"
    assert parse_fault("X1:resistance:01=2.50").detail == "01=2.5"


@pytest.mark.parametrize("text", ["", "W5", ":open", "W5:", "::"])
def test_text_without_part_or_mode_is_refused(text: str) -> None:
    """The message shows how a fault is written."""
    with pytest.raises(InputError, match="write PART:MODE"):
        parse_fault(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("W55:open", ["no part 'W55'", "did you mean W5?", "parts:", "GB1"]),
        ("W5:opne", ["is a wire", "did you mean open?", "short-to-ground"]),
        ("E1:seized", ["is a lamp", "modes:", "burned-out"]),
        ("XS1:open", ["XS1 cannot fail", "one point"]),
        ("X1:open", ["which cavity", "cavities: 1 2"]),
        ("X1:open:7", ["no cavity '7'", "1 2"]),
        ("X1:resistance:1", ["which cavity", "1 2"]),
        ("S1:open:2-1", ["no contact '2-1'", "1-2"]),
        ("S1:stuck:onn", ["did you mean on?", "off on"]),
        ("F1:wrong-rating:11", ["no rating '11'", "7.5"]),
        ("F1:wrong-rating:10", ["no rating '10'"]),
        ("F1:blown:yes", ["takes no detail", "F1:blown"]),
        ("W5:open:1.5", ["from 0 to 1", "'1.5'"]),
        ("W5:open:nan", ["from 0 to 1"]),
        ("W5:resistance", ["added resistance in ohm"]),
        ("W5:resistance:0", ["0 ohm added is no fault"]),
        ("W5:resistance:-2", ["from 0 to"]),
        ("W5:resistance:inf", ["from 0 to"]),
        ("W5:short-to:W5", ["no other wire 'W5'"]),
        ("W5:short-to", ["which other wire", "W4"]),
        ("W2:swapped:W5", ["reach no common part", "could change places"]),
        ("E1:wrong-lamp:21", ["21 W is the right lamp"]),
        ("GB1:weak:120", ["percent of charge"]),
        ("W9:short-to-ground", ["that point already"]),
        ("R2:open", ["which section", "1 2"]),
        ("B1:stuck:half", ["no position 'half'", "empty full"]),
    ],
)
def test_a_fault_that_does_not_fit_says_what_would(text: str, words: list[str]) -> None:
    """One line that names the fault, what is wrong with it and what is possible."""
    for use in (inject, describe):
        with pytest.raises(InputError) as error:
            use(one_of_each(), parse_fault(text))
        message = str(error.value)
        assert "\n" not in message
        assert text.partition(":")[0] in message
        for word in words:
            assert word in message


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("E1:burned-out", "E1:shorted"),
        ("F1:blown", "F1:blown"),
        ("S1:stuck:on", "S1:stuck:off"),
        ("F1:wrong-rating:5", "F1:wrong-rating:20"),
        ("W3:short-to-ground", "W3:short-to-ground"),
    ],
)
def test_faults_that_exclude_each_other_are_refused(first: str, second: str) -> None:
    """A lamp is not burned out and shorted at once; the second injection says so."""
    circuit = inject(one_lamp(), parse_fault(first))
    with pytest.raises(InputError, match="already"):
        inject(circuit, parse_fault(second))


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        ("W5:open", "wire W5, from pump relay K1 terminal 87 to pump M1 terminal 1, is broken"),
        (
            "W5:open:0.3",
            "wire W5, from pump relay K1 terminal 87 to pump M1 terminal 1, is broken, "
            "30 % of the way along",
        ),
        ("G1:open", "ground point G1 (left frame stud) makes no contact with the frame"),
        (
            "F2:wrong-rating:10",
            "relay fuse F2 has been replaced with a 10 A fuse where 5 A belongs",
        ),
        ("K1:not-making", "contact 30 to 87 of pump relay K1 makes no contact"),
        (
            "W5:swapped:W6",
            "wires W5 and W6 are swapped at pump M1: W5 sits on terminal 2, W6 on terminal 1",
        ),
        ("S1:resistance:1-2=5", "contact 1 to 2 of switch S1 has too much resistance (5 Ω added)"),
        ("GB1:weak", "battery GB1 is weak, about 25 % charged"),
    ],
)
def test_the_clause_names_part_and_ends(text: str, clause: str) -> None:
    """Each clause reads as a technician would say it (written by hand, not copied)."""
    assert describe(pump_relay(), parse_fault(text)) == clause


def test_wires_without_a_common_part_touch_somewhere() -> None:
    """The clause names no part where there is none."""
    clause = describe(pump_relay(), parse_fault("W1:short-to:W9"))
    assert clause == (
        "wire W1, from battery GB1 plus to splice XS1, touches wire W9, from switch S1 "
        "terminal 2 to ground point G2 (left frame stud)"
    )


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        (
            "W5:resistance:2",
            "wire W5, from K1 terminal 87 to M1 terminal 1, has too much resistance",
        ),
        (
            "G1:resistance:5",
            "ground point G1 (left frame stud) has too much resistance to the frame",
        ),
        ("GB1:weak:10", "battery GB1 is weak"),
    ],
)
def test_a_clause_can_leave_open_how_bad_it_is(text: str, clause: str) -> None:
    """No ohm, no percent; and the ends of a wire by number for a reader with the diagram."""
    assert describe(pump_relay(), parse_fault(text), severity=False, names=False) == clause


def test_a_part_that_the_machine_moves_is_stuck_as_if() -> None:
    """Nobody sets a tank sender by hand."""
    said = describe(one_of_each(), parse_fault("B1:stuck:empty"))
    assert said == "sender B1 is stuck as if the tank were empty"
