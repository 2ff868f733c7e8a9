"""The records of a sum as the verifier works it out, and what it is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.items.item import Reading
from quizgen.solver import OperatingPoint

ONE_CURRENT = 0.006  # share by which currents along one path may seem to differ
VOLTMETERS = ("voltmeter", "voltmeter-2V")


@dataclass(frozen=True)
class Worked:
    """A sum worked out. `solver` and `school` are the two ways to the answer.

    `given` are the data the item must state; `wrong` what each wrong model may come to;
    `implied` further figures that follow from supposing an answer; `other` those that stand
    in the sum itself. With `series` the answer is one of standard values.
    """

    unit: str
    solver: float
    school: float
    tolerance: float
    given: Mapping[str, float]
    wrong: Mapping[str, tuple[float, ...]]
    implied: Callable[[float], tuple[float, ...]]
    other: tuple[float, ...] = ()
    told: tuple[float, ...] = ()  # of `given`, those that the stem must print
    shown: tuple[float, ...] = ()

    @property
    def series(self) -> bool:
        return self.tolerance == 0.0


@dataclass(frozen=True)
class Bench:
    """What a sum is about: the sound circuit, the operating point, the readings printed."""

    circuit: Circuit
    point: OperatingPoint
    readings: Sequence[Reading]

    @property
    def shown(self) -> list[float]:
        return [reading.volts for reading in self.readings]

    def part(self, name: str, *kinds: type[c.Part]) -> c.Part:
        """The part of the circuit as solved. Raises InputError unless it is of one of `kinds`."""
        part = self.point.circuit.part(name)
        if kinds and not isinstance(part, kinds):
            raise InputError(f"a sum about {name} cannot be: it is a {part.kind}")
        return part

    def amps(self, name: str) -> float:
        return self.point.flows(self.point.circuit.part(name))[0].amps

    def volts(self, red: str, black: str) -> float:
        return self.point.between(red, black) or 0.0

    def expect(self, *leads: tuple[str, ...]) -> None:
        """Raises InputError unless the readings are these: a pair of nodes, or ("", part)
        for a clamp around a wire with all of that part's current."""
        if len(leads) != len(self.readings):
            raise InputError(f"the sum needs {len(leads)} readings, not {len(self.readings)}")
        for number, (lead, reading) in enumerate(zip(leads, self.readings, strict=True), 1):
            if not self._fits(lead, reading):
                raise InputError(f"reading {number} is not what the sum needs")

    def _fits(self, lead: tuple[str, ...], reading: Reading) -> bool:
        if lead[0]:
            return reading.instrument in VOLTMETERS and {*lead} == {
                reading.red_node,
                reading.black_node,
            }
        part, wire = self.point.circuit.part(lead[1]), reading.red_node
        if reading.instrument != "clamp-ammeter" or wire not in self.circuit.by_id:
            return False
        flows = [abs(flow.amps) for flow in self.point.flows(part)]
        here = abs(self.amps(wire))
        joined = wire == lead[1] or {*self.circuit.part(wire).nodes} & {*part.nodes}
        return bool(joined) and any(abs(a - here) <= ONE_CURRENT * max(a, here) for a in flows)
