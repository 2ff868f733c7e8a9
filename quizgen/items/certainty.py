"""What a test on a machine with a complaint leaves possible, and what it clears.

A test is a reading or two of a voltmeter as everything stands (`Volts`), or anything else that a
technician may try once (`taken_act.TakenAct`).
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault
from quizgen.faults.wording import point_name
from quizgen.items.complaint import telling
from quizgen.items.evidence import Evidence
from quizgen.items.item import Figure, Reading
from quizgen.items.places import side
from quizgen.items.sentences import Sentences, capital, state_words, volts_words
from quizgen.items.standing import Standing

CLEAR_VOLTS = 1.0  # a reader should see at a glance that a fault does not fit


@dataclass(frozen=True)
class TakenTest:
    """A test of a machine with a hidden fault, the row of which `evidence` has."""

    evidence: Evidence
    before: Standing  # the suspects before it

    @property
    def dictionary(self) -> FaultDictionary:
        """Every fault in the item's own state."""
        return self.evidence.dictionary

    @property
    def row(self) -> int:
        """The hidden fault's."""
        return self.evidence.row

    @property
    @abstractmethod
    def claims_left(self) -> set[int]:
        """Claims that complaint and test leave; −1 that nothing is wrong."""

    @property
    @abstractmethod
    def standing(self) -> Standing:
        """The suspects that are left."""

    @property
    @abstractmethod
    def name(self) -> str:
        """The end of the names of the sentences that tell of such a test."""

    @abstractmethod
    def speaks_against(self, fault: Fault) -> bool:
        """Anybody sees at a glance that the fault would show otherwise."""

    @abstractmethod
    def readings(self, sentences: Sentences) -> tuple[Reading, ...]:
        """The rows of the table."""

    @abstractmethod
    def figures(self, fault: Fault) -> tuple[Figure, ...]:
        """What the test would show with a fault, as the verifier reads it."""

    @abstractmethod
    def words(self, fault: Fault, sentences: Sentences) -> dict[str, str]:
        """For sentences: what the test would show with a fault, and what it has shown."""

    def parts(self, claims: set[int]) -> set[str]:
        """The parts that claims are about."""
        return {self.dictionary.claims[n].part for n in claims if n >= 0}

    @cached_property
    def suspected(self) -> set[str]:
        """Parts that may still be at fault."""
        return self.parts(self.claims_left)

    @cached_property
    def cleared(self) -> dict[str, Fault]:
        """Part that the test clears → a fault of it that the complaint alone allows."""
        return {
            part: fault
            for part, fault in self.before.sure.items()
            if part not in self.suspected and self.speaks_against(fault)
        }

    def ground_side(self, part: str) -> bool:
        """On the way from the load to the frame, judged by the sound circuit."""
        d = self.dictionary
        claims = [x for x in d.claims if x.part == part]
        sound = {n: float(d.low[i, 0]) for i, n in enumerate(d.points)}
        return side(d.circuit, max(claims, key=lambda x: x.weight), sound) == "ground"


@dataclass(frozen=True)
class Volts(TakenTest):
    """Voltmeter readings to the frame at some nodes, everything connected."""

    nodes: tuple[str, ...]

    @property
    def points(self) -> list[int]:
        """Numbers of the nodes in the dictionary."""
        return [self.dictionary.points.index(node) for node in self.nodes]

    @property
    def name(self) -> str:
        """One reading or two."""
        return "volts" if len(self.nodes) == 1 else "two_volts"

    def left_by(self, points: list[int]) -> set[int]:
        """Claims that the complaint and readings at some of the points leave."""
        return self.evidence.claims_left(points, telling(self.dictionary, self.row))

    @cached_property
    def claims_left(self) -> set[int]:
        """By both readings."""
        return self.left_by(self.points)

    @cached_property
    def standing(self) -> Standing:
        """The readings are known too."""
        return Standing(self.dictionary, self.row, self.nodes, self.before.cases)

    def speaks_against(self, fault: Fault) -> bool:
        """By a volt at least, where it misses the readings most."""
        d = self.dictionary
        return (
            max(abs(float(d.low[p, d.row(fault)] - self.evidence.shown[p])) for p in self.points)
            >= CLEAR_VOLTS
        )

    def readings(self, sentences: Sentences) -> tuple[Reading, ...]:
        """A row for each node."""
        d = self.dictionary
        black = sentences.say("shared_black")
        return tuple(
            Reading(
                instrument="voltmeter",
                red_node=node,
                black_node=d.circuit.reference,
                red=point_name(d.circuit, node, names=False),
                black=black,
                state=capital(state_words(d.circuit, dict(d.moves))),
                shown=volts_words(float(self.evidence.shown[point])),
                volts=round(float(self.evidence.shown[point]), 1) + 0.0,
            )
            for node, point in zip(self.nodes, self.points, strict=True)
        )

    def _node(self, fault: Fault) -> str:
        """Where a fault differs most from what was read."""
        d, shown = self.dictionary, self.evidence.shown
        row = d.row(fault)
        pairs = zip(self.nodes, self.points, strict=True)
        return max(pairs, key=lambda pair: abs(d.low[pair[1], row] - shown[pair[1]]))[0]

    def figures(self, fault: Fault) -> tuple[Figure, ...]:
        """`FAULT@NODE`, in volts."""
        node, d = self._node(fault), self.dictionary
        volts = float(d.low[d.points.index(node), d.row(fault)])
        return (Figure(name=f"{fault}@{node}", value=round(volts, 3) + 0.0, unit="V"),)

    def words(self, fault: Fault, sentences: Sentences) -> dict[str, str]:
        """The point, what the meter shows there, what it would show."""
        d, node = self.dictionary, self._node(fault)
        point = d.points.index(node)
        return {
            "point": point_name(d.circuit, node, names=False),
            "volts": volts_words(float(self.evidence.shown[point])),
            "would": volts_words(float(d.low[point, d.row(fault)])),
        }


def one_would_do(test: Volts) -> bool:
    """One of the two readings leaves as little as both."""
    several: Sequence[int] = test.points if len(test.nodes) > 1 else ()
    return any(test.left_by([p]) == test.claims_left for p in several)
