"""What conducts at an operating point, and what a point is therefore joined to.

A *link* is a branch of a part that conducts as the machine stands: an open contact, a break
or a blown fuse is none. A point may be joined to the supply, to the frame, to both or neither;
that says most of what a voltmeter shows there.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from quizgen.circuit import components as c
from quizgen.solver import OperatingPoint

LEAST_SIEMENS = 1e-7  # ten megohm: less than the meter itself lets through
SOURCES = (c.Battery, c.Source, c.Alternator)
USERS = (*c.LOADS, c.Relay, c.StarterSolenoid, c.Resistor, c.ResistorPack, c.Sender, c.Diode)


@dataclass(frozen=True)
class Link:
    """One conducting branch between nodes `a` and `b`; amps from a to b."""

    part: str
    a: str
    b: str
    ohm: float
    amps: float
    volts: float


@dataclass(frozen=True, eq=False)
class Paths:
    """The links of one operating point; sources are no links."""

    point: OperatingPoint

    @cached_property
    def links(self) -> tuple[Link, ...]:
        """All links, in the circuit's order of parts."""
        return tuple(
            link
            for part in self.point.circuit.parts
            if not isinstance(part, SOURCES)
            for link in self._links(part)
        )

    def _links(self, part: c.Part) -> Iterator[Link]:
        solutions, case = self.point.solutions, self.point.case
        slot = solutions.network.slots[solutions.network.slot_index[part.id]]
        variant = int(solutions.network.variant[solutions.network.slot_index[part.id],
                                                int(solutions.circuit[case])])  # fmt: skip
        branches = zip(slot.models[variant].branches, slot.columns[variant], strict=True)
        for (branch, column), flow in zip(branches, self.point.flows(part), strict=True):
            siemens = float(solutions.settled.siemens[column, case])
            if siemens > LEAST_SIEMENS:
                yield Link(part.id, branch.a, branch.b, 1.0 / siemens, flow.amps, flow.volts or 0.0)

    @cached_property
    def beside(self) -> dict[str, list[Link]]:
        """Node → links that end there."""
        found: dict[str, list[Link]] = {}
        for link in self.links:
            found.setdefault(link.a, []).append(link)
            found.setdefault(link.b, []).append(link)
        return found

    def way(
        self, start: str, goals: Iterable[str], avoid: Iterable[str] = (), cut: str = ""
    ) -> tuple[Link, ...] | None:
        """Links of the easiest way from `start` to one of `goals`; None if there is none.

        The way does not touch a node of `avoid` nor pass the part `cut`.
        """
        ends, never = set(goals), set(avoid)
        order = itertools.count()  # of ways with equal resistance
        waiting: list[tuple[float, int, str, tuple[Link, ...]]] = [(0.0, next(order), start, ())]
        done: set[str] = set()
        while waiting:
            ohm, _, node, links = heapq.heappop(waiting)
            if node in ends:
                return links
            if node in done or node in never:
                continue
            done.add(node)
            for link in self.beside.get(node, ()):
                other = link.b if link.a == node else link.a
                if other not in done and link.part != cut:
                    entry = (ohm + link.ohm, next(order), other, (*links, link))
                    heapq.heappush(waiting, entry)
        return None

    def to_supply(self, node: str, cut: str = "") -> tuple[Link, ...] | None:
        """The way to a plus pole that does not lead over the frame."""
        return self.way(node, self._plus, [self._frame], cut)

    def to_frame(self, node: str, cut: str = "") -> tuple[Link, ...] | None:
        """The way to the frame that does not lead over the supply."""
        return self.way(node, [self._frame], self._plus, cut)

    def amps_at(self, node: str) -> float:
        """The greatest current in any link that ends at `node`."""
        return max((abs(link.amps) for link in self.beside.get(node, ())), default=0.0)

    def users(self, links: tuple[Link, ...]) -> list[c.Part]:
        """Loads, coils and resistors on a way, each once."""
        parts = [self.point.circuit.by_id[name] for name in dict.fromkeys(k.part for k in links)]
        # over a relay's contact leads no coil
        return [p for p in parts if isinstance(p, USERS) and self._used(p, links)]

    def _used(self, part: c.Part, links: tuple[Link, ...]) -> bool:
        if not isinstance(part, c.Relay | c.StarterSolenoid):
            return True
        contact = {part.node(t) for t in part.terminals if t.startswith(("30", "87"))}
        if isinstance(part, c.StarterSolenoid):
            contact = {part.node("30"), part.node("45")}
        mine = [k for k in links if k.part == part.id]
        return not all({k.a, k.b} <= contact for k in mine)

    @cached_property
    def _plus(self) -> list[str]:
        parts = self.point.circuit.parts
        return [p.node("+") for p in parts if isinstance(p, c.Battery | c.Source)]

    @property
    def _frame(self) -> str:
        return self.point.circuit.reference
