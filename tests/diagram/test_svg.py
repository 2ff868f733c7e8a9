"""The painted figure and its text alternative."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from quizgen.circuit.components import Relay, Switch, Wire
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.circuit.wire_data import colour_parts
from quizgen.diagram import describe_diagram, draw_svg
from quizgen.diagram.layout import laid_out
from quizgen.diagram.svg import PAINT

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(params=shipped_templates(), scope="module")
def circuit(request: pytest.FixtureRequest):  # type: ignore[no-untyped-def]
    """Each shipped template at its default setting."""
    return find_template(request.param).build()


def test_the_same_circuit_gives_the_same_bytes(circuit) -> None:  # type: ignore[no-untyped-def]
    """Also when nothing is left in memory from the first time."""
    first = draw_svg(circuit)
    laid_out.cache_clear()
    assert draw_svg(circuit) == first


def test_only_plain_svg_with_short_numbers(circuit) -> None:  # type: ignore[no-untyped-def]
    """Elements that every PDF engine knows, no style sheet, at most three decimals."""
    text = draw_svg(circuit)
    root = ET.fromstring(text)
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {"svg", "g", "path", "text"}
    assert not re.search(r"\bclass=|\bstyle=", text)
    assert not re.search(r"\d\.\d{4,}", text)
    assert len([e for e in root.iter() if e.tag == f"{SVG}path"]) < 30


def test_every_part_wire_and_terminal_is_written(circuit) -> None:  # type: ignore[no-untyped-def]
    """The letters carry the meaning when colours do not."""
    words = [e.text or "" for e in ET.fromstring(draw_svg(circuit)).iter(f"{SVG}text")]
    run_on = " ".join(words)
    for part in circuit.parts:
        if isinstance(part, Wire):
            label = f"{part.id} {part.colour} {part.mm2:g}"
            assert label in run_on
        else:
            assert part.id in words
            if isinstance(part, Switch | Relay):
                assert set(part.terminals) <= set(words)


def test_every_colour_of_a_wire_is_painted(circuit) -> None:  # type: ignore[no-untyped-def]
    """Base colours and stripes both have a path of their shade."""
    text = draw_svg(circuit)
    for part in circuit.parts:
        if isinstance(part, Wire):
            for code in colour_parts(part.colour):
                assert f'stroke="{PAINT[code]}"' in text


def test_defects_do_not_show() -> None:
    """A circuit with a broken wire is drawn exactly as the sound one."""
    from dataclasses import replace
    from math import inf

    sound = find_template("push-button-relay").build()
    broken = replace(sound.part("W3"), extra_ohm=inf)  # type: ignore[call-arg]
    assert draw_svg(sound.with_parts(changed=[broken])) == draw_svg(sound)


def test_the_text_alternative_tells_every_connection(circuit) -> None:  # type: ignore[no-untyped-def]
    """Each wire is told with its colour in words, size and both ends, and each part by code."""
    text = describe_diagram(circuit)
    for part in circuit.parts:
        line = next(k for k in text.splitlines() if re.match(rf"{re.escape(part.id)}[,.]", k))
        if isinstance(part, Wire):
            assert f"{part.mm2:g} mm²" in line
            ends = line.rsplit(": ", 1)[1].rstrip(".").split(" to ")
            told = {e.replace(" terminal ", ".") for e in ends}
            assert told == {_point(circuit, n) for n in part.nodes}
        elif part.name:
            assert part.name in line


def _point(circuit, node: str) -> str:  # type: ignore[no-untyped-def]
    return "the frame" if node == circuit.reference else node
