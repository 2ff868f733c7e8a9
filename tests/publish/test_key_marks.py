"""What is marked for which question, in a circuit that a person can follow.

The battery feeds fuse F1 and splice XS1; from there lamps E1 and E2 go to ground point G1. So
without F1 nothing carries current, and without E1 only its own branch.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizgen.items.item import Item, Observed, Origin, Proof
from quizgen.publish.circuit_figures import marked_of
from quizgen.publish.key_marks import key_marks
from tests.diagram.test_layout import lamp_circuit
from tests.publish.test_from_items import item


def about(fault: str = "", *, kind: str = "fault-from-readings", **changed: object) -> Item:
    """An item about the two lamps."""
    origin = Origin(template="push-button-relay", parameters=(), positions=(), fault=fault)
    return replace(item(), kind=kind, origin=origin, **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fault", "dead"),
    [
        ("E1:burned-out", {"W3", "W5"}),
        ("W3:open", {"E1", "W5"}),
        ("F1:blown", {"GB1", "W1", "W2", "W3", "W4", "W5", "W6", "W7", "E1", "E2", "G1", "G2"}),
    ],
)
def test_a_fault_and_what_it_leaves_without_current_are_marked(fault: str, dead: set[str]) -> None:
    """The current of a branch ends everywhere in the branch, before the break and after it."""
    found = key_marks(about(fault), lamp_circuit())
    assert found.marks.faulty == {fault.partition(":")[0]}
    assert found.marks.dead - {"XS1"} == dead
    assert "Fault: " in found.words
    assert "ticks: without current" in found.words


def test_a_fault_that_is_told_without_its_severity_is_marked_once() -> None:
    """A stem says "added resistance", the circuit has 50 Ω of it: one fault, one sentence."""
    found = key_marks(about("W3:resistance:50", told=("W3:resistance",)), lamp_circuit())
    assert found.marks.faulty == {"W3"}
    assert found.words.count("Fault:") == 1


def test_the_way_of_the_current_is_marked_for_a_question_about_it() -> None:
    """From the battery through E1 to its ground, past the other lamp."""
    seen = Proof(observed=(Observed(part="E1", level="bright"),))
    found = key_marks(about(kind="trace-path", proof=seen), lamp_circuit())
    assert {"W3", "E1", "W5", "G1"} <= found.marks.flowing or found.marks.flowing == {"E1"}
    assert not found.marks.flowing & {"W4", "E2", "W6"}
    assert "solid" in found.words


def test_a_question_about_nothing_in_the_circuit_has_no_figure() -> None:
    """Nor has one about a fault that the circuit does not know; the key is printed all the same."""
    assert not key_marks(about(), lamp_circuit()).marks
    assert not key_marks(about("Z9:open"), lamp_circuit()).marks
    assert marked_of(about()) is None


def test_the_caption_says_how_the_fault_is_marked() -> None:
    """Words carry what the marks carry, also for somebody who cannot see them."""
    figure = marked_of(about("K1:not-making"))
    assert figure is not None
    assert "K1" in figure.caption
    assert "dashed: the fault" in figure.caption
    assert figure.alternative.endswith(figure.caption)
