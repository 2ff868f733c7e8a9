"""What a driver sees, hears and feels of the loads, without any instrument.

Levels are coarse on purpose: a person tells bright from dim, not 12.1 V from 12.4 V.
Thresholds are common practice without a source, except the lamp's: light goes with about
the 3.4th power of voltage ("Lamp rerating"), so 0.8 of rated voltage is under half the light.
A load so near a threshold that two people might disagree is marked `doubtful`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.solver.laws import motor_speed
from quizgen.solver.operating_point import OperatingPoint

DOUBT = 0.06  # relative distance from a threshold within which people disagree

# upper end of each level, as a share of rated voltage (lamps, heaters, horns) or speed (motors)
LAMP_LEVELS = ((0.22, "dark"), (0.72, "dim"), (np.inf, "bright"))
HEAT_LEVELS = ((0.25, "cold"), (0.75, "lukewarm"), (np.inf, "hot"))
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

    While cycling, a load whose level differs between phases is "comes and goes".
    """
    circuit = point.circuit
    loads = [p for p in circuit.parts if isinstance(p, c.LOADS)]
    if not point.phases:
        return tuple(observe_load(point, p) for p in loads)
    return tuple(_over_phases([observe_load(f.point, p) for f in point.phases]) for p in loads)


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


def _over_phases(seen: list[Observation]) -> Observation:
    if len({o.level for o in seen}) == 1:
        return seen[0]
    first = seen[0]
    share = max(o.share for o in seen)
    return Observation(first.load, "comes and goes", share, any(o.doubtful for o in seen))


def observe_load(point: OperatingPoint, part: c.Part) -> Observation:
    """One load at one operating point."""
    flow = point.flows(part)[0]
    volts = flow.volts or 0.0
    if isinstance(part, c.Motor):
        return _motor(point, part, volts)
    if isinstance(part, c.Lamp):
        rated = part.volts
        lit = volts if part.condition == "good" else 0.0
        return _level(part.id, abs(lit) / rated, LAMP_LEVELS)
    if isinstance(part, c.LedLamp):
        lit = flow.amps * part.volts / part.watts if part.condition == "good" else 0.0
        return _level(part.id, max(lit, 0.0), LAMP_LEVELS)
    if isinstance(part, c.Heater):
        return _level(
            part.id, abs(volts if part.condition == "good" else 0.0) / part.volts, HEAT_LEVELS
        )
    if isinstance(part, c.Horn):
        least = part.least_volts / part.volts
        levels = ((0.6 * least, "silent"), (least, "weak"), (np.inf, "sounds"))
        good = part.condition == "good"
        return _level(part.id, abs(volts if good else 0.0) / part.volts, levels)
    assert isinstance(part, c.Solenoid)
    share = abs(volts if part.condition == "good" else 0.0) / part.pull_in_volts
    return _level(part.id, share, ((1.0, "released"), (np.inf, "pulled")))


def _level(load: str, share: float, levels: tuple[tuple[float, str], ...]) -> Observation:
    doubtful = any(abs(share - top) < DOUBT * top for top, _ in levels[:-1])
    level = next(name for top, name in levels if share < top)
    return Observation(load, level, share, doubtful)


def _motor(point: OperatingPoint, part: c.Motor, volts: float) -> Observation:
    """Judged by torque and speed, not by voltage: a leak through a breaker turns nothing."""
    if part.condition != "good":
        return Observation(part.id, "stopped", 0.0)
    law = point.law_numbers(part)
    speed = float(motor_speed(np.array([volts]), law[None, :])[0])
    stall = part.volts / part.stall_amps * part.friction * part.run_amps
    near_stall = abs(abs(volts) - stall) < DOUBT * max(stall, 0.02 * part.volts)
    level = _level(part.id, abs(speed), MOTOR_LEVELS).level
    if level == "turns" and speed < 0:
        level = "turns backwards"
    return Observation(part.id, level, abs(speed), near_stall)
