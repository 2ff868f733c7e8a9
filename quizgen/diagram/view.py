"""How one part is seen in one circuit, and what is written beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from quizgen.circuit.components import Breaker, Fuse, FusibleLink, Part, Relay, Resistor, Source
from quizgen.diagram.lettering import wrap
from quizgen.diagram.pen import Style
from quizgen.diagram.symbols import Side


@dataclass(frozen=True)
class View:
    """How one part is seen: per terminal the sides on which conductors leave."""

    sides: Mapping[str, frozenset[Side]]  # empty for a terminal nothing is connected to
    leaning: Mapping[str, Side]  # the side a terminal faces, connected or not
    rest: int = 0  # position at rest, for what has positions
    cavity: str = ""  # the one cavity of a connector that is drawn
    named: bool = True  # whether the part's name is written as well as its code
    mirrored: bool = False

    @property
    def used(self) -> frozenset[str]:
        """Terminals with something connected."""
        return frozenset(t for t, sides in self.sides.items() if sides)


def number(value: float) -> str:
    """A value as it is printed beside a symbol.

    >>> number(30.0), number(0.45)
    ('30', '0.45')
    """
    return f"{value:.4g}"


def label_lines(part: Part, style: Style) -> tuple[str, ...]:
    """Code, name and rating of a part as the drawing shows them."""
    rating = ""
    if isinstance(part, Fuse | FusibleLink | Breaker):
        rating = f"{number(part.amps)} A"
    elif isinstance(part, Resistor):
        rating = f"{number(part.ohm)} Ω"
    elif isinstance(part, Source):
        rating = f"{number(part.volts)} V"
    elif isinstance(part, Relay) and part.timer:
        rating = "timer"
    return (part.id, *wrap(part.name, style.name_width, style.size), *((rating,) if rating else ()))
