"""Labels of wires: code, IEC 60757 colour letters, cross-section.

A label stands to the right of its wire where the wire enters a block from above. Within one
channel all labels are set in one line or all in two (`stacked`).
"""

from __future__ import annotations

from functools import cached_property

from quizgen.circuit.components import Wire
from quizgen.diagram.lettering import text_width
from quizgen.diagram.order import Rim
from quizgen.diagram.pen import Style
from quizgen.diagram.scheme import End, Scheme

HALF_GAP = 1.3  # half of the least distance between two conductors, mm
BESIDE = 2.1  # a label stands this far, in all, from its own wire and from the next


def wire_text(wire: Wire, stacked: bool) -> tuple[str, ...]:
    """The lines of a wire's label.

    >>> w = Wire(id="W5", nodes=("a", "b"), colour="RD", mm2=1.5, metres=1)
    >>> wire_text(w, stacked=False)
    ('W5 RD 1.5',)
    """
    rest = f"{wire.colour} {wire.mm2:g}"
    return (wire.id, rest) if stacked else (f"{wire.id} {rest}",)


def widest_label(wire: Wire, size: float) -> float:
    """Distance between two conductors that leaves room for a label in two lines."""
    return max(text_width(t, size) for t in wire_text(wire, True)) + BESIDE + HALF_GAP


class Labels:
    """How the labels of one drawing are set."""

    def __init__(
        self, scheme: Scheme, rows: tuple[int, ...], style: Style, stacked: frozenset[int]
    ) -> None:
        self.scheme, self.rows, self.style, self.stacked = scheme, rows, style, stacked

    @cached_property
    def ends(self) -> tuple[End, ...]:
        """Per link the end that bears the label."""
        return tuple(
            link.lower if self._enters(link.lower) or not self._enters(link.upper) else link.upper
            for link in self.scheme.links
        )

    def _enters(self, end: End) -> bool:
        return self.scheme.blocks[end.block].symbol.ports[end.port].side == "top"

    def channel(self, link: int) -> int:
        """The channel in which the label of a link lies."""
        end = self.ends[link]
        return self.rows[end.block] + (not self._enters(end))

    @cached_property
    def channels(self) -> tuple[int, ...]:
        """The channel of every wire's label."""
        return tuple(
            self.channel(i) for i, link in enumerate(self.scheme.links) if link.wire is not None
        )

    def lines(self, link: int) -> tuple[str, ...]:
        """What is written beside a link."""
        wire = self.scheme.links[link].wire
        return () if wire is None else wire_text(wire, self.channel(link) in self.stacked)

    def borne(self, link: int, rim: Rim) -> bool:
        """Whether a link bears its label at this end."""
        end = self.ends[link]
        return rim == ("block", end.block, end.port) and self.scheme.links[link].wire is not None

    def room(self, link: int, rim: Rim) -> float:
        """Room to keep free to the right of a link at one end, mm."""
        if not self.borne(link, rim):
            return HALF_GAP
        return max(text_width(t, self.style.size) for t in self.lines(link)) + BESIDE


def rigid_channels(labels: Labels) -> frozenset[int]:
    """Channels where ports of one block stand too close for labels in one line."""
    found = set()
    by_port: dict[tuple[int, bool], list[tuple[float, float]]] = {}
    for i, end in enumerate(labels.ends):
        port = labels.scheme.blocks[end.block].symbol.ports[end.port]
        room = labels.room(i, ("block", end.block, end.port))
        by_port.setdefault((end.block, port.side == "top"), []).append((port.x, room))
    for (block, top), ports in by_port.items():
        places = sorted(p.x for p in labels.scheme.blocks[block].symbol.ports)
        for x, room in ports:
            after = [p for p in places if p > x + 1e-6]
            if after and after[0] - x < room + HALF_GAP:
                found.add(labels.rows[block] + (not top))
    return frozenset(found)
