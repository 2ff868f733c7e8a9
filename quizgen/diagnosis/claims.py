"""A claim: what somebody says is wrong, without saying how badly.

"Ground point G2 has too much resistance" is one claim; 0.5 Ω and 5 kΩ are two members of it.
A claim is refuted only when every member is, so a claim about a resistance carries members
from hardly noticeable to nearly open. Node voltages of a network are monotone in any one
resistance (they are fractions of two linear functions of it), so between two neighbouring
members every voltage lies between theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, WeightedFault, universe

# ohm, four to a step: a step is covered by the interval between its ends
RESISTANCE_LADDER = (0.05, 0.2, 0.8, 3.0, 12.0, 50.0, 200.0, 800.0, 3e3, 12e3, 50e3)
CHARGE_LADDER = (75.0, 50.0, 25.0, 10.0, 0.0)


@dataclass(frozen=True)
class Claim:
    """One place and way of failing; `members` ordered by severity where that is continuous."""

    part: str
    mode: str
    place: str
    members: tuple[Fault, ...]
    weight: float
    usual: Fault  # the likeliest member that the fault universe names
    graded: bool  # severities between two members are possible

    @property
    def key(self) -> str:
        """Unique text of the claim."""
        return ":".join(x for x in (self.part, self.mode, self.place) if x)


def claims(circuit: Circuit, listed: Sequence[WeightedFault] | None = None) -> tuple[Claim, ...]:
    """Every claim that the fault universe of `circuit` makes possible, in its order.

    `listed` is the universe, if somebody has drawn it up already.
    """
    grouped: dict[tuple[str, str, str], list[tuple[Fault, float]]] = {}
    for item in universe(circuit) if listed is None else listed:
        fault = item.fault
        grouped.setdefault((fault.part, fault.mode, _place(fault)), []).append((fault, item.weight))
    return tuple(_claim(*key, found) for key, found in grouped.items())


def claim_key(fault: Fault) -> str:
    """Key of the claim that `fault` is a member of."""
    return ":".join(x for x in (fault.part, fault.mode, _place(fault)) if x)


def _place(fault: Fault) -> str:
    """The detail without the severity."""
    if fault.mode == "resistance":
        return fault.detail.rpartition("=")[0]
    return "" if fault.mode == "weak" else fault.detail


def _claim(part: str, mode: str, place: str, found: list[tuple[Fault, float]]) -> Claim:
    weight = sum(w for _, w in found)
    usual = max(found, key=lambda pair: pair[1])[0]
    faults = {f for f, _ in found}
    if mode == "resistance":
        head = f"{place}=" if place else ""
        faults |= {Fault(part, mode, f"{head}{ohm:g}") for ohm in RESISTANCE_LADDER}
        ordered = sorted(faults, key=lambda f: float(f.detail.rpartition("=")[2]))
    elif mode == "weak":
        faults |= {Fault(part, mode, f"{percent:g}") for percent in CHARGE_LADDER}
        ordered = sorted(faults, key=lambda f: -float(f.detail or 25.0))
    else:
        ordered = [f for f, _ in found]
    return Claim(part, mode, place, tuple(ordered), weight, usual, mode in {"resistance", "weak"})
