"""Component kinds: frozen data, no behaviour beyond what their own numbers mean.

How a component conducts is in `quizgen.solver.models`, what can go wrong with it in
`quizgen.faults.modes`, how it is drawn in `quizgen.diagram.symbols`. Each of these is
a table keyed by the classes below; a test sees that none is missing.

Field names carry the unit. A *defect* field (`blown`, `condition`, `extra_ohm` ...) is set
by fault injection only. What a part does at the moment (a relay pulled in, a fuse that has
just opened) is never stored here: that is part of a solution.

Reference letters follow IEC 81346-2, terminal numbers DIN 72552 where it has one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import ClassVar, Literal

from quizgen.circuit.wire_data import wire_ohm

Condition = Literal["good", "open", "shorted"]


@dataclass(frozen=True, kw_only=True)
class Part:
    """Anything with terminals. `nodes[i]` is the node at terminal `terminals[i]`."""

    kind: ClassVar[str]
    letters: ClassVar[tuple[str, ...]]

    id: str
    nodes: tuple[str, ...]
    name: str = ""  # what a technician calls it: "blower motor"
    place: str = ""  # where it sits: "behind the glove box"
    access_minutes: float = 1.0  # time to get an instrument onto its terminals
    weights: tuple[tuple[str, float], ...] = ()  # relative likelihood by fault mode

    @property
    def terminals(self) -> tuple[str, ...]:
        """Terminal names, in the order of `nodes`."""
        return ("1", "2")

    def node(self, terminal: str) -> str:
        """The node at `terminal`. Raises KeyError if the part has no such terminal."""
        try:
            return self.nodes[self.terminals.index(terminal)]
        except ValueError:
            raise KeyError(terminal) from None


# --- supply ---------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Battery(Part):
    """Rested open-circuit voltage behind an internal resistance."""

    kind = "battery"
    letters = ("GB", "G")
    emf_volts: float
    internal_ohm: float = 0.01

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("+", "-")


@dataclass(frozen=True, kw_only=True)
class Source(Part):
    """Ideal voltage source, for textbook networks; 0 V makes it an ideal ammeter."""

    kind = "source"
    letters = ("G", "V", "B")
    volts: float

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("+", "-")


# --- conductors -----------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Wire(Part):
    """A wire with an IEC 60757 colour code, a cross-section and a length."""

    kind = "wire"
    letters = ("W",)
    colour: str
    mm2: float
    metres: float
    extra_ohm: float = 0.0  # defect: corrosion; inf when broken
    joint_ohm: float = 0.0002  # the two crimps together (from memory: a good crimp < 0.1 mohm)

    @property
    def ohm(self) -> float:
        """Copper, crimps and defect together."""
        return wire_ohm(self.mm2, self.metres) + self.joint_ohm + self.extra_ohm


@dataclass(frozen=True, kw_only=True)
class Connector(Part):
    """A plug and socket. Cavity `n` joins terminals `na` (socket side) and `nb` (plug side)."""

    kind = "connector"
    letters = ("X",)
    cavities: tuple[str, ...]
    cavity_ohm: tuple[float, ...]  # one per cavity; inf when a terminal has backed out
    apart: bool = False

    @property
    def terminals(self) -> tuple[str, ...]:
        return tuple(c + side for c in self.cavities for side in "ab")


@dataclass(frozen=True, kw_only=True)
class Splice(Part):
    """A permanent joint of several wires: one node."""

    kind = "splice"
    letters = ("XS", "X")

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("1",)


@dataclass(frozen=True, kw_only=True)
class Ground(Part):
    """A stud on the frame. Terminal 1 is the stud, terminal 31 the frame itself."""

    kind = "ground"
    letters = ("G", "XG")
    ohm: float = 0.002

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("1", "31")


@dataclass(frozen=True, kw_only=True)
class Bridge(Part):
    """An unwanted contact between two nodes; only faults and jumpers make one."""

    kind = "bridge"
    letters = ("~",)
    ohm: float = 0.005


# --- protection -----------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Fuse(Part):
    """Blade fuse (ISO 8820-3). `fitted_amps` is what somebody put in, 0 for what belongs there."""

    kind = "fuse"
    letters = ("F",)
    amps: float
    ohm: float = 0.003
    fitted_amps: float = 0.0
    condition: Literal["good", "blown", "missing"] = "good"


@dataclass(frozen=True, kw_only=True)
class FusibleLink(Part):
    """A short length of thinner wire that melts last."""

    kind = "fusible_link"
    letters = ("F",)
    amps: float
    ohm: float = 0.001
    condition: Literal["good", "blown"] = "good"


@dataclass(frozen=True, kw_only=True)
class Breaker(Part):
    """Thermal circuit breaker, reset types of SAE J553.

    `automatic` closes again by itself; `held` stays open while its heater sees voltage;
    `manual` waits for a hand.
    """

    kind = "breaker"
    letters = ("F",)
    amps: float
    reset: Literal["automatic", "held", "manual"] = "automatic"
    ohm: float = 0.006
    heater_ohm: float = 150.0  # across the open contact of a `held` breaker
    reset_seconds: float = 12.0
    condition: Literal["good", "open", "welded"] = "good"


# --- switching ------------------------------------------------------------------------


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
    coil: Condition = "good"
    armature: Literal["good", "welded", "stuck"] = "good"  # welded: held at 87; stuck: never moves
    extra_ohm: float = 0.0  # defect: burnt contact

    @property
    def terminals(self) -> tuple[str, ...]:
        pins = {"make": ("30", "87"), "break": ("30", "87a"), "changeover": ("30", "87", "87a")}
        return ("86", "85", *pins[self.contact])


# --- loads and other two-terminal parts -----------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Resistor(Part):
    """Fixed resistor; 0 is an ideal joint, inf an open."""

    kind = "resistor"
    letters = ("R",)
    ohm: float


@dataclass(frozen=True, kw_only=True)
class ResistorPack(Part):
    """Resistors in one housing, in series, with a terminal at each end and between each two."""

    kind = "resistor_pack"
    letters = ("R",)
    ohms: tuple[float, ...]  # section i lies between terminals i+1 and i+2

    @property
    def terminals(self) -> tuple[str, ...]:
        return tuple(str(i + 1) for i in range(len(self.ohms) + 1))


@dataclass(frozen=True, kw_only=True)
class Sender(Part):
    """A resistance set by a condition, such as a tank float."""

    kind = "sender"
    letters = ("B", "R")
    control: str
    positions: tuple[str, ...]
    ohms: tuple[float, ...]  # one per position
    stuck: str = ""


@dataclass(frozen=True, kw_only=True)
class Lamp(Part):
    """Filament lamp; `watts` are the objective watts at `volts` (UN R37)."""

    kind = "lamp"
    letters = ("E", "P")
    watts: float
    volts: float
    cold_ratio: float = 13.7  # hot to cold resistance
    fitted_watts: float = 0.0  # defect: the wrong lamp
    condition: Condition = "good"


@dataclass(frozen=True, kw_only=True)
class LedLamp(Part):
    """LEDs behind a series resistor; terminal 1 is plus."""

    kind = "led_lamp"
    letters = ("E", "P")
    watts: float
    volts: float
    forward_volts: float
    condition: Condition = "good"


@dataclass(frozen=True, kw_only=True)
class Motor(Part):
    """Permanent-magnet DC motor.

    `friction` is the share of the running torque that does not depend on speed: near 0
    for a fan, near 1 for a gear drive or a positive-displacement pump.
    """

    kind = "motor"
    letters = ("M",)
    volts: float
    run_amps: float
    stall_amps: float
    friction: float = 0.15
    condition: Literal["good", "open", "seized", "shorted"] = "good"


@dataclass(frozen=True, kw_only=True)
class Heater(Part):
    """A heating element: heated window, heater plug, intake heater."""

    kind = "heater"
    letters = ("E", "R")
    watts: float
    volts: float
    condition: Condition = "good"


@dataclass(frozen=True, kw_only=True)
class Solenoid(Part):
    """A coil that pulls something: valve, latch, clutch. Acts at or above `pull_in_volts`."""

    kind = "solenoid"
    letters = ("Y", "M")
    ohm: float
    pull_in_volts: float
    condition: Condition = "good"


@dataclass(frozen=True, kw_only=True)
class Horn(Part):
    """Sounder that needs `least_volts` to speak."""

    kind = "horn"
    letters = ("P",)
    amps: float
    volts: float
    least_volts: float
    condition: Condition = "good"


@dataclass(frozen=True, kw_only=True)
class Diode(Part):
    """Terminal 1 anode, terminal 2 cathode; constant forward voltage plus a slope."""

    kind = "diode"
    letters = ("R", "V")
    forward_volts: float = 0.7
    on_ohm: float = 0.02
    condition: Condition = "good"


LOADS: tuple[type[Part], ...] = (Lamp, LedLamp, Motor, Heater, Solenoid, Horn)

KINDS: dict[str, type[Part]] = {
    c.kind: c
    for c in (
        Battery, Source, Wire, Connector, Splice, Ground, Bridge, Fuse, FusibleLink, Breaker,
        Switch, Relay, Resistor, ResistorPack, Sender, Lamp, LedLamp, Motor, Heater, Solenoid,
        Horn, Diode,
    )
}  # fmt: skip

OPEN = inf
