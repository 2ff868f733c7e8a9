"""What opens before a wire burns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quizgen.circuit.components.part import Part


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
