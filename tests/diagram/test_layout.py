"""Gates of a drawing: it says what the netlist says, and it can be read.

The checker works from end points, segments and boxes alone; the tests at the end spoil a
good drawing in every way it should notice, so that "no faults" means something.
"""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.base.paths import data_folder
from quizgen.circuit.components import (
    Battery,
    Ground,
    Relay,
    Splice,
)
from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.circuit.template import find_template, load_template, shipped_templates
from quizgen.diagram import drawing_faults, lay_out
from quizgen.diagram.assembly import PaperHand
from quizgen.diagram.drawing import Drawing
from quizgen.diagram.lettering import Words
from quizgen.diagram.pen import Style
from quizgen.diagram.rows import assign_rows
from quizgen.diagram.scheme import make_scheme
from tests.diagram.circuits import any_circuit, lamp_circuit, machine, wire

TEXTBOOK = sorted(
    p
    for p in (Path(__file__).parents[1] / "cases" / "textbook").glob("*.yaml")
    if ".checks" not in p.name
)


def test_a_whole_machine_draws_without_a_fault() -> None:
    """Alternator, starter, flasher, wiper and gauge on one ignition switch with a chart."""
    circuit = machine()
    drawing = lay_out(circuit)
    assert drawing_faults(circuit, drawing) == ()
    place = {p.key: p for p in drawing.placed}
    assert place["GB1"].x == min(p.x for p in drawing.placed if p.part)
    assert place["Q1"].y < place["M1"].y


@pytest.mark.parametrize("name", shipped_templates())
def test_shipped_templates_draw_without_a_fault(name: str) -> None:
    """Netlist equal, nothing pierced, nothing hidden, 7 pt on the page, at random settings.

    The settings are others whenever the file of the template has changed.
    `tests/bench/bench_drawings.py` does the same at twenty settings and counts crossings.
    """
    template = find_template(name)
    rng = random.Random((data_folder("templates") / "circuits" / f"{name}.yaml").read_text("utf-8"))
    for _ in range(3):
        setting = template.draw(rng)
        circuit = template.build(setting)
        assert drawing_faults(circuit, lay_out(circuit)) == (), setting


@pytest.mark.parametrize("path", TEXTBOOK, ids=lambda p: p.stem)
def test_textbook_networks_draw_without_a_fault(path: Path) -> None:
    """Networks of sources and resistors on ideal joints, no wire anywhere, draw as well."""
    circuit = load_template(path).build()
    assert drawing_faults(circuit, lay_out(circuit)) == ()


def test_as_few_crossings_as_are_possible() -> None:
    """Circuits that are planar and series-parallel cross nowhere.

    Two switches each wired to the same two collectors below them cannot avoid one crossing.
    """
    assert lay_out(lamp_circuit()).crossings == 0
    assert lay_out(find_template("push-button-relay").build()).crossings == 0
    assert lay_out(find_template("ground-switched-lamps").build()).crossings == 0


def test_supply_is_above_ground_and_loads_share_a_row() -> None:
    """Reading downwards follows the current: fuse, splice, lamps, ground."""
    drawing = lay_out(lamp_circuit())
    y = {p.key: p.y for p in drawing.placed}
    assert y["F1"] < y["XS1"] < y["E1"] < y["G1"]
    assert y["E1"] == y["E2"]
    assert y["G1"] == y["G2"]
    x = {p.key: p.x for p in drawing.placed}
    assert x["GB1"] < x["E1"] < x["E2"]


def test_a_straight_run_is_drawn_straight() -> None:
    """A chain of parts one below the other has no bend in it."""
    drawing = lay_out(lamp_circuit())
    lines = {k.key: k for k in drawing.lines}
    for name in ("W2", "W3", "W4", "W5", "W7"):
        assert len(lines[name].points) == 2, name


def test_a_relay_that_holds_itself_is_drawn() -> None:
    """A loop through a relay's own contact has no top and bottom, and still draws."""
    parts = (
        Battery(id="GB1", nodes=("GB1.+", CHASSIS), emf_volts=12.6),
        Relay(id="K1", nodes=("K1.86", "K1.85", "K1.30", "K1.87")),
        Splice(id="XS1", nodes=("XS1",)),
        Ground(id="G1", nodes=("G1", CHASSIS)),
        wire("W1", "GB1.+", "K1.30"),
        wire("W2", "K1.87", "XS1"),
        wire("W3", "XS1", "K1.86"),
        wire("W4", "K1.85", "G1"),
    )
    circuit = Circuit(name="hold", title="", system_volts=12, parts=parts)
    assert drawing_faults(circuit, lay_out(circuit)) == ()


def test_hints_of_a_template_turn_a_part() -> None:
    """`layout: {E1: {lying: true}}` lays a lamp across, both leads up."""
    circuit = replace(lamp_circuit(), name="hinted", layout=(("E1", {"lying": True}),))
    symbol = next(
        b.symbol for b in make_scheme(circuit, PaperHand(Style())).blocks if b.key == "E1"
    )
    assert {p.side for p in symbol.ports} == {"top"}


def test_a_column_hint_moves_a_part() -> None:
    """Of two lamps in one row the one with the smaller column stands left, also against number."""
    hints = (("E1", {"column": 2}), ("E2", {"column": 1}))
    circuit = replace(lamp_circuit(), layout=hints)
    x = {p.key: p.x for p in lay_out(circuit).placed}
    assert x["E2"] < x["E1"]
    assert drawing_faults(circuit, lay_out(circuit)) == ()
    plain = {p.key: p.x for p in lay_out(lamp_circuit()).placed}
    assert plain["E1"] < plain["E2"]


@pytest.mark.parametrize("hint", [{"colum": 1}, {"column": "left"}, {"lying": 1}])
def test_a_hint_that_means_nothing_is_refused(hint: dict[str, object]) -> None:
    """The part and the hint are named, rather than drawn as if nothing had been said."""
    with pytest.raises(InputError, match=r"layout of E1: .*(colum|lying)"):
        lay_out(replace(lamp_circuit(), layout=(("E1", hint),)))


def test_the_whole_name_of_a_connector_is_written() -> None:
    """However long it is, no word of it is left out."""
    circuit = find_template("indicators-hazard").build()
    words = " ".join(w.text for w in lay_out(circuit).words if w.about == "X1")
    assert str(circuit.part("X1").name) in words


def test_ground_marks_stand_in_the_last_row() -> None:
    """Whatever the length of the path, ground points are level."""
    circuit = find_template("two-station-motor").build()
    scheme = make_scheme(circuit, PaperHand(Style()))
    rows = assign_rows(scheme, circuit.by_id)
    grounds = {
        rows[i] for i, b in enumerate(scheme.blocks) if b.part.startswith("G") and b.part != "GB1"
    }
    assert grounds == {max(rows)}


# --- any netlist ----------------------------------------------------------------------


@settings(max_examples=25, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(seed=st.integers(0, 10_000))
def test_any_netlist_draws_without_a_fault(seed: int) -> None:
    """Loops, loose ends, shorted parts: all is drawn and can be read back (size apart)."""
    circuit = any_circuit(random.Random(seed))
    faults = [f for f in drawing_faults(circuit, lay_out(circuit)) if "prints at" not in f]
    assert faults == []


# --- the checker notices --------------------------------------------------------------


@pytest.fixture(scope="module")
def good() -> tuple[Circuit, Drawing]:
    """A drawing with nothing wrong."""
    circuit = lamp_circuit()
    drawing = lay_out(circuit)
    assert drawing_faults(circuit, drawing) == ()
    return circuit, drawing


def changed(drawing: Drawing, key: str, points: tuple[tuple[float, float], ...]) -> Drawing:
    """The drawing with one conductor led elsewhere."""
    return replace(
        drawing,
        lines=tuple(replace(k, points=points) if k.key == key else k for k in drawing.lines),
    )


def test_a_wire_that_misses_its_terminal_is_noticed(good: tuple[Circuit, Drawing]) -> None:
    """Half a millimetre is enough."""
    circuit, drawing = good
    line = next(k for k in drawing.lines if k.key == "W1")
    (x, y), *rest = line.points
    assert any(
        "W1" in f for f in drawing_faults(circuit, changed(drawing, "W1", ((x, y + 0.5), *rest)))
    )


def test_a_wire_left_out_or_led_to_the_wrong_part_is_noticed(good: tuple[Circuit, Drawing]) -> None:
    """Both nets that differ are named."""
    circuit, drawing = good
    without = replace(drawing, lines=tuple(k for k in drawing.lines if k.key != "W3"))
    assert any("not drawn" in f and "W3" in f for f in drawing_faults(circuit, without))
    by_key = {k.key: k for k in drawing.lines}
    swapped = changed(changed(drawing, "W3", by_key["W4"].points), "W4", by_key["W3"].points)
    assert any("E1.1" in f for f in drawing_faults(circuit, swapped))


def test_a_wire_through_a_symbol_is_noticed(good: tuple[Circuit, Drawing]) -> None:
    """A wire led across a lamp is named together with the lamp."""
    circuit, drawing = good
    lamp = next(p for p in drawing.placed if p.key == "E1")
    y = lamp.y + lamp.symbol.height / 2
    faults = drawing_faults(circuit, changed(drawing, "W7", ((0.0, y), (40.0, y))))
    assert "W7 runs through E1" in faults


def test_words_on_words_and_on_wires_are_noticed(good: tuple[Circuit, Drawing]) -> None:
    """A label moved onto another label, or onto a foreign wire."""
    circuit, drawing = good
    first, second, *rest = drawing.labels
    moved = replace(drawing, labels=(replace(first, x=second.x, y=second.y), second, *rest))
    assert any("lies on" in f and first.about in f for f in drawing_faults(circuit, moved))
    line = next(k for k in drawing.lines if k.key == "W7")
    (x, y0), (_, y1) = line.points[-2:]
    moved = replace(drawing, labels=(replace(first, x=x - 2, y=(y0 + y1) / 2), second, *rest))
    assert any(f.endswith("lies on W7") for f in drawing_faults(circuit, moved))


def test_words_on_a_lead_are_noticed(good: tuple[Circuit, Drawing]) -> None:
    """A flag that runs over the next lead of its own symbol, and a wire over a pennant."""
    circuit, drawing = good
    lamp = next(p for p in drawing.placed if p.key == "E1")
    flag = Words("live", -2.0, 2.2, 2.6)
    symbol = replace(lamp.symbol, words=(*lamp.symbol.words, flag))
    moved = tuple(replace(lamp, symbol=symbol) if p is lamp else p for p in drawing.placed)
    faults = drawing_faults(circuit, replace(drawing, placed=moved))
    assert "'live' of E1 lies on a stroke of E1" in faults
    battery = next(p for p in drawing.placed if p.key == "GB1")
    y = battery.y + battery.symbol.fills[0].y + 1.3
    faults = drawing_faults(circuit, changed(drawing, "W7", ((0.0, y), (40.0, y))))
    assert "W7 runs over a sign of GB1" in faults


def test_small_print_is_noticed(good: tuple[Circuit, Drawing]) -> None:
    """A figure three times as tall as the page would print at a third of the size."""
    circuit, drawing = good
    tall = replace(drawing, height=600.0)
    assert any("prints at" in f for f in drawing_faults(circuit, tall))


def test_wires_on_each_other_are_noticed(good: tuple[Circuit, Drawing]) -> None:
    """Two wires along one line could not be told apart."""
    circuit, drawing = good
    w3 = next(k for k in drawing.lines if k.key == "W3")
    (x0, y0), (x1, y1) = w3.points
    spoilt = changed(drawing, "W7", ((x0 + 0.3, y0 + 1), (x1 + 0.3, y1 - 1)))
    assert any("lie on each other" in f for f in drawing_faults(circuit, spoilt))
