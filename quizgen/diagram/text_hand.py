"""The hand that draws symbols in characters, and what it writes beside them.

How much is written depends on the room: `level` 0 is code, rating and name, 1 the same in more
and shorter lines, 2 the code alone. What is left out stands in the list of parts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from quizgen.circuit.components import (
    Alternator,
    Breaker,
    Connector,
    Flasher,
    Fuse,
    FusibleLink,
    Ground,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Source,
    Splice,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)
from quizgen.diagram import text_boxes, text_pairs
from quizgen.diagram.characters import TextSymbol, spread
from quizgen.diagram.contacts import acts_when
from quizgen.diagram.symbols import Side
from quizgen.diagram.view import View, number

FULL, NARROW, BARE = 0, 1, 2
NAME = 18  # a name of no more characters gets a line of its own

LEAST_PITCH = 5  # between the terminals of a box: room for a number in its edge

_Small = Callable[[Part, View, tuple[str, ...]], TextSymbol]
_Large = Callable[[Part, View, tuple[str, ...], int], TextSymbol]

SMALL: dict[type[Part], _Small] = {
    Splice: text_pairs.splice,
    Ground: text_pairs.ground,
    Connector: text_pairs.cavity,
}
LARGE: dict[type[Part], _Large] = {
    **dict.fromkeys(text_pairs.SIGNS, text_pairs.two_terminal),
    Switch: text_boxes.switch,
    Relay: text_boxes.relay,
    StarterSolenoid: text_boxes.starter_solenoid,
    Flasher: text_boxes.flasher,
    Alternator: text_boxes.machine,
    TwoSpeedMotor: text_boxes.machine,
    ResistorPack: text_boxes.resistor_pack,
}


@dataclass(frozen=True)
class TextHand:
    """Draws symbols in characters.

    By the key of a block (`F1`, `X1/2`): `pitches` is between the terminals of a box, at least
    LEAST_PITCH; `levels` says how much is written beside it, FULL where it says nothing.
    """

    pitches: Mapping[str, int] = field(default_factory=dict)
    levels: Mapping[str, int] = field(default_factory=dict)

    def part(self, part: Part, view: View, flags: Mapping[str, str]) -> TextSymbol:
        """The symbol of a part with its label and flags."""
        key = f"{part.id}/{view.cavity}" if view.cavity else part.id
        label = _label(part, view, flags, self.levels.get(key, FULL))
        small = SMALL.get(type(part))
        if small is not None:
            return small(part, view, label)
        pitch = max(LEAST_PITCH, self.pitches.get(key, 0))
        return LARGE[type(part)](part, view, label, pitch)

    def frame(self, text: str) -> TextSymbol:
        """The mark of the frame."""
        return text_pairs.frame(text)

    def rail(self) -> TextSymbol:
        """The head of a rail."""
        return text_pairs.rail()

    def joint(self, sides: frozenset[Side]) -> TextSymbol:
        """A joint without a code."""
        return text_pairs.joint(sides)


def rating_of(part: Part) -> str:
    """The value printed on a part, such as `15 A`, or nothing."""
    if isinstance(part, Fuse | FusibleLink | Breaker):
        return f"{number(part.amps)} A"
    if isinstance(part, Resistor):
        return f"{number(part.ohm)} Ω"
    return f"{number(part.volts)} V" if isinstance(part, Source) else ""


def _label(part: Part, view: View, flags: Mapping[str, str], level: int) -> tuple[str, ...]:
    head = f"{part.id} {rating_of(part)}".rstrip()
    if isinstance(part, Splice) or level == BARE or not view.named:
        return (part.id,) if level == BARE or not view.named else (head,)
    told = [f"► {terminal} {text}" for terminal, text in flags.items()]
    acts = acts_when(part, view.rest) if isinstance(part, Switch) else ""
    told += [acts] if acts else []
    whole = f"{head} {part.name}".rstrip()
    if level == NARROW:
        return (*spread(whole, 3), *(line for text in told for line in spread(text, 3)))
    if len(part.name) <= NAME:
        return (head, *filter(None, (part.name,)), *told)
    return (*spread(whole, 2), *told)
