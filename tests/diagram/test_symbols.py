"""Symbols and lettering."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from quizgen.circuit.components import KINDS, Relay, Wire
from quizgen.diagram.assembly import MAKERS, View, make_symbol
from quizgen.diagram.describe import KIND_NAMES
from quizgen.diagram.lettering import text_width, wrap
from quizgen.diagram.pen import Style
from quizgen.diagram.svg import PAINT
from quizgen.diagram.symbols import GLYPHS, turn

FONTS = sorted(Path("/usr/share/fonts").rglob("LiberationSans-Regular.ttf"))


def test_every_component_class_has_a_symbol() -> None:
    """Each kind but the wire, which is a line, has a maker and a name in words."""
    assert set(MAKERS) | {Wire} == set(KINDS.values())
    assert set(KIND_NAMES) | {"wire"} == set(KINDS)


def test_every_iec_60757_colour_can_be_painted() -> None:
    """The twelve letter codes of IEC 60757 that the project uses (from memory) have a shade."""
    assert set(PAINT) == {
        "BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ",
    }  # fmt: skip


@pytest.mark.parametrize("glyph", GLYPHS.values(), ids=[c.__name__ for c in GLYPHS])
def test_a_glyph_turned_twice_is_itself(glyph: object) -> None:
    """Mirroring and laying on the side are their own inverses, whatever commands a path has."""
    for stroke in glyph.lines + glyph.fills:  # type: ignore[attr-defined]
        plain = turn(stroke.path)
        assert turn(turn(stroke.path, mirror=True), mirror=True) == plain
        assert turn(turn(stroke.path, swap=True), swap=True) == plain


def test_a_path_uses_relative_commands_only() -> None:
    """A capital command would put a stroke at the page's corner instead of at its part."""
    for glyph in GLYPHS.values():
        for stroke in glyph.lines + glyph.fills:
            assert re.fullmatch(r"[a-z0-9 .\-]+", stroke.path), stroke.path


@pytest.mark.skipif(not FONTS, reason="Liberation Sans is not installed")
def test_widths_are_not_below_those_of_a_real_font() -> None:
    """No text comes out wider in Liberation Sans than estimated, or labels would collide."""
    font = TTFont(FONTS[0])
    names, advances = font.getBestCmap(), font["hmtx"]
    per_em = font["head"].unitsPerEm
    for text in (
        "W12 RDBU 2.5",
        "WWW MMM",
        "high-speed fuse",
        "87a",
        "0.45 Ω",
        "live at all times",
    ):
        real = sum(advances[names[ord(c)]][0] for c in text) / per_em
        assert text_width(text, 1.0) >= real
        assert text_width(text, 1.0) <= real * 1.2  # and not so wide that room is wasted


def test_wrap_keeps_words_whole_and_lines_short() -> None:
    """Lines break between words, and a word longer than the line stands alone."""
    lines = wrap("switch of the windshieldwashernozzle heater", 12.0, 2.6)
    assert " ".join(lines) == "switch of the windshieldwashernozzle heater"
    assert all(text_width(line, 2.6) <= 12.0 or " " not in line for line in lines)


def test_a_relay_shows_its_contact_at_rest() -> None:
    """A changeover relay at rest touches 87a, so the lever ends nearer 87a than 87."""
    relay = Relay(id="K1", nodes=("a", "b", "c", "d", "e"), contact="changeover")
    sides = {"86": "top", "85": "bottom", "30": "top", "87": "bottom", "87a": "bottom"}
    view = View({t: frozenset({s}) for t, s in sides.items()}, sides)  # type: ignore[misc, arg-type]
    symbol = make_symbol(relay, view, Style())
    lever = next(s for s in symbol.lines if re.fullmatch(r"l-?[\d.]+ -?[\d.]+", s.path))
    dx = float(lever.path[1:].split()[0])
    ports = {p.terminal: p.x for p in symbol.ports}
    assert ports["87"] == lever.x < lever.x + dx < ports["87a"]


def test_a_timer_relay_is_marked_as_slow_to_release() -> None:
    """One end of its coil is filled, as IEC 60617 has it (from memory); a plain one's is not."""
    sides = {"86": "top", "85": "bottom", "30": "top", "87": "bottom"}
    view = View({t: frozenset({s}) for t, s in sides.items()}, sides)  # type: ignore[misc, arg-type]
    plain = Relay(id="K1", nodes=("a", "b", "c", "d"))
    timed = Relay(id="K1", nodes=("a", "b", "c", "d"), timer="after-run")
    assert not make_symbol(plain, view, Style()).fills
    assert len(make_symbol(timed, view, Style()).fills) == 1
