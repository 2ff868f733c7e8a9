"""What a reading or two on a machine with a complaint leave possible, and what they clear."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault
from quizgen.items.complaint import telling
from quizgen.items.evidence import Evidence
from quizgen.items.places import side
from quizgen.items.standing import Standing

CLEAR_VOLTS = 1.0  # a reader should see at a glance that a fault does not fit


@dataclass(frozen=True)
class TakenTest:
    """Readings at some nodes on a machine with a hidden fault, and what they leave."""

    evidence: Evidence
    before: Standing  # the suspects before it
    nodes: tuple[str, ...]

    @property
    def dictionary(self) -> FaultDictionary:
        return self.evidence.dictionary

    @property
    def row(self) -> int:
        return self.evidence.row

    @property
    def points(self) -> list[int]:
        return [self.dictionary.points.index(node) for node in self.nodes]

    def left(self, points: list[int]) -> set[int]:
        """Claims that the complaint and readings at some points leave."""
        return self.evidence.claims_left(points, telling(self.dictionary, self.row))

    def parts(self, claims: set[int]) -> set[str]:
        return {self.dictionary.claims[n].part for n in claims if n >= 0}

    @cached_property
    def suspected(self) -> set[str]:
        """Parts that may still be at fault."""
        return self.parts(self.left(self.points))

    @cached_property
    def cleared(self) -> dict[str, Fault]:
        """Part that the readings clear → a fault of it that the complaint alone allows."""
        before = self.before.sure
        return {
            part: fault
            for part, fault in before.items()
            if part not in self.suspected and self.miss(fault) >= CLEAR_VOLTS
        }

    def miss(self, fault: Fault) -> float:
        """By how many volts a fault misses what was read, where it misses it most."""
        d = self.dictionary
        return max(abs(float(d.low[p, d.row(fault)] - self.evidence.shown[p])) for p in self.points)

    @cached_property
    def standing(self) -> Standing:
        """The suspects that are left."""
        return Standing(self.dictionary, self.row, self.nodes)

    def ground_side(self, part: str) -> bool:
        """On the way from the load to the frame, judged by the sound circuit."""
        d = self.dictionary
        claims = [x for x in d.claims if x.part == part]
        sound = {n: float(d.low[i, 0]) for i, n in enumerate(d.points)}
        return side(d.circuit, max(claims, key=lambda x: x.weight), sound) == "ground"
