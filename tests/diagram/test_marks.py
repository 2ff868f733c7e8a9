"""What the key points out in a figure, told apart without colour."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from quizgen.circuit.components import Relay
from quizgen.circuit.template import find_template
from quizgen.diagram import Drawing, Marks, lay_out
from quizgen.diagram.marks import bands, frames
from quizgen.diagram.svg import MARK_INK, paint
from tests.diagram.test_layout import lamp_circuit

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def lamps() -> Drawing:
    """Battery, fuse, splice, two lamps, two grounds."""
    return lay_out(lamp_circuit())


def strokes(drawing: Drawing, marks: Marks) -> list[ET.Element]:
    """The paths that the marks add."""
    shades = {ink.colour for ink in MARK_INK}
    paths = ET.fromstring(paint(drawing, marks)).iter(f"{SVG}path")
    return [path for path in paths if path.attrib.get("stroke") in shades]


def test_without_marks_nothing_is_added(lamps: Drawing) -> None:
    """The key's figure without marks is the student's, byte for byte."""
    assert paint(lamps, Marks()) == paint(lamps)
    assert not Marks()


def test_a_wire_gets_a_band_and_no_other_does(lamps: Drawing) -> None:
    """The band follows the wire from end to end."""
    line = next(k for k in lamps.lines if k.key == "W1")
    assert list(bands(lamps, {"W1"})) == [line.points]
    assert list(frames(lamps, {"W1"}, all_parts=True)) == []


def test_a_lamp_has_the_band_through_it_and_a_faulty_one_a_frame(lamps: Drawing) -> None:
    """The way of the current is seen to pass the lamp; a fault goes round all its ink."""
    lamp = next(p for p in lamps.placed if p.key == "E1")
    (track,) = bands(lamps, {"E1"})
    assert set(track) == {lamp.point(port) for port in lamp.symbol.ports}
    assert list(frames(lamps, {"E1"})) == []
    (box,) = frames(lamps, {"E1"}, all_parts=True)
    assert all(box.left < b.left and box.bottom > b.bottom for b in lamp.bodies)


def test_a_band_runs_along_a_bar_from_one_marked_wire_to_the_other(lamps: Drawing) -> None:
    """The bar below a splice is marked up to the branch that counts, and not beyond."""
    place = {p.key: p.x for p in lamps.placed}
    assert place["E1"] < place["E2"]
    near = [p for track in bands(lamps, {"W2", "W3"}) for p in track]
    far = [p for track in bands(lamps, {"W2", "W3", "W4"}) for p in track]
    ends = {k.key: k.points[0][0] for k in lamps.lines if k.wire}
    assert max(x for x, _ in near) < max(ends["W4"], ends["W3"])
    assert max(x for x, _ in far) == pytest.approx(max(ends["W4"], ends["W3"]))


def test_a_part_with_many_terminals_and_one_cavity_get_frames() -> None:
    """A relay is framed whole; of a connector in several places only the cavity named."""
    circuit = find_template("two-station-motor").build()
    drawing = lay_out(circuit)
    cavities = [p.key for p in drawing.placed if p.part == "X2"]
    assert len(cavities) == 4
    assert len(list(frames(drawing, {"X2/1"}, all_parts=True))) == 1
    assert len(list(frames(drawing, {"X2"}, all_parts=True))) == 4
    pump = find_template("push-button-relay").build()
    (relay,) = (part.id for part in pump.parts if isinstance(part, Relay))
    assert len(list(frames(lay_out(pump), {relay}))) == 1


def test_marks_differ_without_colour(lamps: Drawing) -> None:
    """Three patterns of dashes, whatever the colours; each mark is there once or twice."""
    marks = Marks(flowing=frozenset({"W1"}), dead=frozenset({"W3"}), faulty=frozenset({"E1"}))
    found = strokes(lamps, marks)
    assert {path.attrib["stroke-dasharray"] for path in found} == {k.dashes for k in MARK_INK}
    assert len({k.dashes for k in MARK_INK}) == 3


@pytest.mark.parametrize("name", ["blower-pack", "trailer-socket", "starter"])
def test_everything_that_is_drawn_can_be_marked(name: str) -> None:
    """No wire or part of a shipped circuit is left without a band or a frame."""
    circuit = find_template(name).build()
    drawing = lay_out(circuit)
    for key in {part.id for part in circuit.parts if part.kind not in ("splice", "bridge")}:
        assert [*bands(drawing, {key}), *frames(drawing, {key})], key
