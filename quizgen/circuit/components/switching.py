"""What a hand, a condition or a coil moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quizgen.circuit.components.part import Condition, Part


@dataclass(frozen=True, kw_only=True)
class Contact:
    """One closed contact of a switch position: two terminals of the switch."""

    a: str
    b: str


@dataclass(frozen=True, kw_only=True)
class Switch(Part):
    """Any switch, hand- or condition-operated, with any number of poles and positions.

    `closes[p]` lists the contacts closed in position `positions[p]`. `control` names what
    moves it: its own id for a hand switch, else a condition such as "coolant".
    """

    kind = "switch"
    letters = ("S", "B", "Q")
    pins: tuple[str, ...]
    positions: tuple[str, ...]
    closes: tuple[tuple[Contact, ...], ...]
    control: str
    style: Literal["toggle", "push", "rotary", "pressure", "temperature", "door", "level"] = (
        "toggle"
    )
    make_before_break: bool = False
    contact_ohm: float = 0.005
    open_contacts: tuple[Contact, ...] = ()  # defect: contacts that no longer close
    worn_contacts: tuple[tuple[Contact, float], ...] = ()  # defect: contact and added ohm
    stuck: str = ""  # defect: the position it no longer leaves

    @property
    def terminals(self) -> tuple[str, ...]:
        return self.pins

    @property
    def contacts(self) -> tuple[Contact, ...]:
        """Every contact of the switch, in the order of first mention."""
        return tuple(dict.fromkeys(c for row in self.closes for c in row))


@dataclass(frozen=True, kw_only=True)
class Relay(Part):
    """Relay with one contact. Terminals 85, 86 coil; 30, 87 make; 30, 87a break."""

    kind = "relay"
    letters = ("K",)
    contact: Literal["make", "break", "changeover"] = "make"
    coil_ohm: float = 85.0
    pull_in_volts: float = 8.0
    drop_out_volts: float = 1.5
    contact_ohm: float = 0.002
    suppression: Literal["none", "diode", "resistor"] = "none"  # diode: cathode on 86
    suppression_ohm: float = 680.0
    timer: str = ""  # a condition "running"/"elapsed" of a timer relay: it pulls only while running
    coil: Condition = "good"
    armature: Literal["good", "welded", "stuck"] = "good"  # welded: held at 87; stuck: never moves
    extra_ohm: float = 0.0  # defect: burnt contact

    @property
    def terminals(self) -> tuple[str, ...]:
        pins = {"make": ("30", "87"), "break": ("30", "87a"), "changeover": ("30", "87", "87a")}
        return ("86", "85", *pins[self.contact])


@dataclass(frozen=True, kw_only=True)
class StarterSolenoid(Part):
    """Engages the starter: pull-in winding 50 to 45, hold-in winding 50 to case, contact 30 to 45.

    The pull-in winding is shorted out by the contact it closes; the hold-in winding keeps it.
    Their pull is counted in volts of the pull-in winding, a hold-in volt for `hold_share`.
    """

    kind = "starter_solenoid"
    letters = ("K", "Q", "Y")
    pull_ohm: float = 0.4
    hold_ohm: float = 1.2
    pull_in_volts: float = 9.0
    drop_out_volts: float = 2.5
    hold_share: float = 0.33  # pull ohm over hold ohm: as many turns on both
    contact_ohm: float = 0.0005
    extra_ohm: float = 0.0  # defect: burnt contact
    pull: Literal["good", "open"] = "good"
    hold: Literal["good", "open"] = "good"
    plunger: Literal["good", "welded", "stuck"] = "good"

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("50", "30", "45", "31")


@dataclass(frozen=True, kw_only=True)
class Flasher(Part):
    """Flasher unit, terminals 49 in, 49a out, and 31 if electronic.

    A thermal one works by its lamps' current and stays closed when a lamp is missing; an
    electronic one then flashes twice as fast.
    """

    kind = "flasher"
    letters = ("K",)
    style: Literal["thermal", "electronic"] = "electronic"
    on_seconds: float = 0.35
    off_seconds: float = 0.32
    least_amps: float = 2.5  # below this a lamp is missing
    contact_ohm: float = 0.01
    supply_ohm: float = 1200.0  # electronics between 49 and 31
    condition: Literal["good", "open", "welded"] = "good"

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("49", "49a", "31") if self.style == "electronic" else ("49", "49a")
