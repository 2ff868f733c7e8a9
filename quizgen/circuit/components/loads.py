"""What the electricity is there for, and other two-terminal parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quizgen.circuit.components.part import Condition, Part


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
class TwoSpeedMotor(Part):
    """Wiper motor with two brushes: 53 low, 53i high speed, 31 return (DIN 72552: 53, 53i)."""

    kind = "two_speed_motor"
    letters = ("M",)
    volts: float
    low_amps: float
    high_amps: float
    stall_amps: float
    friction: float = 0.6
    low_brush: Literal["good", "open"] = "good"
    high_brush: Literal["good", "open"] = "good"
    condition: Literal["good", "seized"] = "good"

    @property
    def terminals(self) -> tuple[str, ...]:
        return ("53", "53i", "31")


@dataclass(frozen=True, kw_only=True)
class Gauge(Part):
    """A pointer moved by current; `full_amps` carries it to the end of the scale."""

    kind = "gauge"
    letters = ("P",)
    ohm: float
    full_amps: float
    condition: Condition = "good"


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
