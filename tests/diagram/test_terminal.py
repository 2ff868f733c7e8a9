"""Drawings in characters: they say what the netlist says, and no line is too long.

The reader follows characters alone. The tests at the end spoil good drawings, one character at
a time, so that "no faults" means something.
"""

from __future__ import annotations

import random
import re
from dataclasses import replace
from functools import lru_cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.circuit.components import Contact, Lamp, Part, Switch, Wire
from quizgen.circuit.netlist import CHASSIS, Circuit, Control
from quizgen.circuit.template import find_template, load_template, shipped_templates
from quizgen.diagram import terminal
from quizgen.diagram.characters import BOX_ARMS
from quizgen.diagram.terminal import TextDrawing, draw_text
from quizgen.diagram.text_check import text_faults
from tests.diagram.circuits import any_circuit, lamp_circuit, machine, wire
from tests.diagram.test_layout import TEXTBOOK


@lru_cache(maxsize=64)
def settings_of(name: str) -> tuple[Circuit, ...]:
    """A shipped circuit at its defaults and at one random setting."""
    template = find_template(name)
    return template.build(), template.build(template.draw(random.Random(name)))


def drawings(circuit: Circuit) -> list[tuple[int, TextDrawing]]:
    """A circuit at both widths and in both sets of characters."""
    return [
        (columns, draw_text(circuit, columns, ascii_only=plain))
        for columns in (80, 120)
        for plain in (False, True)
    ]


@pytest.mark.parametrize("name", shipped_templates())
def test_shipped_circuits_read_back_as_their_netlist(name: str) -> None:
    """At 80 and 120 columns, in box characters and in ASCII; nothing is cut off or wider.

    `tests/bench/bench_drawings.py` does the same at twenty settings.
    """
    for circuit in settings_of(name):
        for columns, drawing in drawings(circuit):
            assert text_faults(circuit, drawing) == ()
            assert max(map(len, drawing.page)) <= columns


@pytest.mark.parametrize("name", shipped_templates())
def test_every_part_and_wire_is_named_in_the_drawing(name: str) -> None:
    """However narrow: a part by its code, a wire by its code right beside it; and in the lists."""
    circuit = settings_of(name)[0]
    drawing = draw_text(circuit, 80)
    words = " ".join(drawing.lines).replace("│", " ").replace("●", " ").split()
    codes = {p.id for p in circuit.parts}
    assert codes <= set(words)
    assert {p.id for p in circuit.parts if isinstance(p, Wire)} == {t.wire for t in drawing.tags}
    for tag in drawing.tags:
        assert drawing.lines[tag.line][tag.column :].startswith(tag.wire)
        assert drawing.lines[tag.line][tag.column - 1] == "│"
    assert codes <= set(" ".join((*drawing.parts, *drawing.wires)).split())


@pytest.mark.parametrize("name", shipped_templates())
def test_reading_begins_at_the_supply(name: str) -> None:
    """The battery is at the top left: no other part's feed stands left of it in its row."""
    drawing = draw_text(settings_of(name)[0], 80)
    battery = next(p for p in drawing.pins if p.name == "GB1.+")
    assert not [p for p in drawing.pins if p.line == battery.line and p.column < battery.column]


@pytest.mark.parametrize("path", TEXTBOOK, ids=lambda p: p.stem)
def test_textbook_networks_read_back_as_their_netlist(path: str) -> None:
    """Networks of sources and resistors, where depth says little."""
    circuit = load_template(path).build()
    for columns, drawing in drawings(circuit):
        assert text_faults(circuit, drawing) == ()
        assert max(map(len, drawing.lines)) <= columns


def test_a_whole_machine_reads_back_as_its_netlist() -> None:
    """Every kind with a box of its own."""
    for columns, drawing in drawings(machine()):
        assert text_faults(machine(), drawing) == ()
        assert max(map(len, drawing.lines)) <= columns


@settings(max_examples=20, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(seed=st.integers(0, 10_000), columns=st.integers(60, 140), plain=st.booleans())
def test_any_netlist_reads_back_at_any_width(seed: int, columns: int, plain: bool) -> None:
    """Loops, loose ends, shorted parts, terminals that nothing is connected to."""
    circuit = any_circuit(random.Random(seed))
    drawing = draw_text(circuit, columns, ascii_only=plain)
    assert text_faults(circuit, drawing) == ()
    assert max(map(len, drawing.lines)) <= columns


# --- what a reader relies on ----------------------------------------------------------


def line_of(drawing: TextDrawing, name: str) -> int:
    """The line at which a terminal is."""
    return next(p.line for p in drawing.pins if p.name == name)


def test_supply_is_above_ground_and_loads_share_a_row() -> None:
    """Down the page as the current runs; both lamps level, each in its own column."""
    drawing = draw_text(lamp_circuit())
    order = ["GB1.+", "F1.1", "F1.2", "XS1.1", "E1.1", "E1.2", "G1.1"]
    lines = [line_of(drawing, name) for name in order]
    assert lines == sorted(lines)
    assert line_of(drawing, "E1.1") == line_of(drawing, "E2.1")


def lamp_and_switch(rest: str) -> Circuit:
    """A lamp behind a switch that rests in `rest`."""
    parts: list[Part] = [
        *(p for p in lamp_circuit().parts if p.id in ("GB1", "F1", "G1", "G2", "W1", "W7")),
        Switch(
            id="S1", nodes=("S1.1", "S1.2"), pins=("1", "2"), positions=("off", "on"),
            closes=((), (Contact(a="1", b="2"),)), control="S1",
        ),
        Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=5, volts=13.5),
        wire("W2", "F1.2", "S1.1"),
        wire("W3", "S1.2", "E1.1"),
        wire("W4", "E1.2", "G1"),
    ]  # fmt: skip
    controls = (Control(name="S1", positions=("off", "on"), rest=rest),)
    return Circuit(
        name="switched", title="", system_volts=12, parts=tuple(parts), controls=controls
    )


@pytest.mark.parametrize(("rest", "sign"), [("off", "/ S1"), ("on", "║ S1")])
def test_a_switch_is_drawn_at_rest(rest: str, sign: str) -> None:
    """Open or closed as the circuit stands when nobody touches it."""
    assert any(sign in line for line in draw_text(lamp_and_switch(rest)).lines)


def test_what_is_live_when_is_said_however_narrow() -> None:
    """Beside the part where there is room, and in the list of parts in any case."""
    circuit = find_template("trailer-socket").build()
    for columns in (60, 120):
        drawing = draw_text(circuit, columns)
        battery = next(line for line in drawing.parts if line.startswith("GB1 "))
        assert "+ live at all times" in battery
    assert any("► + live at all times" in line for line in draw_text(circuit, 120).lines)


def test_more_room_says_more() -> None:
    """Labels that are shortened at 80 columns are whole at 120; the list has them in any case."""
    circuit = find_template("trailer-socket").build()
    whole = {p.id: f"{p.id} {p.colour} {p.mm2:g}" for p in circuit.parts if isinstance(p, Wire)}
    wide, narrow = (
        {code for code, text in whole.items() if any(t.text == text for t in drawing.words)}
        for drawing in (draw_text(circuit, 120), draw_text(circuit, 80))
    )
    assert narrow < wide
    told = next(line for line in draw_text(circuit, 80).wires if line.startswith("W41 "))
    assert told.split()[1:5] == ["X1.1b", "E1.1", "YE", "yellow"]


def test_a_row_that_is_too_wide_is_folded() -> None:
    """Nine lamps side by side do not fit 60 columns: they take more than one row, all whole."""
    circuit = find_template("trailer-socket").build()
    lamps = [f"{p.id}.1" for p in circuit.parts if isinstance(p, Lamp)]
    wide, narrow = (draw_text(circuit, n) for n in (80, 60))
    assert len({line_of(wide, name) for name in lamps}) == 1
    assert len({line_of(narrow, name) for name in lamps}) > 1
    assert max(map(len, narrow.lines)) <= 60
    assert text_faults(circuit, narrow) == ()


def many_lamps(count: int) -> Circuit:
    """Lamps side by side on one splice, each with a ground of its own wire."""
    parts = [p for p in lamp_circuit().parts if p.id in ("GB1", "F1", "XS1", "G1", "G2")]
    parts += [p for p in lamp_circuit().parts if p.id in ("W1", "W2", "W7")]
    for k in range(count):
        parts += [
            Lamp(id=f"E{k}", nodes=(f"E{k}.1", f"E{k}.2"), watts=5, volts=13.5),
            wire(f"W1{k:02}", "XS1", f"E{k}.1"),
            wire(f"W2{k:02}", f"E{k}.2", "G1"),
        ]
    return Circuit(name="many", title="", system_volts=12, parts=tuple(parts))


def test_what_cannot_fit_is_said_and_not_cut() -> None:
    """Twenty lamps on one splice are folded into 80 columns; forty do not go into 60 at all."""
    circuit = many_lamps(20)
    drawing = draw_text(circuit, 80)
    assert max(map(len, drawing.lines)) <= 80
    assert text_faults(circuit, drawing) == ()
    with pytest.raises(InputError, match=r"^many: .* 60 columns; ask for more$"):
        draw_text(many_lamps(40), 60)


def test_too_few_columns_are_refused() -> None:
    """Below 60 no diagram is attempted."""
    with pytest.raises(InputError, match=r"59 columns: .* 60 or more"):
        draw_text(lamp_circuit(), 59)


def test_ascii_is_the_same_drawing_in_other_characters() -> None:
    """Seven bits, every character in its place, lists included."""
    circuit = find_template("starter").build()
    boxed, plain = draw_text(circuit), draw_text(circuit, ascii_only=True)
    assert "".join(plain.page).isascii()
    assert [len(line) for line in plain.page] == [len(line) for line in boxed.page]


def test_a_drawing_repeats() -> None:
    """The same characters whatever was drawn in between."""
    circuit = find_template("headlamps").build()
    first = draw_text(circuit).page
    terminal._drawn.cache_clear()
    terminal._plan.cache_clear()
    assert draw_text(circuit).page == first


def test_hints_of_a_template_count_here_too() -> None:
    """Of two lamps in one row the one with the smaller column stands left, against number."""
    hints = (("E1", {"column": 2}), ("E2", {"column": 1}))
    drawing = draw_text(replace(lamp_circuit(), layout=hints))
    column = {p.name: p.column for p in drawing.pins}
    assert column["E2.1"] < column["E1.1"]


@pytest.mark.parametrize("name", shipped_templates())
def test_every_sign_is_explained(name: str) -> None:
    """What stands in brackets or left of a contact in the drawing stands in the list of signs."""
    circuit = settings_of(name)[0]
    drawing = draw_text(circuit)
    told = " ".join(drawing.signs)
    signs = {
        sign
        for word in drawing.words
        for sign in re.findall(r"^[\[({].[\])}]$|^\w=(?=[/║])|^═+$|^[●/║]$|_n_n_", word.text)
    }
    assert {"═════", "═══"} <= signs
    assert {sign for sign in signs if sign not in told and sign != "═"} == set()


def test_names_cannot_steer_the_terminal() -> None:
    """A name with an escape sequence in it is shown, not obeyed."""
    parts = (replace(p, name="lamp\x1b[2J") if p.id == "E1" else p for p in lamp_circuit().parts)
    page = draw_text(replace(lamp_circuit(), parts=tuple(parts))).page
    assert all(line.isprintable() for line in page)
    assert any("lamp?[2J" in line for line in page)


# --- the reader notices ---------------------------------------------------------------


def spoilt(drawing: TextDrawing, line: int, column: int, letter: str) -> TextDrawing:
    """The drawing with one other character."""
    text = drawing.lines[line]
    text = text[:column] + letter + text[column + 1 :]
    return replace(drawing, lines=(*drawing.lines[:line], text, *drawing.lines[line + 1 :]))


@pytest.fixture(scope="module")
def good() -> tuple[Circuit, TextDrawing]:
    """A drawing with joints and crossings, and nothing wrong."""
    circuit = find_template("trailer-socket").build()
    drawing = draw_text(circuit)
    assert text_faults(circuit, drawing) == ()
    return circuit, drawing


def conductors(drawing: TextDrawing) -> list[tuple[int, int]]:
    """Where conductors are, signs and words of parts apart."""
    taken = {(t.y, t.x + k) for t in drawing.words for k in range(len(t.text))}
    return [
        (y, x)
        for y, line in enumerate(drawing.lines)
        for x, letter in enumerate(line)
        if letter in BOX_ARMS and (y, x) not in taken
    ]


def test_a_wire_cut_anywhere_is_noticed(good: tuple[Circuit, TextDrawing]) -> None:
    """One character taken out of any conductor, at every place that a wire passes."""
    circuit, drawing = good
    places = conductors(drawing)
    for line, column in places[:: max(1, len(places) // 40)]:
        assert text_faults(circuit, spoilt(drawing, line, column, " ")), (line, column)


def test_a_crossing_made_a_joint_is_noticed(good: tuple[Circuit, TextDrawing]) -> None:
    """Every place where a level conductor passes behind an upright one."""
    circuit, drawing = good
    crossings = [
        (y, x)
        for y, x in conductors(drawing)
        if drawing.lines[y][x - 1 : x + 2] in ("─│─", "┐│─", "─│┌", "└│─", "─│┘")
    ]
    assert crossings
    for line, column in crossings:
        faults = text_faults(circuit, spoilt(drawing, line, column, "┼"))
        assert any(f.startswith("drawn but not there") for f in faults)


def test_a_joint_made_a_crossing_is_noticed(good: tuple[Circuit, TextDrawing]) -> None:
    """Every place where three conductors or more meet."""
    circuit, drawing = good
    joints = [(y, x) for y, x in conductors(drawing) if drawing.lines[y][x] in "├┤┬┴┼"]
    assert joints
    for line, column in joints:
        for letter in "│─":
            assert text_faults(circuit, spoilt(drawing, line, column, letter))


def test_exchanged_codes_of_wires_are_noticed() -> None:
    """Two wires that bear each other's code."""
    circuit = lamp_circuit()
    drawing = draw_text(circuit)
    other = {"W3": "W4", "W4": "W3"}
    tags = tuple(replace(t, wire=other.get(t.wire, t.wire)) for t in drawing.tags)
    faults = text_faults(circuit, replace(drawing, tags=tags))
    assert any("E1.1" in f for f in faults)
    assert any("E2.1" in f for f in faults)


def test_words_written_over_are_noticed(good: tuple[Circuit, TextDrawing]) -> None:
    """A letter lost from a name, and a stray one in an empty place."""
    circuit, drawing = good
    word = next(t for t in drawing.words if t.text == "flasher unit")
    assert any("written over" in f for f in text_faults(
        circuit, spoilt(drawing, word.y, word.x, "│")))  # fmt: skip
    bare = spoilt(drawing, len(drawing.lines) - 1, 0, "x")
    assert any("stray 'x'" in f for f in text_faults(circuit, bare))


def test_a_wire_cut_in_ascii_is_noticed() -> None:
    """The plain characters are read as strictly."""
    circuit = lamp_circuit()
    drawing = draw_text(circuit, ascii_only=True)
    boxed = draw_text(circuit)
    for line, column in conductors(boxed):
        assert text_faults(circuit, spoilt(drawing, line, column, " ")), (line, column)


def test_the_frame_is_told_from_an_open_end() -> None:
    """A wire led to the chassis without a stud ends at the mark of the frame."""
    circuit = lamp_circuit()
    parts = [p for p in circuit.parts if p.id not in ("G1", "W5", "W6")]
    parts += [wire("W5", "E1.2", CHASSIS, "BK"), wire("W6", "E2.2", "loose", "BK")]
    circuit = replace(circuit, parts=tuple(parts))
    drawing = draw_text(circuit)
    assert text_faults(circuit, drawing) == ()
    assert sum(line.count("///") for line in drawing.lines) == 1
