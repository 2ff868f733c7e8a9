"""A template becomes the circuit that its text describes; expectations are written by hand."""

from __future__ import annotations

import re
from dataclasses import fields
from math import inf
from pathlib import Path

import pytest

from quizgen.base.errors import FileError
from quizgen.circuit import components
from quizgen.circuit.components import (
    KINDS,
    Connector,
    Contact,
    Fuse,
    Lamp,
    Resistor,
    Sender,
    Switch,
    Wire,
)
from quizgen.circuit.fields import DEFECTS, fields_of, known_fields, part_kinds, required_fields
from quizgen.circuit.netlist import Control
from quizgen.circuit.template import parse_template
from tests.circuit.sample import NETWORK, SAMPLE

CIRCUIT = parse_template(SAMPLE).build()


def network(*parts: str) -> str:
    """The bare network with other parts beside its source."""
    head = NETWORK[: NETWORK.index("  R1:")]
    return head + "".join(f"  {part}\n" for part in parts)


def test_parts_have_their_fields_and_nodes() -> None:
    """Each value of the file is where it belongs."""
    parts = CIRCUIT.by_id
    assert parts["F1"] == Fuse(
        id="F1", nodes=("F1.1", "F1.2"), name="pump fuse", access_minutes=0.5,
        weights=(("blown", 3.0),), amps=15.0,
    )  # fmt: skip
    assert parts["S1"] == Switch(
        id="S1", nodes=("S1.30", "S1.1"), name="pump switch", pins=("30", "1"),
        positions=("off", "on"), closes=((), (Contact(a="30", b="1"),)), control="S1",
    )  # fmt: skip
    assert parts["B1"] == Switch(
        id="B1", nodes=("B1.1", "B1.2"), style="pressure", pins=("1", "2"), control="pressure",
        positions=("high", "low"), closes=((), (Contact(a="1", b="2"),)),
    )  # fmt: skip
    assert parts["B2"] == Sender(
        id="B2", nodes=("B2.1", "B2.2"), control="pressure", positions=("low", "high"),
        ohms=(200.0, 20.0),
    )  # fmt: skip
    assert parts["X1"] == Connector(
        id="X1", nodes=("X1.1a", "X1.1b"), cavities=("1",), cavity_ohm=(0.004,)
    )
    assert parts["E1"] == Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=5.0, volts=13.5)
    assert parts["W1"] == Wire(id="W1", nodes=("GB1.+", "F1.1"), colour="RD", mm2=4.0, metres=1.5)
    assert parts["W6"].nodes == ("K1.85", "G1")
    assert parts["G1"].nodes == ("G1", "chassis")
    assert parts["XS1"].nodes == ("XS1",)
    assert [p.id for p in CIRCUIT.parts][:3] == ["GB1", "F1", "S1"]
    assert CIRCUIT.parts[-1].id == "W16"


def test_controls_come_from_switches_and_conditions() -> None:
    """A hand switch is its own control; a condition keeps its own rest and label."""
    assert CIRCUIT.controls == (
        Control(name="S1", positions=("off", "on"), rest="off", label="pump switch"),
        Control(
            name="pressure", positions=("low", "high"), rest="high", label="line pressure",
            by="condition",
        ),
    )  # fmt: skip


def test_the_rest_of_the_file_reaches_the_circuit() -> None:
    """Topics, cautions, feeds, hints and what the driver cannot see."""
    assert CIRCUIT.title == "Pump with pressure switch"
    assert CIRCUIT.topics == ("relay", "shared-ground")
    assert CIRCUIT.cautions == ("The pump starts by itself.",)
    assert CIRCUIT.unobserved == {"E1"}
    assert CIRCUIT.feeds == (("GB1.+", "live at all times"),)
    assert CIRCUIT.layout == (("M1", {"column": 3, "beside": ["K1", 1]}),)
    assert CIRCUIT.reference == "chassis"


def test_variants_exchange_parts_and_wires() -> None:
    """The first alternative whose `when` holds is used; none leaves the part out."""
    template = parse_template(SAMPLE)
    plain = template.build({"plug": False, "lamps": 2, "system": 24, "feed": 1.0})
    assert "X1" not in plain.by_id
    assert "W9" not in plain.by_id
    assert plain.by_id["W8"].nodes == ("K1.87", "M1.1")
    assert plain.by_id["E1"] == Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=10.0, volts=28.0)
    assert plain.unobserved == frozenset()
    assert CIRCUIT.by_id["W8"].nodes == ("K1.87", "X1.1a")


def test_hints_and_feeds_of_an_absent_part_are_left_out() -> None:
    """They come back with the part; nothing else complains."""
    text = SAMPLE.replace("live at all times}", "live at all times, X1.1b: through the plug}")
    template = parse_template(text.replace("  M1: {column", "  X1: {lying: true}\n  M1: {column"))
    with_plug, without = template.build(), template.build({"plug": False})
    assert dict(with_plug.layout)["X1"] == {"lying": True}
    assert [part_id for part_id, _ in without.layout] == ["M1"]
    assert dict(with_plug.feeds) == {"GB1.+": "live at all times", "X1.1b": "through the plug"}
    assert dict(without.feeds) == {"GB1.+": "live at all times"}


def test_a_bare_network_has_ideal_joints() -> None:
    """`at` puts terminals on named nodes, by order or by name, or on another terminal."""
    circuit = parse_template(NETWORK).build()
    assert circuit.reference == "0"
    assert circuit.by_id["R2"] == Resistor(id="R2", nodes=("top", "right"), ohm=inf)
    assert circuit.by_id["R3"] == Resistor(id="R3", nodes=("left", "right"), ohm=0.0)
    assert circuit.by_id["R5"].nodes == ("right", "0")
    assert circuit.controls == ()


def test_a_bare_network_may_have_islands() -> None:
    """A part of it without any connection to the reference floats; that is no mistake."""
    text = network(
        "R1: {kind: resistor, ohm: 1, at: [top, 0]}",
        "R2: {kind: resistor, ohm: 1, at: [p, q]}",
        "R3: {kind: resistor, ohm: 1, at: [p, q]}",
    )
    assert parse_template(text).build().by_id["R3"].nodes == ("p", "q")


def test_a_network_without_a_source_is_refused() -> None:
    """Nothing would ever happen in it."""
    text = network(
        "R1: {kind: resistor, ohm: 1, at: [top, 0]}",
        "R2: {kind: resistor, ohm: 1, at: [top, 0]}",
    ).replace("  V1: {kind: source, volts: 10, at: [top, 0]}\n", "")
    with pytest.raises(FileError, match="no battery and no source"):
        parse_template(text)


def test_a_terminal_may_be_put_on_a_point_of_another_part() -> None:
    """A part bolted to a battery pole or a splice needs no wire."""
    text = SAMPLE.replace("kind: fuse, amps: 15", 'kind: fuse, amps: 15, at: {"1": GB1.+}')
    text = text.replace("to: F1.1,", "to: F1.2,")
    circuit = parse_template(text.replace("from: GB1.+, to: F1.2", "from: F1.2, to: XS1")).build()
    assert circuit.by_id["F1"].nodes == ("GB1.+", "F1.2")
    assert circuit.by_id["W1"].nodes == ("F1.2", "XS1")


def test_every_field_of_every_kind_has_its_place() -> None:
    """A field is written in a template, or is a defect, or is made from another field."""
    made = {"id", "nodes", "weights"}
    rewritten = {"connector": {"cavity_ohm"}, "switch": {"closes", "positions", "control"}}
    for kind, cls in KINDS.items():
        names = {f.name for f in fields(cls)}
        expected = names - DEFECTS - made - rewritten.get(kind, set())
        assert set(fields_of(cls)) == expected, kind
        assert set(required_fields(cls)) <= set(known_fields(cls))
        assert not DEFECTS & set(known_fields(cls))
    assert set(part_kinds()) == set(KINDS) - {"wire", "bridge"}


def test_every_field_marked_as_a_defect_is_one() -> None:
    """The comments in the modules of components are believed."""
    files = Path(components.__file__).parent.glob("*.py")
    source = "\n".join(file.read_text(encoding="utf-8") for file in files)
    marked = set(re.findall(r"^    (\w+): .*# defect", source, flags=re.MULTILINE))
    assert {"extra_ohm", "stuck"} <= marked <= DEFECTS
