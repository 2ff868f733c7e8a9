"""What a driver sees, hears and feels of the loads, without any instrument.

Levels are coarse on purpose: a person tells bright from dim, not 12.1 V from 12.4 V.
Thresholds are common practice without a source, except the lamp's: light goes with about
the 3.4th power of voltage ("Lamp rerating"), so 0.8 of rated voltage is under half the light.
A load so near a threshold that two people might disagree is marked `doubtful`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.solver.laws import MotorLaw, motor_speed
from quizgen.solver.operating_point import OperatingPoint

DOUBT = 0.06  # relative distance from a threshold within which people disagree

# upper end of each level, as a share of rated voltage (lamps, heaters, horns) or speed (motors)
LAMP_LEVELS = ((0.22, "dark"), (0.72, "dim"), (np.inf, "bright"))
HEAT_LEVELS = ((0.25, "cold"), (0.75, "lukewarm"), (np.inf, "hot"))
GAUGE_LEVELS = (
    (0.06, "at the lower stop"), (0.3, "low"), (0.7, "in the middle"), (np.inf, "high"),
)  # fmt: skip
LOW_BRUSH_SPEED = 0.65  # of the high brush, both at rated voltage (from memory)
# 120 and 30 flashes a minute: UN R48 par. 6.5.9 allows 60 to 120; slower is no flashing
SHORTEST_FLASH_SECONDS, LONGEST_FLASH_SECONDS = 0.5, 2.0
MOTOR_LEVELS = ((0.03, "stopped"), (np.inf, "turns"))


@dataclass(frozen=True)
class Observation:
    """One load. `level` is what a person reports; `share` of rated voltage or speed."""

    load: str
    level: str  # one of the names in the tables above, in words a customer would use
    share: float
    doubtful: bool = False

    def __str__(self) -> str:
        return self.level


def observe(point: OperatingPoint) -> tuple[Observation, ...]:
    """Every load of the circuit, also those the driver cannot see, in the circuit's order.

    While cycling, a load whose level differs between phases "flashes", faster than a person
    expects "flashes fast", or, too slowly to be called that, "comes and goes".
    """
    circuit = point.circuit
    loads = [p for p in circuit.parts if isinstance(p, c.LOADS)]
    if not point.phases:
        return tuple(observe_load(point, p) for p in loads)
    period = sum(f.seconds for f in point.phases)
    return tuple(
        _over_phases([observe_load(f.point, p) for f in point.phases], period) for p in loads
    )


def visible(circuit: Circuit, seen: tuple[Observation, ...]) -> tuple[Observation, ...]:
    """Only the loads that a driver can observe."""
    return tuple(o for o in seen if o.load not in circuit.unobserved)


def against(sound: Observation, seen: Observation) -> Observation:
    """`seen` as somebody reports it who knows how the load runs when all is well.

    A motor that turns at under 0.7 or over 1.3 of its usual speed is slow or too fast.
    """
    if not (seen.level == sound.level == "turns") or sound.share == 0.0:
        return seen
    ratio = seen.share / sound.share
    doubtful = seen.doubtful or min(abs(ratio - 0.7), abs(ratio - 1.3)) < 0.06
    level = "turns slowly" if ratio < 0.7 else "turns too fast" if ratio > 1.3 else "turns"
    return Observation(seen.load, level, seen.share, doubtful)


def _over_phases(seen: list[Observation], period: float) -> Observation:
    if len({o.level for o in seen}) == 1:
        return seen[0]
    share = max(o.share for o in seen)
    level = "comes and goes"
    if 0.0 < period <= LONGEST_FLASH_SECONDS:
        level = "flashes" if period >= SHORTEST_FLASH_SECONDS else "flashes fast"
    return Observation(seen[0].load, level, share, any(o.doubtful for o in seen))


def observe_load(point: OperatingPoint, part: c.Part) -> Observation:
    """One load at one operating point. Raises KeyError for a part that is no load."""
    return OBSERVERS[type(part)](point, part)


def _volts(point: OperatingPoint, part: c.Part) -> float:
    """|v| across a sound load; 0 across one that is open or shorted inside, which does nothing."""
    sound = getattr(part, "condition", "good") == "good"
    return abs(point.flows(part)[0].volts or 0.0) if sound else 0.0


def _lamp(point: OperatingPoint, part: c.Lamp) -> Observation:
    return _level(part.id, _volts(point, part) / part.volts, LAMP_LEVELS)


def _led_lamp(point: OperatingPoint, part: c.LedLamp) -> Observation:
    lit = point.flows(part)[0].amps * part.volts / part.watts if part.condition == "good" else 0.0
    return _level(part.id, max(lit, 0.0), LAMP_LEVELS)


def _heater(point: OperatingPoint, part: c.Heater) -> Observation:
    return _level(part.id, _volts(point, part) / part.volts, HEAT_LEVELS)


def _horn(point: OperatingPoint, part: c.Horn) -> Observation:
    least = part.least_volts / part.volts
    levels = ((0.6 * least, "silent"), (least, "weak"), (np.inf, "sounds"))
    return _level(part.id, _volts(point, part) / part.volts, levels)


def _solenoid(point: OperatingPoint, part: c.Solenoid) -> Observation:
    share = _volts(point, part) / part.pull_in_volts
    return _level(part.id, share, ((1.0, "released"), (np.inf, "pulled")))


def _gauge(point: OperatingPoint, part: c.Gauge) -> Observation:
    amps = point.flows(part)[0].amps if part.condition == "good" else 0.0
    return _level(part.id, max(amps, 0.0) / part.full_amps, GAUGE_LEVELS)


def _level(load: str, share: float, levels: tuple[tuple[float, str], ...]) -> Observation:
    doubtful = any(abs(share - top) < DOUBT * top for top, _ in levels[:-1])
    level = next(name for top, name in levels if share < top)
    return Observation(load, level, share, doubtful)


def _motor(point: OperatingPoint, part: c.Motor) -> Observation:
    """Judged by torque and speed, not by voltage: a leak through a breaker turns nothing."""
    if part.condition != "good":
        return Observation(part.id, "stopped", 0.0)
    volts = point.flows(part)[0].volts or 0.0
    law = point.law_numbers(part)
    speed = float(motor_speed(np.array([volts]), law[None, :])[0])
    stall = part.volts / part.stall_amps * part.friction * part.run_amps
    near_stall = abs(abs(volts) - stall) < DOUBT * max(stall, 0.02 * part.volts)
    level = _level(part.id, abs(speed), MOTOR_LEVELS).level
    if level == "turns" and speed < 0:
        level = "turns backwards"
    return Observation(part.id, level, abs(speed), near_stall)


def _two_speed_motor(point: OperatingPoint, part: c.TwoSpeedMotor) -> Observation:
    """Speed of the brush that drives faster, the high brush at rated voltage counting as 1."""
    if part.condition != "good":
        return Observation(part.id, "stopped", 0.0)
    speeds = [0.0]
    brushes = ((part.low_amps, LOW_BRUSH_SPEED), (part.high_amps, 1.0))
    for flow, (amps, full) in zip(point.flows(part), brushes, strict=True):
        if flow.amps:
            law = MotorLaw(part.volts, amps, part.stall_amps, part.friction)
            numbers = np.array([law.numbers])
            speeds.append(full * float(motor_speed(np.array([flow.volts or 0.0]), numbers)[0]))
    fastest = max(speeds, key=abs)
    seen = _level(part.id, abs(fastest), MOTOR_LEVELS)
    level = "turns backwards" if seen.level == "turns" and fastest < 0 else seen.level
    return Observation(part.id, level, abs(fastest), seen.doubtful)


OBSERVERS: dict[type[c.Part], Callable[[OperatingPoint, Any], Observation]] = {
    c.Lamp: _lamp,
    c.LedLamp: _led_lamp,
    c.Motor: _motor,
    c.TwoSpeedMotor: _two_speed_motor,
    c.Heater: _heater,
    c.Solenoid: _solenoid,
    c.Horn: _horn,
    c.Gauge: _gauge,
}
