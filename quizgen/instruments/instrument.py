"""What every instrument is: parts clipped onto a circuit, and a way to read them.

An instrument is real parts (a filament, ten million ohm, a fuse), so whatever it does to the
circuit comes out of the solver. It hangs on the red point through a contact `~clip` that
closes last, after all controls are set: relays and fuses remember what was before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import copysign
from typing import Protocol

from quizgen.circuit.components import Contact, Part, Switch
from quizgen.circuit.netlist import Circuit, Control
from quizgen.solver import OperatingPoint

CLIP = "~clip"
TIP = "~tip"  # the node behind the clip
NO_DIGIT = 1e-7  # of a display: more than the solver's error, less than anybody sees


@dataclass(frozen=True)
class Reading:
    """One look at the instrument: display, figure behind it, how exact, what is doubtful."""

    shown: str
    raw: float
    tolerance: float = 0.0
    resolution: float = 0.0
    doubt: str = ""


def displayed(value: float, decimals: int) -> str:
    """A figure as a display shows it: halves away from zero whatever the last bits say, no −0.

    >>> displayed(12.65, 1), displayed(12.649999987, 1), displayed(-12.65, 1), displayed(-0.04, 1)
    ('12.7', '12.7', '-12.7', '0.0')
    """
    return f"{round(value + copysign(NO_DIGIT, value), decimals) + 0.0:.{decimals}f}"


class Instrument(Protocol):
    """An instrument. `red` and `black` are nodes of the circuit."""

    @property
    def unit(self) -> str:
        """Unit of `Reading.raw`."""

    def fit(self, circuit: Circuit, red: str, black: str) -> Circuit:
        """The circuit with the instrument clipped on, the clip still open."""

    def objection(self, bare: OperatingPoint, red: str, black: str) -> str:
        """Why it must not be used so, judged before the clip closes; "" if it may."""

    def warnings(self, bare: OperatingPoint, red: str, black: str) -> tuple[str, ...]:
        """What is wrong or pointless about using it so, though the reading stands."""

    def read(self, point: OperatingPoint, red: str, black: str) -> Reading:
        """What it shows at one operating point."""


def clip_on(circuit: Circuit, red: str, *parts: Part) -> Circuit:
    """The circuit with `parts` hanging on `red`; the first of them starts at the node `~tip`.

    Their loads are hidden from the driver's view.
    """
    clip = Switch(
        id=CLIP,
        nodes=(red, TIP),
        pins=("1", "2"),
        positions=("off", "on"),
        closes=((), (Contact(a="1", b="2"),)),
        control=CLIP,
        contact_ohm=1e-4,
    )
    control = Control(name=CLIP, positions=("off", "on"), rest="off")
    return replace(
        circuit,
        parts=(*circuit.parts, clip, *parts),
        controls=(*circuit.controls, control),
        unobserved=circuit.unobserved | {p.id for p in parts},
    )


def amps_through(point: OperatingPoint, part_id: str) -> float:
    """Current of a two-terminal part, in ampere from its first node to its second."""
    return point.flows(point.circuit.part(part_id))[0].amps
