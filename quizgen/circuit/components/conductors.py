"""Wires, plugs, joints and ground points."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.circuit.components.part import Part
from quizgen.circuit.wire_data import wire_ohm


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
