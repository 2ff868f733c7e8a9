"""What every component has in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

Condition = Literal["good", "open", "shorted"]


@dataclass(frozen=True, kw_only=True)
class Part:
    """Anything with terminals. `nodes[i]` is the node at terminal `terminals[i]`."""

    kind: ClassVar[str]
    letters: ClassVar[tuple[str, ...]]

    id: str
    nodes: tuple[str, ...]
    name: str = ""  # what a technician calls it: "blower motor"
    place: str = ""  # where it sits: "behind the glove box"
    access_minutes: float = 1.0  # time to get an instrument onto its terminals
    weights: tuple[tuple[str, float], ...] = ()  # relative likelihood by fault mode

    @property
    def terminals(self) -> tuple[str, ...]:
        """Terminal names, in the order of `nodes`."""
        return ("1", "2")

    def node(self, terminal: str) -> str:
        """The node at `terminal`. Raises KeyError if the part has no such terminal."""
        try:
            return self.nodes[self.terminals.index(terminal)]
        except ValueError:
            raise KeyError(terminal) from None
