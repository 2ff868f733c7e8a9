"""The legend names what the form uses and nothing else."""

from __future__ import annotations

import base64
import dataclasses
import re

import pytest

from quizgen.circuit.components import (
    Alternator,
    Bridge,
    Flasher,
    Ground,
    Lamp,
    LedLamp,
    ResistorPack,
    StarterSolenoid,
    TwoSpeedMotor,
    Wire,
)
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.items.item import Origin
from quizgen.publish.circuit_figures import sound_figure
from quizgen.publish.html import workbook_html
from quizgen.publish.legend import legend_of
from quizgen.publish.page_options import PageOptions
from quizgen.publish.symbol_pictures import symbol_keys, symbol_name
from quizgen.publish.view import Figure
from tests.publish.samples import drawing, problem, workbook


def figure(colours: tuple[str, ...], symbols: tuple[str, ...]) -> Figure:
    """A figure that says what it uses."""
    return dataclasses.replace(drawing(), colours=colours, symbols=symbols)


def test_only_what_occurs_in_some_figure_is_explained() -> None:
    """Colours in the order of IEC 60757, symbols each once, whatever figure they come from."""
    book = workbook(
        problem(1, figure(("RD", "WH"), ("lamp",))),
        problem(2, figure(("BK", "RD"), ("fuse", "lamp"))),
    )
    legend = legend_of(book)
    assert legend.colours == (("BK", "black"), ("RD", "red"), ("WH", "white"))
    assert [key.name for key in legend.symbols] == ["fuse", "lamp"]


def test_a_form_without_figures_has_no_legend_of_diagrams() -> None:
    """No heading over nothing."""
    html = workbook_html(workbook(problem(1)), PageOptions())
    assert "Reading the diagrams" not in html
    assert "Wire colours" not in html


def test_instruments_are_those_that_the_questions_mention() -> None:
    """Text of stem, question, readings and options counts; the two test lamps are kept apart."""
    plain = dataclasses.replace(problem(readings=None), stem=("x",), question="y")
    one = dataclasses.replace(plain, question="What does a self-powered test lamp do?")
    assert [words.split(":")[0] for words in legend_of(workbook(one)).instruments] == [
        "Self-powered test lamp"
    ]
    two = dataclasses.replace(plain, stem=("A test lamp from F1, then an ohmmeter.",))
    assert [words.split(":")[0] for words in legend_of(workbook(two)).instruments] == [
        "Test lamp", "Ohmmeter",
    ]  # fmt: skip
    assert legend_of(workbook(plain)).instruments == ()


def test_a_symbol_stays_inside_its_picture() -> None:
    """No stroke of a symbol begins outside of the picture's box."""
    book = workbook(problem(1, figure((), tuple(_all_names()))))
    keys = legend_of(book).symbols
    assert len(keys) == len(_all_names())
    for key in keys:
        svg = base64.b64decode(key.address.split(",")[1]).decode()
        starts = re.findall(r"M([-0-9.]+) ([-0-9.]+)", svg)
        assert all(0 <= float(x) <= key.width for x, _ in starts), key.name
        assert all(0 <= float(y) <= key.height for _, y in starts), key.name


def test_names_of_symbols_are_words() -> None:
    """Trade words, not names of classes; parts drawn as boxes have none."""
    assert symbol_name(Lamp) == "lamp"
    assert symbol_name(LedLamp) == "LED lamp"
    assert symbol_name(Ground) == "ground point"
    assert symbol_name(Alternator) == ""


@pytest.mark.parametrize("name", shipped_templates())
def test_every_symbol_of_a_shipped_circuit_is_in_the_legend(name: str) -> None:
    """All parts but wires are explained, or are boxes with their names beside them; so are the
    relays, switches, ground points, connectors and splices that stand in most diagrams."""
    figure = sound_figure(Origin(template=name, parameters=(), positions=(), fault=""))
    explained = {key.name for key in legend_of(workbook(problem(1, figure))).symbols}
    parts = {type(part) for part in find_template(name).build().parts}
    boxes = (Alternator, Flasher, ResistorPack, StarterSolenoid, TwoSpeedMotor)
    for part in parts - {Wire, Bridge, *boxes}:
        assert symbol_name(part) in explained, part
    assert explained <= {key.name for key in symbol_keys()}


def _all_names() -> list[str]:
    return ["battery", "fuse", "fusible link", "breaker", "resistor", "sender", "lamp", "LED lamp",
            "gauge", "motor", "heater", "solenoid", "horn", "diode", "switch", "relay",
            "connector", "splice", "ground point"]  # fmt: skip
