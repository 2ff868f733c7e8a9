"""Labels of wires in a terminal: code, colour letters, size, as much as there is room for.

A label stands right of its wire, where the wire enters a block from above: on the line of the
block's lead, or above the bar where several conductors meet at one terminal.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from quizgen.circuit.components import Wire
from quizgen.diagram.characters import TextSymbol
from quizgen.diagram.columns import Measure
from quizgen.diagram.labels import Labels
from quizgen.diagram.order import Rim
from quizgen.diagram.pen import Style
from quizgen.diagram.scheme import End, Scheme

CHARACTERS = Measure(step=1.0, half_gap=1.0, between=2.0, stepped=2.0)


def wire_words(wire: Wire, level: int) -> str:
    """A wire's label; a higher level says less.

    >>> w = Wire(id="W5", nodes=("a", "b"), colour="RDBU", mm2=1.5, metres=1)
    >>> [wire_words(w, level) for level in (0, 1, 2)]
    ['W5 RDBU 1.5', 'W5 RDBU', 'W5']
    """
    return " ".join((wire.id, wire.colour, f"{wire.mm2:g}")[: 3 - level])


class TextLabels(Labels):
    """How the labels of one drawing are set.

    `levels` is by channel, 0 where it says nothing; links in `moved` bear their labels at the
    other end.
    """

    def __init__(
        self,
        scheme: Scheme,
        rows: tuple[int, ...],
        levels: Mapping[int, int],
        moved: frozenset[int] = frozenset(),
    ) -> None:
        super().__init__(scheme, rows, Style(), frozenset())
        self.levels, self.moved = levels, moved

    @cached_property
    def ends(self) -> tuple[End, ...]:
        """Per link the end that bears the label."""
        return tuple(
            self.other_end(n, end) if n in self.moved else end for n, end in enumerate(super().ends)
        )

    def other_end(self, link: int, end: End) -> End:
        """The end of a link that is not this one."""
        both = self.scheme.links[link]
        return both.lower if end == both.upper else both.upper

    def movable(self, link: int) -> bool:
        """Whether a label above a bar could as well stand at the other end of its wire."""
        end = self.ends[link]
        there = self.other_end(link, end)
        return link not in self.moved and not self.alone(end) and self.alone(there)

    def alone(self, end: End) -> bool:
        """Whether no other conductor leaves there."""
        return len(self.scheme.uses[end.block, end.port]) == 1

    @cached_property
    def numbers(self) -> dict[int, int]:
        """Row → the most characters of a terminal number beside a lead from above."""
        found: dict[int, int] = {}
        for i, block in enumerate(self.scheme.blocks):
            for symbol in filter(None, (block.symbol, block.mirrored)):
                assert isinstance(symbol, TextSymbol)
                wide = [len(t.text) for t in symbol.notes if t.y == 0]
                found[self.rows[i]] = max([found.get(self.rows[i], 0), *wide])
        return found

    def text(self, link: int) -> str:
        """What is written beside a link."""
        wire = self.scheme.links[link].wire
        return "" if wire is None else wire_words(wire, self.levels.get(self.channel(link), 0))

    def on_lead(self, link: int) -> bool:
        """Whether the label stands beside the lead of its block."""
        end = self.ends[link]
        return self._enters(end) and self.alone(end)

    def room(self, link: int, rim: Rim) -> float:
        """Room to keep free to the right of a link at one end, in characters."""
        if not self.borne(link, rim):
            return CHARACTERS.half_gap
        number = self.numbers.get(self.channel(link), 0) if self.on_lead(link) else 0
        return len(self.text(link)) + number + 1
