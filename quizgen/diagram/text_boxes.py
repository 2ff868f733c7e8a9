"""Symbols in characters of parts with more terminals: a box with the numbers in its edges.

Inside, double lines are what the part joins at rest, `o` is an open contact, `/` a contact that
is open and would close. A switch with several positions is a chart: a column per terminal, a
row per position, `>` at the one in which it is drawn and everything else in the diagram rests.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from quizgen.circuit.components import (
    Alternator,
    Contact,
    Flasher,
    Part,
    Relay,
    ResistorPack,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)
from quizgen.diagram.characters import Sketch, TextSymbol
from quizgen.diagram.chart import joined
from quizgen.diagram.contacts import poles_of, relay_pole
from quizgen.diagram.symbols import Side
from quizgen.diagram.text_pairs import contact
from quizgen.diagram.view import View, number

ACTUATORS = {  # what moves a contact, by the style of its switch, and in words
    "toggle": ("==", "moved by hand"),
    "rotary": ("==", "moved by hand"),
    "push": ("E=", "pushed by hand"),
    "pressure": ("p=", "moved by pressure"),
    "temperature": ("t=", "moved by temperature"),
    "level": ("o=", "moved by a level"),
    "door": ("d=", "moved by a door"),
}


@dataclass
class _Box:
    """A box under construction: pins in its edges, signs inside (line 0 is the first inside)."""

    rows: int
    pins: list[tuple[str, Side, int]] = field(default_factory=list)
    signs: list[tuple[int, int, str]] = field(default_factory=list)

    def pin(self, terminal: str, side: Side, x: int) -> None:
        self.pins.append((terminal, side, x))

    def sign(self, x: int, row: int, text: str) -> None:
        self.signs.append((x, row, text))

    def symbol(self, label: tuple[str, ...]) -> TextSymbol:
        starts = {pin: pin[2] - (len(pin[0]) - 1) // 2 for pin in self.pins}
        left = min([*starts.values(), *(x for x, _, _ in self.signs)]) - 2
        right = 2 + max(
            *(start + len(pin[0]) - 1 for pin, start in starts.items()),
            *(x + len(text) - 1 for x, _, text in self.signs),
        )
        rows = max(self.rows, len(label) - 2)
        lead = 1  # above the box is room for leads and labels of wires, used or not
        sketch = Sketch(height=rows + 2 + lead)
        wide = right - left - 1
        edges = {"top": list("╔" + "═" * wide + "╗"), "bottom": list("╚" + "═" * wide + "╝")}
        for (terminal, side, x), start in starts.items():
            edges[side][start - left : start - left + len(terminal)] = terminal
            sketch.port(terminal, side, x)
            if side == "bottom":
                sketch.signs.pop()  # the number in the edge is where the lead begins
        sketch.sign(left, lead, "".join(edges["top"]))
        for row in range(rows):
            inside = [" "] * wide
            for x, at, text in self.signs:
                if at == row:
                    inside[x - left - 1 : x - left - 1 + len(text)] = text
            sketch.sign(left, lead + 1 + row, "║" + "".join(inside) + "║")
        sketch.sign(left, lead + 1 + rows, "".join(edges["bottom"]))
        sketch.label(label, lead + (1 if len(label) <= rows else 0))
        return sketch.symbol()


def single(part: Part) -> bool:
    """Whether a part is a switch with one contact and two positions."""
    return (
        isinstance(part, Switch)
        and len(part.pins) == len(part.positions) == 2
        and bool(poles_of(part, 0))
    )


def switch(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """One contact by its sign, everything else as a chart."""
    assert isinstance(part, Switch)
    if single(part):
        (pole,) = poles_of(part, view.rest) or ()
        if view.leaning[pole.common] != view.leaning[pole.throws[0]]:
            top, bottom = sorted(part.pins, key=lambda pin: view.leaning[pin] != "top")
            sign = "║" if pole.closed else "/"
            return contact(top, bottom, ACTUATORS[part.style][0] + sign, label)
    return _chart(part, view, label, pitch)


def _chart(part: Switch, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    pins = part.pins[::-1] if view.mirrored else part.pins
    places = {pin: i * pitch for i, pin in enumerate(pins)}
    names = max(map(len, part.positions))
    box = _Box(0)
    for pin, x in places.items():
        box.pin(pin, view.leaning[pin], x)
    for i, (position, contacts) in enumerate(zip(part.positions, part.closes, strict=True)):
        box.sign(-names - 3, box.rows, ("►" if i == view.rest else " ") + position)
        for line in _lines(contacts, pins):
            for x in places.values():
                box.sign(x, box.rows, "·")
            for group in line:
                at = [places[pin] for pin in group]
                box.sign(at[0], box.rows, "═" * (at[-1] - at[0]))
                for x in at:
                    box.sign(x, box.rows, "o")
            box.rows += 1
    return box.symbol(label)


def _lines(contacts: tuple[Contact, ...], pins: tuple[str, ...]) -> list[list[tuple[str, ...]]]:
    """Groups of joined terminals, in as many lines as keep them off each other."""
    lines: list[list[tuple[str, ...]]] = [[]]
    for group in joined(contacts, pins):
        start = pins.index(group[0])
        free = (k for k in lines if all(pins.index(g[-1]) < start for g in k))
        line = next(free, None)
        if line is None:
            lines.append([group])
        else:
            line.append(group)
    return lines


def relay(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """Coil and contact at rest; the letter in the coil says what quenches it, or a timer."""
    assert isinstance(part, Relay)
    letter = "T" if part.timer else {"diode": "D", "resistor": "R"}.get(part.suppression, " ")
    pole = relay_pole(part)
    side = view.leaning
    shared = pole.closed or (pole.throws[0] if len(pole.throws) == 1 else "")
    if shared and side[shared] == side[pole.common]:
        shared = ""
    columns = [[pole.common, shared] if shared else [pole.common]]
    columns += [[t] for t in pole.throws if t != shared]
    box = _Box(1)
    order = [["86", "85"], *columns]
    places: dict[str, int] = {}
    for i, column in enumerate(order[::-1] if view.mirrored else order):
        for terminal in column:
            places[terminal] = i * pitch
            box.pin(terminal, side[terminal], i * pitch)
    coil, common = places["86"], places[pole.common]
    first, last = sorted((coil + (2 if coil < common else -2), common))
    for x in range(first + 1, last):
        box.sign(x, 0, "·")
    box.sign(coil - 1, 0, f"[{letter}]")
    for throw in pole.throws:
        if throw not in (shared, pole.closed):
            box.sign(places[throw], 0, "o")
    _joined_at_rest(box, pole.common, pole.closed, places, side)
    if not pole.closed:
        box.sign(common, 0, "/")
    return box.symbol(label)


def _joined_at_rest(
    box: _Box, common: str, closed: str, places: dict[str, int], side: Mapping[str, Side]
) -> None:
    """The double line from the common terminal to the throw that it rests on."""
    if not closed:
        return
    a, b = sorted((places[common], places[closed]))
    if a == b:
        box.sign(a, 0, "║")
        return
    ends = {}
    for terminal in (common, closed):
        up = side[terminal] == "top"
        at_left = places[terminal] == a
        ends[at_left] = ("╚" if at_left else "╝") if up else ("╔" if at_left else "╗")
    box.sign(a, 0, ends[True] + "═" * (b - a - 1) + ends[False])


def starter_solenoid(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """Hold-in winding 50 to case, pull-in winding 50 to 45, contact 30 to 45."""
    assert isinstance(part, StarterSolenoid)
    box = _Box(3)
    way = -1 if view.mirrored else 1
    pull, far = 5 * way, max(pitch, 10) * way
    for terminal, side, x in _SOLENOID:
        box.pin(terminal, side, far if x else 0)
    a, b = sorted((0, pull))
    box.sign(a, 0, ("╠" if way > 0 else "╔") + "═" * (b - a - 1) + ("╗" if way > 0 else "╣"))
    for x, letter in ((0, "H"), (pull, "P")):
        box.sign(x - 1, 1, f"[{letter}]")
    box.sign(0, 2, "║")
    a, b = sorted((pull, far))
    box.sign(a, 2, ("╚" if way > 0 else "╠") + "═" * (b - a - 1) + ("╣" if way > 0 else "╝"))
    box.sign(far, 0, "║")
    box.sign(far, 1, "/")
    return box.symbol(label)


_SOLENOID: tuple[tuple[str, Side, int], ...] = (
    ("50", "top", 0), ("31", "bottom", 0), ("30", "top", 1), ("45", "bottom", 1),
)  # fmt: skip


def flasher(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """A contact that pulses."""
    assert isinstance(part, Flasher)
    box = _Box(1)
    box.pin("49", "top", 0)
    box.pin("49a", "bottom", 0)
    box.sign(-2, 0, "_n_n_")
    if "31" in part.terminals:
        box.pin("31", "bottom", -pitch if view.mirrored else pitch)
    return box.symbol(label)


def machine(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """A ring with a letter: several leads from above, one below."""
    assert isinstance(part, Alternator | TwoSpeedMotor)
    box = _Box(1)
    tops = [t for t in part.terminals if view.leaning[t] == "top"]
    home = part.terminals[0]
    for i, terminal in enumerate(tops[::-1] if view.mirrored else tops):
        box.pin(terminal, "top", i * pitch)
        if terminal == home:
            box.pin("31", "bottom", i * pitch)
            box.sign(i * pitch - 1, 0, "(G)" if isinstance(part, Alternator) else "(M)")
    return box.symbol(label)


def resistor_pack(part: Part, view: View, label: tuple[str, ...], pitch: int) -> TextSymbol:
    """Resistors in a row, a terminal between each two."""
    assert isinstance(part, ResistorPack)
    ohms = part.ohms[::-1] if view.mirrored else part.ohms
    pitch = max(pitch, *(len(number(ohm)) + 8 for ohm in ohms))
    box = _Box(1)
    for i, tap in enumerate(part.terminals[::-1] if view.mirrored else part.terminals):
        for side in sorted(view.sides[tap] or {view.leaning[tap]}):
            box.pin(tap, side, i * pitch)
        if i < len(ohms):
            box.sign(i * pitch, 0, "═" * pitch)
            text = f"[{number(ohms[i])} Ω]"
            box.sign(i * pitch + (pitch - len(text)) // 2 + 1, 0, text)
        box.sign(i * pitch, 0, "o")
    return box.symbol(label)
