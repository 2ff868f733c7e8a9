"""Current–voltage laws of non-linear parts, as secant conductances over arrays.

A secant conductance g(v) = i(v)/v is positive whatever v is, so putting it into the linear
solve keeps every elimination term positive and the iteration cannot run away.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LINEAR, FILAMENT, MOTOR, DIODE = range(4)

FILAMENT_EXPONENT = 0.55  # i ~ v^0.55 near rated voltage, "Lamp rerating"


@dataclass(frozen=True)
class FilamentLaw:
    """i = i0 (v/v0)^0.55, never above the cold conductance."""

    amps: float
    volts: float
    cold_siemens: float
    code: ClassVar[int] = FILAMENT

    @property
    def numbers(self) -> tuple[float, float, float, float]:
        return (self.amps, self.volts, self.cold_siemens, 0.0)

    @property
    def guess_siemens(self) -> float:
        return self.amps / self.volts


@dataclass(frozen=True)
class MotorLaw:
    """Permanent-magnet motor against friction plus a load that grows with speed squared.

    With x the speed as a share of rated speed, R = V0/Istall, E = V0 − I0·R:
    i = i_friction + i_fan·x² and v = R·i + E·x. Below v = R·i_friction it stands still.
    """

    volts: float
    run_amps: float
    stall_amps: float
    friction: float
    code: ClassVar[int] = MOTOR

    @property
    def numbers(self) -> tuple[float, float, float, float]:
        return (self.volts, self.run_amps, self.stall_amps, self.friction)

    @property
    def guess_siemens(self) -> float:
        return self.run_amps / self.volts


@dataclass(frozen=True)
class DiodeLaw:
    """Blocks below the forward voltage; above it, a source of that voltage and a slope."""

    forward_volts: float
    siemens: float
    code: ClassVar[int] = DIODE

    @property
    def numbers(self) -> tuple[float, float, float, float]:
        return (self.forward_volts, self.siemens, 0.0, 0.0)

    @property
    def guess_siemens(self) -> float:
        return 0.0


Law = FilamentLaw | MotorLaw | DiodeLaw


def filament_siemens(volts: FloatArray, numbers: FloatArray) -> FloatArray:
    """Secant conductance of filaments. `volts` (n,), `numbers` (n, 4) as in FilamentLaw."""
    amps0, volts0, cold = numbers[:, 0], numbers[:, 1], numbers[:, 2]
    share = np.maximum(np.abs(volts) / volts0, 1e-12)
    hot = amps0 / volts0 * share ** (FILAMENT_EXPONENT - 1.0)
    return np.minimum(hot, cold)


def motor_speed(volts: Any, numbers: FloatArray) -> FloatArray:
    """Speed of motors as a share of rated speed, signed like `volts`; 0 when standing."""
    volts0, run, stall, friction = (numbers[:, i] for i in range(4))
    ohm = volts0 / stall
    back_emf = volts0 - run * ohm
    spare = np.maximum(np.abs(volts) - ohm * friction * run, 0.0)
    fan = (1.0 - friction) * run
    # root of ohm·fan·x² + back_emf·x − spare, in the form without subtraction
    speed = 2.0 * spare / (back_emf + np.sqrt(back_emf**2 + 4.0 * ohm * fan * spare))
    return np.asarray(np.sign(volts) * speed)


def motor_siemens(volts: FloatArray, numbers: FloatArray) -> FloatArray:
    """Secant conductance of motors. `volts` (n,), `numbers` (n, 4) as in MotorLaw."""
    volts0, run, stall, friction = (numbers[:, i] for i in range(4))
    speed = motor_speed(volts, numbers)
    amps = friction * run + (1.0 - friction) * run * speed**2
    size = np.abs(volts)
    turning = size > volts0 / stall * friction * run
    return np.where(turning, amps / np.maximum(size, 1e-300), stall / volts0)


def filament_slope(volts: FloatArray, numbers: FloatArray) -> FloatArray:
    """di/dv of filaments (n,), positive. Arguments as for filament_siemens."""
    secant = filament_siemens(volts, numbers)
    return np.where(secant < numbers[:, 2], FILAMENT_EXPONENT * secant, secant)


def motor_slope(volts: FloatArray, numbers: FloatArray) -> FloatArray:
    """di/dv of motors (n,), from dv = (2·R·i_fan·x + E) dx and di = 2·i_fan·x dx."""
    volts0, run, stall, friction = (numbers[:, i] for i in range(4))
    ohm = volts0 / stall
    rise = 2.0 * (1.0 - friction) * run * np.abs(motor_speed(volts, numbers))
    turning = np.abs(volts) > ohm * friction * run
    return np.where(turning, rise / (ohm * rise + volts0 - run * ohm), stall / volts0)
