"""An act with an instrument: taken on circuits, and in words (`templates/wording/acts.yaml`)."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from quizgen.circuit.components import Battery
from quizgen.circuit.netlist import Circuit
from quizgen.faults.wording import point_name
from quizgen.instruments.measure import measure_many
from quizgen.instruments.measurement import Measurement, Shown
from quizgen.items.act import Act
from quizgen.items.sentences import listed, volts_words, wording

UNFUSED = "unfused-jumper"
"""No instrument at all: a bare wire, which nothing stops. Never safe."""


def take(circuits: Sequence[Circuit], act: Act) -> tuple[Shown, ...]:
    """What `act` shows on variations of one circuit. Raises as `measure_many`."""
    return measure_many(
        circuits,
        Measurement(
            instrument=act.instrument, red=act.red, black=act.black, positions=act.moves,
            apart=act.apart, removed=act.removed, unplugged=act.unplugged,
        ),
    )  # fmt: skip


def say_act(circuit: Circuit, act: Act) -> str:
    """The act as an option says it: "Voltmeter from K1 terminal 87 to the frame, all connected"."""
    words = wording("acts")
    off = [_off(circuit, name, words) for name in (*act.unplugged, *act.removed)]
    return str(words["act"]).format(
        instrument=words["instruments"][act.instrument],
        red=say_point(circuit, act.red),
        black=say_point(circuit, act.black),
        apart=listed(off) or words["all_connected"],
    )


def say_point(circuit: Circuit, text: str) -> str:
    """A point in words; a part's own terminal "M1/1" is called as if it were on its wires."""
    return point_name(circuit, circuit.point(text.replace("/", ".")), names=False)


def display(shown: Shown) -> str:
    """What is on the display, a half digit rounded as in every other reading."""
    if shown.instrument == "voltmeter" and shown.raw is not None and isfinite(shown.raw):
        return volts_words(shown.raw)
    return shown.shown.replace("-", "−")


def say_shown(shown: Shown) -> str:
    """What an instrument shows, as an option says it."""
    text = display(shown)
    return str(wording("acts").get(text, text))


def _off(circuit: Circuit, name: str, words: dict[str, str]) -> str:
    part = circuit.part(name)
    if isinstance(part, Battery):
        return words["off_battery"].format(part=name)
    key = "off_holder" if part.kind in ("fuse", "relay", "lamp") else "off_load"
    return words[key].format(part=name)
