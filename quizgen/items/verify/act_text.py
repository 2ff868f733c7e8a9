"""An act as an option tells it, held against the circuit: instrument, points, what is off."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit.netlist import Circuit
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.item import Item
from quizgen.items.verify.words import moves_untold, told_of

UNFUSED = "unfused-jumper"  # a bare wire: no instrument, and never safe
BEGINS = {
    "voltmeter": "Voltmeter",
    "voltmeter-2V": "Voltmeter, 2 V range,",
    "test-lamp": "Test lamp",
    "ohmmeter": "Ohmmeter",
    "self-powered-lamp": "Self-powered test lamp",
    "ammeter": "Ammeter",
    "fused-jumper": "Fused jumper",
    UNFUSED: "Plain jumper wire",
}


def check_act_text(circuit: Circuit, act: Act, text: str) -> Iterator[str]:
    """What is wrong with `text` as words for `act`. May raise InputError for a false point."""
    points = [point_name(circuit, circuit.point(p.replace("/", ".")), names=False)
              for p in (act.red, act.black)]  # fmt: skip
    expected = f"{BEGINS.get(act.instrument, '?')} from {points[0]} to {points[1]},"
    if not text.startswith(expected):
        yield f"the option reads {text!r}; it stands for {expected!r}"
    rest = text[len(expected) :]
    off = (*act.unplugged, *act.removed, *act.apart)
    yield from (f"{text!r} does not say that {p} is off" for p in off if not told_of(p, rest))
    if off and "all connected" in rest:
        yield f"{text!r} says that all is connected"
    named = {p for p in circuit.by_id if told_of(p, rest)}
    yield from (f"{text!r} says that {p} is off" for p in sorted(named - {*off}))


def check_state_told(circuit: Circuit, item: Item) -> Iterator[str]:
    """Each control that was moved is in the stem, and where it stands."""
    stem = " ".join(item.stem)
    moves = item.origin.positions
    yield from (f"the stem does not say {m}" for m in moves_untold(circuit, moves, stem))
