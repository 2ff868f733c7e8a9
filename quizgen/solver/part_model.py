"""What the solver knows of a part: its branches, its discrete states, what moves them.

A *branch* is a two-terminal conductor with current i = g (v_a − v_b − e) from a to b.
A part has the same branches in all its states; only g, e and the law change.
g = inf is an ideal joint (or, with e, an ideal source).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import ClassVar

from quizgen.solver.laws import Law


@dataclass(frozen=True)
class Flow:
    """What one branch does in one state."""

    siemens: float
    volts: float = 0.0
    law: Law | None = None


@dataclass(frozen=True)
class Branch:
    """A branch of a part: its name within the part ("" if it is the only one) and its nodes."""

    name: str
    a: str
    b: str


@dataclass(frozen=True)
class Follows:
    """The state is the position of a control."""

    control: str


@dataclass(frozen=True)
class Gate:
    """A mover with a gate can act only while `control` stands at `position`."""

    control: str
    position: str


@dataclass(frozen=True)
class Armature:
    """States rest, pulled: moved by the voltages across its coils, each with its share."""

    coils: tuple[tuple[int, float], ...]  # (branch, share)
    pull_in_volts: float
    drop_out_volts: float
    gate: Gate | None = None
    felt: int = 0  # branch whose voltage an event tells
    felt_name: ClassVar[str] = "coil"
    changes: ClassVar[tuple[str, str]] = ("drops out", "pulls in")


@dataclass(frozen=True)
class Charges:
    """States still, charging, overcharging: an alternator, see `movers.charging_wants`."""

    gate: Gate | None
    exciter: int
    excite_amps: float
    sense: int | None
    least_sense_volts: float = 8.0
    felt: int = 0
    felt_name: ClassVar[str] = "output"
    changes: ClassVar[tuple[str, str]] = ("stops charging", "charges")


@dataclass(frozen=True)
class Blinks:
    """States closed, open, briefly open: a flasher, see `movers.blinks_next`."""

    on_seconds: float
    off_seconds: float
    least_amps: float
    supply: int | None  # branch of the electronics, None for a thermal flasher
    least_volts: float = 7.0
    gate: None = None


@dataclass(frozen=True)
class Heats:
    """States closed, open: a protector that opens by the current in branch 0.

    `reset_seconds` inf: stays open. `hold_volts`: stays open while at least this is across it.
    """

    amps: float
    reset_seconds: float = inf
    hold_volts: float = inf
    slow: float = 1.0  # opening times as a multiple of those of a blade fuse
    gate: None = None


Mover = Follows | Armature | Charges | Heats | Blinks


@dataclass(frozen=True)
class PartModel:
    """`flows[s][b]` is branch b in state s; `states[0]` is the state at rest."""

    branches: tuple[Branch, ...]
    states: tuple[str, ...]
    flows: tuple[tuple[Flow, ...], ...]
    mover: Mover | None = None
